// The window as a hand at mouse and keyboard finds it: looking at a take.
#include <future>

#include "tests/viewer/window_hand.h"
#include "viewer/palette.h"
#include "viewer/render/studio.h"
#include "viewer/time_line.h"

namespace dryrig {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

constexpr double kFrame_s = 1.0 / 30;

TEST_F(WindowTest, ShowsATakeWhole) {
  Start(ShortLesson());
  ASSERT_NE(session().filmed(kFirst), nullptr);
  const Picture picture = Shot("take");
  ASSERT_EQ(picture.width, 1280);
  ASSERT_EQ(picture.height, 720);
  // Pictures are pictures, not their empty ground; panels are paper.
  EXPECT_LT(ShareOf(picture, Place("lens A"), palette::kSurround), 0.05);
  EXPECT_LT(ShareOf(picture, Place("room"), palette::kSurround), 0.05);
  EXPECT_GT(ShareOf(picture, desk().layout.next, palette::kPaper), 0.4);
  EXPECT_GT(ShareOf(picture, desk().layout.caution, palette::kPaper), 0.5);
  EXPECT_LT(ShareOf(picture, desk().layout.caution, palette::kPaper), 0.99) << "the caution stands there";
  // The sky-blue rings of clear sight points, and their absence.
  Key(XK_End);
  EXPECT_GT(ShareOf(Shot(), Place("lens A"), palette::kSky), 0.0003);
  Key(XK_s);
  EXPECT_FALSE(desk().settings.sight_lines);
  EXPECT_EQ(ShareOf(Shot(), Place("lens A"), palette::kSky), 0);
}

// The same scene drawn without a window, on a thread of its own as each has one context: pixel by pixel what the window shows.
TEST_F(WindowTest, TheLensPictureIsTheOneThatFilmsShow) {
  Start(ShortLesson());
  for (const KeySym off : {XK_t, XK_a, XK_s}) Key(off);  // thirds, safe area, sight lines
  desk().JumpTo(3);
  const Picture window = Shot("lens");
  const Rect at = Place("lens A");
  const auto filmed = session().filmed(kFirst);
  const size_t frame = FrameAt(filmed->take, 3);
  const Picture film = std::async(std::launch::async, [&] {
                         Studio studio;
                         DrawnScene scene(filmed->take);
                         scene.SetFrame(filmed->take.frames[frame]);
                         return studio.Draw(scene, filmed->take, filmed->take.frames[frame], FilmView::kLens,
                                            {static_cast<int>(at.w), static_cast<int>(at.h)});
                       }).get();
  int off_by_more = 0;
  for (int y = 0; y < film.height; ++y) {
    for (int x = 0; x < 3 * film.width; ++x) {
      const size_t row = static_cast<size_t>(y + static_cast<int>(at.y)) * static_cast<size_t>(window.width);
      const int shown = window.rgb[3 * (row + static_cast<size_t>(at.x)) + static_cast<size_t>(x)];
      const int drawn = film.rgb[static_cast<size_t>(3 * y * film.width + x)];
      off_by_more += std::abs(shown - drawn) > 6;
    }
  }
  // The window's picture may lie half a pixel off at its edges; all but edges is the same.
  EXPECT_LT(off_by_more, 0.03 * 3 * film.width * film.height);
}

TEST_F(WindowTest, ScrubbingGoesWhereThePointerIsAndFilmsNothing) {
  Start(ShortLesson());
  const FilmedTake* before = session().filmed(kFirst);
  const Rect line = Place("scrub");
  const Picture at_start = Shot();
  const float x = std::round(line.x + 0.6f * line.w);
  Drag({line.x + 0.1f * line.w, line.y + 8}, {x, line.y + 8});
  const double pixel_s = session().reel().length_s / static_cast<double>(line.w);
  EXPECT_NEAR(session().transport.t_s, 0.6 * session().reel().length_s, pixel_s) << "within a pixel";
  EXPECT_EQ(session().filmed(kFirst), before);
  EXPECT_FALSE(session().busy());
  const Picture later = Shot("scrubbed");
  EXPECT_GT(ShareChanged(at_start, later, Place("lens A")), 0.005) << "the instructor moved";
  // The cursor is a line of ink at the pointer, through every lane.
  const auto most_ink = [&](const Picture& picture) {
    double most = 0;
    for (float at = x - 2; at <= x + 2; ++at) {
      most = std::max(most, ShareOf(picture, {at, line.y + 30, 1, line.h - 60}, palette::kInk));
    }
    return most;
  };
  EXPECT_GT(most_ink(later), 0.9);
  EXPECT_LT(most_ink(at_start), 0.5);
}

TEST_F(WindowTest, KeysPlayStopAndStep) {
  Start(ShortLesson());
  Key(XK_Right);
  Key(XK_Right);
  EXPECT_NEAR(session().transport.t_s, 2 * kFrame_s, 1e-9);
  Key(XK_Left);
  EXPECT_NEAR(session().transport.t_s, kFrame_s, 1e-9);
  Key(XK_Right, XK_Shift_L);
  EXPECT_NEAR(session().transport.t_s, 1 + kFrame_s, 1e-9);
  Key(XK_l);
  EXPECT_EQ(session().transport.speed, 1);
  Key(XK_l);
  EXPECT_EQ(session().transport.speed, 2);
  const double t_s = session().transport.t_s;
  Frames(3);
  EXPECT_GT(session().transport.t_s, t_s);
  KeyDown(XK_k, true);
  EXPECT_EQ(session().transport.speed, 0);
  KeyDown(XK_j, true);
  EXPECT_EQ(session().transport.speed, -0.25);
  KeyDown(XK_j, false);
  KeyDown(XK_k, false);
  EXPECT_EQ(session().transport.speed, 0);
  Key(XK_End);
  EXPECT_EQ(session().transport.t_s, session().reel().length_s);
  Key(XK_space);
  EXPECT_EQ(session().transport.speed, 1) << "from the end it starts over";
  Key(XK_space);
  Key(XK_Home);
  EXPECT_EQ(session().transport.t_s, 0);
  Type("]");
  EXPECT_NEAR(session().transport.t_s, session().reel().marks_s[1], 1e-9);
  Type("[");
  EXPECT_EQ(session().transport.t_s, 0);
  Click("play");
  EXPECT_EQ(session().transport.speed, 1);
  Click("stop");
  Click("frame on");
  EXPECT_EQ(session().transport.speed, 0);
}

TEST_F(WindowTest, AMetricPressedIsPlottedAtItsWorstMomentAndAMarkerLeadsBack) {
  Start(ShortLesson());
  ASSERT_FALSE(Has("plot composition_error"));
  Click("metric composition_error");
  ASSERT_TRUE(Has("plot composition_error"));
  const Score* score = FindScore(session().filmed(kFirst)->card, "composition_error");
  ASSERT_TRUE(score->worst_t_s);
  EXPECT_DOUBLE_EQ(session().transport.t_s, *score->worst_t_s);
  Key(XK_Home);
  Click("worst composition_error A");
  EXPECT_DOUBLE_EQ(session().transport.t_s, *score->worst_t_s) << "exactly, not as near as the pointer";
  Key(XK_Home);
  Key(XK_w);
  EXPECT_DOUBLE_EQ(session().transport.t_s, *score->worst_t_s);
  EXPECT_GT(ShareOf(Shot("plot"), Place("plot composition_error"), palette::kBlue), 0.002);
  Click("metric composition_error");
  EXPECT_FALSE(Has("plot composition_error"));
}

// The tripod films the hands all the time; asked for the cup it is hatched, in the colour that marks another subject.
TEST_F(WindowTest, AnotherSubjectThanAskedIsHatched) {
  Start(ShortLesson());
  const Take& take = session().filmed(kFirst)->take;
  const auto& runs = session().filmed(kFirst)->chosen;
  const auto wrong =
      std::find_if(runs.begin(), runs.end(), [](const ChosenRun& run) { return run.match == Match::kOtherSubject; });
  const auto right =
      std::find_if(runs.begin(), runs.end(), [](const ChosenRun& run) { return run.match == Match::kNothingAsked; });
  ASSERT_NE(wrong, runs.end());
  ASSERT_NE(right, runs.end());
  ASSERT_FALSE(take.intents.empty());
  const Picture picture = Shot();
  const Rect lane = Place("lane chosen");
  const auto part = [&](const ChosenRun& run) {
    const double length_s = session().reel().length_s;
    const float a = lane.x + lane.w * static_cast<float>(run.start_s / length_s),
                b = lane.x + lane.w * static_cast<float>(std::min(run.end_s, length_s) / length_s);
    return Rect{a + 4, lane.y + 3, b - a - 8, lane.h - 8};
  };
  EXPECT_GT(ShareOf(picture, part(*wrong), palette::kVermilion), 0.03);
  EXPECT_EQ(ShareOf(picture, part(*right), palette::kVermilion), 0);
}

TEST_F(WindowTest, ABodyThatIsPressedTellsItsNumbers) {
  Start(ShortLesson());
  const Take& take = session().filmed(kFirst)->take;
  const Rect room = Place("room");
  const View view = RoomView(desk().settings.orbit, static_cast<double>(room.w) / room.h);
  const auto at = ToPixel(view, take.frames[0].person.p_WHead(), static_cast<int>(room.w), static_cast<int>(room.h));
  ASSERT_TRUE(at);
  ClickAt(room.x + static_cast<float>(at->x()), room.y + static_cast<float>(at->y()));
  ASSERT_GE(desk().front.body, 0);
  EXPECT_THAT(desk().pictures.NameOf(kFirst, desk().front.body), HasSubstr("head"));
  EXPECT_TRUE(Has("facts " + desk().pictures.NameOf(kFirst, desk().front.body)));
  Shot("body");
  Key(XK_Escape);
  EXPECT_EQ(desk().front.body, -1);
  // In the lens, the pixel of a point that the lens sees: the cup's middle.
  Key(XK_End);
  const size_t frame = desk().Frame(kFirst);
  const Rect lens = Place("lens A");
  const TakeFrame& last = take.frames[frame];
  const auto cup = ToPixel(LensView(take.camera, last.lens, last.X_WC), last.X_WP[0].translation(), static_cast<int>(lens.w),
                           static_cast<int>(lens.h));
  ASSERT_TRUE(cup);
  ClickAt(lens.x + static_cast<float>(cup->x()), lens.y + static_cast<float>(cup->y()));
  ASSERT_GE(desk().front.body, 0);
  EXPECT_EQ(desk().pictures.NameOf(kFirst, desk().front.body), "cup");
}

TEST_F(WindowTest, TheRoomTurnsShiftsAndComesNearer) {
  Start(ShortLesson());
  const Orbit before = desk().settings.orbit;
  const Picture first = Shot();
  const Rect room = Place("room");
  const ImVec2 middle{room.x + 0.5f * room.w, room.y + 0.5f * room.h};
  Drag(middle, {middle.x + 60, middle.y});
  EXPECT_NEAR(desk().settings.orbit.azimuth_rad, before.azimuth_rad - 60 * 0.008, 0.02);
  EXPECT_EQ(desk().front.body, -1) << "a drag chooses nothing";
  const Orbit turned = desk().settings.orbit;
  Drag(middle, {middle.x, middle.y + 40}, 3);
  EXPECT_GT(desk().settings.orbit.p_WTarget.z(), turned.p_WTarget.z()) << "the room follows the hand down";
  EXPECT_EQ(desk().settings.orbit.azimuth_rad, turned.azimuth_rad);
  MoveTo(middle.x, middle.y);
  Wheel(true);
  Frames(1);
  EXPECT_LT(desk().settings.orbit.distance_m, before.distance_m);
  EXPECT_GT(ShareChanged(first, Shot("turned"), room), 0.2);
  Key(XK_v);
  EXPECT_EQ(desk().settings.orbit.azimuth_rad, before.azimuth_rad);
}

TEST_F(WindowTest, TheTimeLineZoomsAboutThePointer) {
  Start(ShortLesson());
  const Rect line = Place("scrub");
  MoveTo(line.x + 0.5f * line.w, line.y + 40);
  for (int i = 0; i < 4; ++i) Wheel(true);
  Frames(1);
  const double length_s = session().reel().length_s;
  ASSERT_GT(desk().front.to_s, 0);
  EXPECT_LT(desk().front.to_s - desk().front.from_s, 0.6 * length_s);
  EXPECT_NEAR(0.5 * (desk().front.to_s + desk().front.from_s), 0.5 * length_s, 0.02 * length_s);
  ClickAt(line.x + 1, line.y + 8);
  EXPECT_NEAR(session().transport.t_s, desk().front.from_s, 0.05);
  MoveTo(line.x + 0.5f * line.w, line.y + 40);
  for (int i = 0; i < 12; ++i) Wheel(false);
  Frames(1);
  EXPECT_EQ(desk().front.to_s, 0) << "all of it again";
}

TEST_F(WindowTest, ViewsAreDrawnOnlyWhenTheyChange) {
  Start(ShortLesson());
  const int drawn = desk().pictures.drawn();
  Frames(10);
  EXPECT_EQ(desk().pictures.drawn(), drawn);
  Key(XK_Right);
  EXPECT_EQ(desk().pictures.drawn(), drawn + 2) << "lens and room, once each";
  Key(XK_t);
  Frames(3);
  EXPECT_EQ(desk().pictures.drawn(), drawn + 2) << "lines over a picture do not draw it anew";
}

}  // namespace
}  // namespace dryrig
