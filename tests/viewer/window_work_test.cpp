// The window as a hand at mouse and keyboard finds it: opening, tuning, comparing, going wrong, resizing, keeping.
#include "tests/viewer/window_hand.h"
#include "viewer/palette.h"

namespace dryrig {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

/// Long enough that a hand can reach Cancel: some seconds of filming.
std::string LongLesson() {
  std::string text = kShortLesson;
  for (int i = 0; i < 18; ++i) text += "  - pause: {for_s: 60}\n";
  return text;
}

TEST_F(WindowTest, AWeightIsMovedFilmedAgainAndSeen) {
  Start(ShortLesson());
  Key(XK_End);
  const Picture before = Shot();
  const Rect slider = Place("slider wide_m");
  Drag({slider.x + 0.2f * slider.w, slider.y + 0.5f * slider.h}, {slider.x + 0.45f * slider.w, slider.y + 0.5f * slider.h});
  const double wide_m = session().slot(kFirst).wish.values.at("wide_m");
  EXPECT_GT(wide_m, 1.0);
  EXPECT_LT(wide_m, 2.0);
  EXPECT_TRUE(session().Changed(kFirst));
  Shot("slider");
  Click("back to one");
  ASSERT_TRUE(Finish());
  EXPECT_FALSE(session().Changed(kFirst));
  EXPECT_EQ(session().filmed(kFirst)->recipe->policy.values.at("wide_m"), wide_m);
  EXPECT_GT(ShareChanged(before, Shot("again"), Place("lens A")), 0.2) << "a wider view is another picture";
  Click("slider wide_m", 3);
  EXPECT_EQ(session().slot(kFirst).wish.values.at("wide_m"), 0.75) << "the right button brings the default back";
}

TEST_F(WindowTest, ATypedNumberIsTaken) {
  Start(ShortLesson());
  KeyDown(XK_Control_L, true);
  Click("slider wide_m");
  KeyDown(XK_Control_L, false);
  Key(XK_a, XK_Control_L);
  Type("1.25");
  EXPECT_EQ(session().transport.speed, 0) << "letters typed into a field are no transport keys";
  Key(XK_Return);
  Frames(2);
  EXPECT_EQ(session().slot(kFirst).wish.values.at("wide_m"), 1.25);
}

TEST_F(WindowTest, FilmingShowsProgressAnswersMeanwhileAndIsCancelled) {
  ViewOptions options = ShortLesson();
  Start(options);
  const FilmedTake* before = session().filmed(kFirst);
  const std::string file = folder_.Write("long.yaml", LongLesson());
  session().Open(file, kFirst, {"tripod", {}});
  ASSERT_TRUE(WaitUntil([&] { return Has("progress A") && session().filmed(kFirst) != before; }))
      << "its first moments are there";
  EXPECT_TRUE(session().filmed(kFirst)->preview());
  EXPECT_GT(session().reel().length_s, 1000);
  Shot("filming");
  Key(XK_Right);
  EXPECT_NEAR(session().transport.t_s, 1.0 / 30, 1e-9) << "the window answers while the take is filmed";
  ASSERT_TRUE(session().busy());
  Click("cancel");
  ASSERT_TRUE(Finish());
  EXPECT_TRUE(session().filmed(kFirst)->preview()) << "what was filmed so far is not taken for the take";
  EXPECT_FALSE(Has("progress A"));
  EXPECT_THAT(session().problems(), IsEmpty());
  Key(XK_r);
  ASSERT_TRUE(session().busy());
  Key(XK_Escape);
  ASSERT_TRUE(Finish());
  EXPECT_TRUE(session().filmed(kFirst)->preview());
}

TEST_F(WindowTest, TwoPoliciesAreComparedInStep) {
  Start(ShortLesson());
  Click("compare");
  Click("compare topdown");
  ASSERT_TRUE(WaitUntil([&] { return session().comparing() && !session().busy(); }));
  EXPECT_EQ(session().filmed(kSecond)->take.id.policy, "topdown");
  const Rect line = Place("scrub");
  ClickAt(line.x + 0.7f * line.w, line.y + 8);
  EXPECT_EQ(desk().Frame(kFirst), desk().Frame(kSecond));
  const Picture picture = Shot("compare");
  const Rect a = Place("lens A"), b = Place("lens B");
  EXPECT_FALSE(a.Overlaps(b));
  EXPECT_EQ(a.w, b.w);
  // The same pixels of the two pictures, one laid over the other.
  int differ = 0;
  for (int y = 0; y < static_cast<int>(a.h); y += 4) {
    for (int x = 0; x < static_cast<int>(a.w); x += 4) {
      const auto pixel = [&](const Rect& r) {
        const size_t at =
            (static_cast<size_t>(r.y) + static_cast<size_t>(y)) * 1280 + static_cast<size_t>(r.x) + static_cast<size_t>(x);
        return picture.rgb[3 * at];
      };
      differ += std::abs(pixel(a) - pixel(b)) > 12;
    }
  }
  EXPECT_GT(differ, static_cast<int>(a.w * a.h / 16 / 5)) << "a fifth of the picture at least: front and top are other views";
  EXPECT_TRUE(Has("lane A chose"));
  EXPECT_TRUE(Has("lane B chose"));
  Click("room B");
  EXPECT_EQ(desk().front.room_slot, kSecond);
  Click("close B");
  EXPECT_FALSE(session().comparing());
  EXPECT_FALSE(Has("lens B"));
  Key(XK_b);
  EXPECT_EQ(session().filmed(kSecond), session().filmed(kFirst)) << "kept to tune against";
}

TEST_F(WindowTest, ABrokenFileIsToldWithItsPlaceAndTheTakeStays) {
  Start(ShortLesson());
  const FilmedTake* before = session().filmed(kFirst);
  const std::string broken = folder_.Write("broken.yaml", "dryrig: lesson/1\ntitle: Broken\nbeets:\n  - say: hello\n");
  Key(XK_o, XK_Control_L);
  ASSERT_EQ(desk().front.dialog, Dialog::kOpen);
  Frames(2);
  Shot("open");
  Click("path");
  Type(broken);
  Key(XK_Return);
  ASSERT_TRUE(WaitUntil([&] { return desk().front.dialog == Dialog::kProblem; }));
  EXPECT_THAT(session().problems()[0].message, HasSubstr("broken.yaml:3:1: "));
  EXPECT_EQ(session().filmed(kFirst), before);
  const Picture picture = Shot("problem");
  EXPECT_GT(ShareOf(picture, Place("dialog This did not work"), palette::kChosenRow), 0.01) << "the line is marked";
  Key(XK_Right);
  EXPECT_EQ(session().transport.t_s, 0) << "what is in front has the keys";
  Click("copy problem");
  EXPECT_THAT(std::string(ImGui::GetClipboardText()), HasSubstr("broken.yaml:3:1: "));
  Click("close problem");
  EXPECT_EQ(desk().front.dialog, Dialog::kNone);
  EXPECT_THAT(session().problems(), IsEmpty());
  Key(XK_Right);
  EXPECT_GT(session().transport.t_s, 0);
}

TEST_F(WindowTest, AFileLetFallOnTheWindowOpens) {
  ViewOptions options;
  options.width = 1280;
  options.height = 720;
  Start(options);
  EXPECT_EQ(desk().front.dialog, Dialog::kOpen) << "nothing was named, so the window asks";
  const std::string file = folder_.Write("short.yaml", kShortLesson);
  Drop(file);
  ASSERT_TRUE(WaitUntil([&] { return session().filmed(kFirst) != nullptr && !session().busy(); }));
  EXPECT_EQ(session().filmed(kFirst)->take.id.lesson, "short");
  EXPECT_EQ(desk().front.dialog, Dialog::kNone);
  EXPECT_THAT(desk().settings.recent, testing::ElementsAre(file));
}

TEST_F(WindowTest, AShippedLessonOpensFromTheList) {
  ViewOptions options;
  options.width = 1280;
  options.height = 720;
  Start(options);
  Click("lesson seedling");
  ASSERT_TRUE(WaitUntil([&] { return session().filmed(kFirst) != nullptr && !session().busy(); }));
  EXPECT_EQ(session().filmed(kFirst)->take.id.lesson, "seedling");
  Shot("seedling");
}

TEST_F(WindowTest, AResultsFolderOffersItsTakesAndOneIsOpenedBesideAnother) {
  const std::string lesson = folder_.Write("stored.yaml", kShortLesson);
  {
    Store store(folder_ / "results.db", Store::Mode::kCreate);
    for (const char* policy : {"tripod", "topdown"}) {
      TakeChoice choice;
      choice.lesson = lesson;
      choice.policy.name = policy;
      const auto recipe = std::make_shared<const Recipe>(MakeRecipe(choice));
      const int64_t id = store.WriteTake(Film(recipe, 0, {}).take, policy == std::string("tripod"));
      store.WriteInputs(id, InputsOf(recipe->setup));
    }
  }
  ViewOptions options = ShortLesson();
  options.what = folder_.path().string();
  options.policy.reset();
  Start(options);
  ASSERT_EQ(desk().front.dialog, Dialog::kOpen);
  ASSERT_TRUE(Has("take 1"));
  Shot("results");
  Click("take 1");
  ASSERT_TRUE(WaitUntil([&] { return session().filmed(kFirst) != nullptr && !session().busy(); }));
  EXPECT_EQ(session().filmed(kFirst)->take.id.policy, "topdown") << "kept as numbers alone, so it was filmed again";
  session().Open(options.what);
  ASSERT_TRUE(WaitUntil([&] { return Has("take 0 as B"); }));
  Click("take 0 as B");
  ASSERT_TRUE(WaitUntil([&] { return session().comparing() && !session().busy(); }));
  EXPECT_EQ(session().filmed(kFirst)->take.id.policy, "topdown");
  EXPECT_EQ(session().filmed(kSecond)->take.id.policy, "tripod");
}

TEST_F(WindowTest, ParametersAreSavedWhereTheProgramReadsThem) {
  Start(ShortLesson());
  session().SetParam(kFirst, "wide_m", 0.5);
  Click("save");
  ASSERT_EQ(desk().front.dialog, Dialog::kSave);
  Frames(2);
  Click("save path");
  Key(XK_a, XK_Control_L);
  Type((folder_ / "tuned.policy").string());
  Click("do save");
  Shot("saved");
  EXPECT_EQ(ReadText(folder_ / "tuned.policy"), "tripod:wide_m=0.5\n");
  EXPECT_THAT(desk().front.save_said, HasSubstr("dryrig take"));
  Click("do save");
  EXPECT_TRUE(desk().front.may_replace) << "replacing is asked for";
  Click("close save");
  EXPECT_EQ(desk().front.dialog, Dialog::kNone);
}

TEST_F(WindowTest, HelpNamesEveryKey) {
  Start(ShortLesson());
  Key(XK_F1);
  EXPECT_EQ(desk().front.dialog, Dialog::kHelp);
  Frames(2);
  Shot("help");
  Key(XK_Escape);
  EXPECT_EQ(desk().front.dialog, Dialog::kNone);
  Type("?");
  EXPECT_EQ(desk().front.dialog, Dialog::kHelp);
  Click("close help");
  EXPECT_EQ(desk().front.dialog, Dialog::kNone);
  Key(XK_q, XK_Control_L);
  EXPECT_TRUE(app_->closing());
}

void ExpectInside(const Places& places, float width, float height) {
  for (const auto& [name, rect] : places.all()) {
    if (name.starts_with("metric ") || name.starts_with("slider ")) continue;  // in lists that scroll
    EXPECT_GE(rect.x, -1) << name;
    EXPECT_GE(rect.y, -1) << name;
    EXPECT_LE(rect.right(), width + 1) << name;
    EXPECT_LE(rect.bottom(), height + 1) << name;
  }
}

TEST_F(WindowTest, ResizingRearrangesAndNothingFallsOff) {
  Start(ShortLesson());
  for (const auto& [width, height] : {std::pair{1000, 640}, {1920, 1080}, {1280, 720}}) {
    ResizeTo(width, height);
    const Picture picture = Shot("size-" + std::to_string(width));
    EXPECT_EQ(picture.width, width);
    EXPECT_EQ(picture.height, height);
    EXPECT_FALSE(desk().layout.too_small);
    ExpectInside(desk().places, static_cast<float>(width), static_cast<float>(height));
    for (const char* name : {"lens A", "room", "scrub", "back to one", "plot closest_approach"}) EXPECT_TRUE(Has(name)) << name;
    EXPECT_LT(ShareOf(picture, Place("room"), palette::kSurround), 0.05);
  }
  ResizeTo(500, 400);
  EXPECT_TRUE(desk().layout.too_small);
  Frames(3);
}

TEST_F(WindowTest, AtTwiceTheScaleEverythingIsTwiceAsLarge) {
  ViewOptions options = ShortLesson();
  Start(options);
  const Layout single = desk().layout;
  const Rect button = Place("back to one");
  options.width = 2560;
  options.height = 1440;
  options.scale = 2;
  Start(options);
  Shot("scale-2");
  EXPECT_NEAR(desk().layout.room.w, 2 * single.room.w, 4);
  EXPECT_NEAR(desk().layout.time_line.h, 2 * single.time_line.h, 4);
  EXPECT_NEAR(Place("back to one").h, 2 * button.h, 2);
  EXPECT_EQ(desk().fonts.text->FontSize, 28);
  ExpectInside(desk().places, 2560, 1440);
}

TEST_F(WindowTest, SettingsAreKeptFromOneRunToTheNext) {
  ViewOptions options = ShortLesson();
  options.width = options.height = 0;  // as last time
  Start(options);
  ASSERT_TRUE(desk().settings.thirds);
  Key(XK_t);
  Click("metric jerk");
  const double text_scale = desk().settings.text_scale;
  Type("+");
  Frames(1);
  EXPECT_GT(desk().settings.text_scale, text_scale);
  EXPECT_GT(desk().fonts.text->FontSize, 14);
  ResizeTo(1100, 700);
  Start(options);
  EXPECT_FALSE(desk().settings.thirds);
  EXPECT_THAT(desk().settings.plotted, testing::Contains("jerk"));
  EXPECT_GT(desk().settings.text_scale, text_scale);
  EXPECT_EQ(app_->window().size().x, 1100);
  EXPECT_THAT(desk().settings.recent, testing::ElementsAre(options.what));
  // A broken file is ignored, with a note at the foot.
  app_.reset();
  std::ofstream(folder_ / "config/dryrig/viewer.json") << "{";
  Start(options);
  EXPECT_TRUE(desk().settings.thirds);
  EXPECT_THAT(desk().front.note, HasSubstr("viewer.json is not used"));
}

}  // namespace
}  // namespace dryrig
