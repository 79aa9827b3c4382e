// Performance as a function of time: pure, smooth, seeded; and its time line.
#include "sim/performance.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <functional>
#include <limits>

#include "sim/skeleton.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using ::testing::AllOf;
using testing::Cast;
using testing::FewCasts;
using ::testing::HasSubstr;
using testing::MakeBeat;
using testing::PlainBench;
using testing::PlainLesson;
using testing::PlainPerson;
using testing::ShippedCasts;
using ::testing::ThrowsMessage;

using Points = std::array<Vector3d, kNumBodyPoints>;

bool SameBits(const BodyPose& a, const BodyPose& b) {
  return std::memcmp(a.p_W.data(), b.p_W.data(), sizeof a.p_W) == 0 && a.q_WT.coeffs() == b.q_WT.coeffs() &&
         a.q_WHd.coeffs() == b.q_WHd.coeffs() && a.gaze_W == b.gaze_W && a.hand_in_use == b.hand_in_use;
}

/// Greatest jump between neighbouring second differences of any point, m/s², over [from, to] at step dt, and its time.
struct Jump {
  double size = 0, t = 0;
};
Jump WorstJumpAt(const std::function<Points(double)>& at, double from, double to, double dt) {
  std::array<Points, 4> p{at(from), at(from + dt), at(from + 2 * dt), at(from + 3 * dt)};
  Jump worst;
  for (int i = 4; from + (i - 1) * dt <= to; ++i) {
    double square = 0;
    for (int k = 0; k < kNumBodyPoints; ++k) {
      square = std::max(square, (p[3][k] - 3 * p[2][k] + 3 * p[1][k] - p[0][k]).squaredNorm());
    }
    if (square > worst.size) worst = {square, from + (i - 2.5) * dt};
    p = {p[1], p[2], p[3], at(from + i * dt)};
  }
  return {std::sqrt(worst.size) / (dt * dt), worst.t};
}
double WorstJump(const std::function<Points(double)>& at, double from, double to, double dt) {
  return WorstJumpAt(at, from, to, dt).size;
}

/// Few motions outdo this: minimum jerk of 0.1 m in 0.2 s has 60 · 0.1 / 0.2³ = 750 m/s³; a brisk person's fingertips have twice as
/// much while a hand opens and turns.
constexpr double kJerkBound = 1500;

/// A kink in velocity's slope of A m/s² shows as a jump of A at any step; a bounded jerk as jerk times step. So a jump below the
/// bound times dt is none, and one above must go with the step.
void ExpectC2(const std::function<Points(double)>& at, double duration_s, double dt) {
  constexpr double kPart_s = 0.5;
  for (double from = 0; from < duration_s; from += kPart_s) {
    const Jump jump = WorstJumpAt(at, from, std::min(from + kPart_s + 4 * dt, duration_s), dt);
    if (jump.size <= kJerkBound * dt) continue;
    EXPECT_LT(WorstJump(at, jump.t - 2 * dt, jump.t + 2 * dt, dt / 4), 0.3 * jump.size) << jump.t;
    EXPECT_LT(jump.size, 2 * kJerkBound * dt) << jump.t;
  }
}

TEST(Performance, PositionsAreC2OverTheWholeLesson) {
  constexpr double dt = 5e-4;
  for (const Cast& cast : FewCasts()) {
    if (cast.lesson.beats.size() > 22) continue;  // the long ones: below
    SCOPED_TRACE(cast.Name());
    const Performance performance = cast.Perform(1);
    const auto at = [&](double t) { return performance.PoseAt(t).p_W; };
    ExpectC2(at, performance.duration_s(), dt);
  }
}

TEST(PerformanceLong, PositionsAreC2OverEveryLessonByEveryPerson) {
  constexpr double dt = 2.5e-4;
  for (const Cast& cast : ShippedCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance performance = cast.Perform(1);
    const auto at = [&](double t) { return performance.PoseAt(t).p_W; };
    ExpectC2(at, performance.duration_s(), dt);
  }
}

TEST(Performance, PositionsAreC2AcrossEveryBeatBoundary) {
  for (const Cast& cast : FewCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance performance = cast.Perform(2);
    const auto at = [&](double t) { return performance.PoseAt(t).p_W; };
    for (const TimedBeat& beat : performance.beats()) {
      for (const double t : {beat.start_s, beat.ready_s}) {
        if (t < 0.01 || t > performance.duration_s() - 0.01) continue;
        // Ten times finer steps: jumps of a tenth, down to rounding (8 · 2⁻⁵² m over dt²).
        const double coarse = WorstJump(at, t - 1e-3, t + 1e-3, 1e-4), fine = WorstJump(at, t - 1e-4, t + 1e-4, 1e-5);
        EXPECT_LT(fine, 0.2 * coarse + 1e-4) << beat.label << " at " << t;
      }
    }
  }
}

TEST(Performance, ThatCheckRejectsATwinWithContinuousVelocityOnly) {
  const Cast cast = FewCasts().front();
  const Performance performance = cast.Perform(1);
  // The middle of a reach, where the hand is fast; from there on the twin's clock runs ahead by half the square of time.
  const TimedBeat& reach = performance.beats()[1];
  const double t0 = 0.5 * (reach.start_s + reach.ready_s);
  const auto twin = [&](double t) { return performance.PoseAt(t <= t0 ? t : t + 0.5 * (t - t0) * (t - t0)).p_W; };
  EXPECT_GT(WorstJump(twin, t0 - 0.01, t0 + 0.01, 1e-4), kJerkBound * 1e-4);
  const double coarse = WorstJump(twin, t0 - 1e-3, t0 + 1e-3, 1e-4), fine = WorstJump(twin, t0 - 1e-4, t0 + 1e-4, 1e-5);
  EXPECT_GT(fine, 0.2 * coarse + 1e-4);
}

TEST(Performance, IsAPureFunctionOfTimeInAnyOrder) {
  for (const Cast& cast : FewCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance a = cast.Perform(7), b = cast.Perform(7);
    const double end = a.duration_s();
    std::vector<double> times;
    for (int i = 0; i < 300; ++i) times.push_back(std::fmod(i * 0.61803398875, 1.0) * end);
    std::vector<BodyPose> forwards;
    for (const double t : times) forwards.push_back(a.PoseAt(t));
    for (size_t i = times.size(); i-- > 0;) {
      EXPECT_TRUE(SameBits(b.PoseAt(times[i]), forwards[i])) << times[i];
      const auto pa = a.PropsAt(times[i]), pb = b.PropsAt(times[i]);
      for (size_t k = 0; k < pa.size(); ++k) EXPECT_EQ(pa[k].X_WP.matrix(), pb[k].X_WP.matrix());
    }
  }
}

TEST(Performance, HoldsItsEnds) {
  const Performance p = FewCasts().front().Perform(1);
  EXPECT_TRUE(SameBits(p.PoseAt(-3), p.PoseAt(0)));
  EXPECT_TRUE(SameBits(p.PoseAt(p.duration_s() + 3), p.PoseAt(p.duration_s())));
  EXPECT_THROW(p.PoseAt(std::numeric_limits<double>::quiet_NaN()), RunError);
  EXPECT_THROW(p.PropsAt(std::numeric_limits<double>::infinity()), RunError);
}

/// Root mean square distance of both hands' landmarks between two performances, over the time both last.
double HandsApart(const Performance& a, const Performance& b) {
  double squares = 0;
  long n = 0;
  for (double t = 0; t < std::min(a.duration_s(), b.duration_s()); t += 0.1) {
    const Points pa = a.PoseAt(t).p_W, pb = b.PoseAt(t).p_W;
    for (int k = kHandL; k < kNumBodyPoints; ++k, ++n) squares += (pa[k] - pb[k]).squaredNorm();
  }
  return std::sqrt(squares / static_cast<double>(n));
}

TEST(Performance, TwoSeedsAreTwoPerformances) {
  for (const Cast& cast : FewCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance a = cast.Perform(1), b = cast.Perform(2);
    EXPECT_GT(HandsApart(a, b), 0.005);
    int other_times = 0;
    for (size_t i = 1; i < a.beats().size(); ++i) other_times += std::abs(a.beats()[i].start_s - b.beats()[i].start_s) > 0.01;
    EXPECT_GT(other_times, static_cast<int>(a.beats().size()) / 2);
    // Also where time is not to blame: hands at rest before the first beat's end.
    EXPECT_GT((a.PoseAt(0).p_W[kHandR + 8] - b.PoseAt(0).p_W[kHandR + 8]).norm(), 1e-3);
  }
}

TEST(Performance, TwoPeopleAreTwoPerformances) {
  const std::vector<Cast> casts = ShippedCasts();
  EXPECT_GT(HandsApart(casts[0].Perform(1), casts[1].Perform(1)), 0.02);
  EXPECT_NE(casts[0].Perform(1).body().hand_length_m, casts[1].Perform(1).body().hand_length_m);
}

TEST(Performance, APersonOfTwicePaceMovesInHalfTheTime) {
  const Lesson lesson = PlainLesson({MakeBeat(BeatKind::kReach, "cube")});
  PersonSpec quick = PlainPerson();
  quick.pace = 2;
  const Performance slow(lesson, PlainBench(), PlainPerson(), 3), fast(lesson, PlainBench(), quick, 3);
  EXPECT_NEAR(fast.beats()[0].ready_s, 0.5 * slow.beats()[0].ready_s, 1e-9);
}

TEST(TimeLine, BeatsFollowOneAnotherWithoutGaps) {
  for (const Cast& cast : ShippedCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance p = cast.Perform(1);
    ASSERT_EQ(p.beats().size(), cast.lesson.beats.size());
    double t = 0;
    for (size_t i = 0; i < p.beats().size(); ++i) {
      const TimedBeat& beat = p.beats()[i];
      EXPECT_EQ(beat.start_s, t);
      EXPECT_GE(beat.ready_s, beat.start_s);
      EXPECT_GE(beat.end_s, beat.ready_s + cast.lesson.beats[i].for_s);
      EXPECT_EQ(beat.beat, static_cast<int>(i));
      EXPECT_THAT(beat.label, HasSubstr(cast.lesson.beats[i].prop));
      t = beat.end_s;
    }
    EXPECT_GE(p.duration_s(), t);
  }
}

TEST(TimeLine, SentencesTakeTheirWordsTimeInsideTheirBeats) {
  for (const Cast& cast : ShippedCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance p = cast.Perform(4);
    size_t next = 0;
    for (size_t i = 0; i < p.beats().size(); ++i) {
      const std::string& say = cast.lesson.beats[i].say;
      if (say.empty()) continue;
      ASSERT_LT(next, p.sentences().size());
      const Sentence& spoken = p.sentences()[next++];
      EXPECT_EQ(spoken.text, say);
      EXPECT_NEAR(spoken.start_s, p.beats()[i].start_s + 0.2, 1e-12);
      EXPECT_LE(spoken.end_s, p.beats()[i].end_s);
      const auto words = std::count(say.begin(), say.end(), ' ') + 1;
      EXPECT_NEAR(spoken.end_s - spoken.start_s, static_cast<double>(words) / 2.5, 0.1 * static_cast<double>(words) / 2.5 + 1e-9);
    }
    EXPECT_EQ(next, p.sentences().size());
  }
}

Beat WithIntent(Beat beat, CueEnd cue, std::string say = "") {
  beat.intent = Intent{Shot{}, cue};
  beat.say = std::move(say);
  return beat;
}

TEST(TimeLine, IntentsBeginWhenTheirCueIsComplete) {
  const std::string say = "One two three four five six seven eight nine ten.";
  const Lesson lesson = PlainLesson({WithIntent(MakeBeat(BeatKind::kPoint, "cube", 8), CueEnd::kAction, say),
                                     WithIntent(MakeBeat(BeatKind::kPoint, "peg", 8), CueEnd::kSentence, say),
                                     WithIntent(MakeBeat(BeatKind::kPoint, "cube", 8), CueEnd::kLater, say),
                                     WithIntent(MakeBeat(BeatKind::kPoint, "peg", 8), CueEnd::kLater)});
  const Performance p(lesson, PlainBench(), PlainPerson(), 1);
  ASSERT_EQ(p.intents().size(), 4u);
  EXPECT_EQ(p.intents()[0].start_s, p.beats()[0].ready_s);
  EXPECT_EQ(p.intents()[1].start_s, p.sentences()[1].end_s);
  EXPECT_EQ(p.intents()[2].start_s, std::max(p.beats()[2].ready_s, p.sentences()[2].end_s));
  EXPECT_EQ(p.intents()[3].start_s, p.beats()[3].ready_s);
  for (size_t i = 0; i < 4; ++i) EXPECT_EQ(p.intents()[i].end_s, p.beats()[i].end_s);
}

TEST(TimeLine, TimeWithoutAnIntentIsNotScored) {
  const Lesson lesson =
      PlainLesson({WithIntent(MakeBeat(BeatKind::kPoint, "cube", 4), CueEnd::kAction), MakeBeat(BeatKind::kPause, "", 10)});
  const Performance p(lesson, PlainBench(), PlainPerson(), 1);
  ASSERT_EQ(p.intents().size(), 1u);
  EXPECT_EQ(p.intents()[0].end_s, p.beats()[0].end_s);
}

TEST(TimeLine, AnIntentLastsThreeSecondsAndPutsOffTheNext) {
  const Lesson lesson = PlainLesson({WithIntent(MakeBeat(BeatKind::kPoint, "cube", 0.5), CueEnd::kAction),
                                     WithIntent(MakeBeat(BeatKind::kPoint, "peg", 0.5), CueEnd::kAction)});
  const Performance p(lesson, PlainBench(), PlainPerson(), 1);
  ASSERT_EQ(p.intents().size(), 2u);
  ASSERT_LT(p.beats()[1].ready_s, p.intents()[0].start_s + 3);  // the second cue comes too soon
  EXPECT_EQ(p.intents()[0].end_s, p.intents()[0].start_s + 3);
  EXPECT_EQ(p.intents()[1].start_s, p.intents()[0].end_s);
  EXPECT_EQ(p.intents()[1].end_s, p.intents()[1].start_s + 3);
  EXPECT_EQ(p.duration_s(), p.intents()[1].end_s);  // the lesson waits for it
}

TEST(TimeLine, ShippedIntentsAreInOrderAndLongEnough) {
  for (const Cast& cast : ShippedCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance p = cast.Perform(1);
    double free_from = 0;
    for (const TimedIntent& intent : p.intents()) {
      EXPECT_GE(intent.start_s, free_from);
      EXPECT_GE(intent.end_s - intent.start_s, 3 - 1e-9);
      EXPECT_EQ(intent.shot, cast.lesson.beats[static_cast<size_t>(intent.beat)].intent->shot);
      free_from = intent.end_s;
    }
    EXPECT_LE(free_from, p.duration_s());
  }
}

TEST(Performance, SaysWhichBeatAndPropAreOutOfReach) {
  Lesson lesson = PlainLesson({MakeBeat(BeatKind::kPause, "", 1), MakeBeat(BeatKind::kReach, "cube")});
  lesson.props[0].at_m = {0.3, 1.4};
  const auto perform = [&] { Performance(lesson, PlainBench(), PlainPerson(), 1); };
  EXPECT_THAT(perform, ThrowsMessage<InputError>(AllOf(HasSubstr("plain.yaml:7:3"), HasSubstr("beat 2"), HasSubstr("cube"),
                                                       HasSubstr("plain's right hand"), HasSubstr("0.30, 1.40"))));
  lesson.props[0].at_m = {0.2, 0.3};
  EXPECT_NO_THROW(perform());
}

TEST(Performance, SaysWhichPropIsMissing) {
  const Lesson lesson = PlainLesson({MakeBeat(BeatKind::kPoint, "cubbe", 1)});
  const auto perform = [&] { Performance(lesson, PlainBench(), PlainPerson(), 1); };
  EXPECT_THAT(perform, ThrowsMessage<InputError>(AllOf(HasSubstr("beat 1"), HasSubstr("cubbe"), HasSubstr("\"cube\""))));
}

}  // namespace
}  // namespace dryrig
