// Policies that look good by some numbers and film badly: each must be caught by the metric that is there to catch it. The
// honest policy beside it runs on the same lesson, person, seed and camera.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "metrics/metric.h"
#include "sim/lens.h"
#include "tests/metrics/shipped_takes.h"

namespace dryrig::testing {
namespace {

/// Another policy's Moves, changed behind its back: it goes on seeing the lens that its own wishes would have made, or it would
/// go another way to make up for the change.
class Spoilt : public Policy {
 public:
  using Change = std::function<void(const Observation& seen, const Stage& stage, Move* move)>;
  Spoilt(const std::string& policy, Change change) : inner_(FindPolicy(policy).make({})), change_(std::move(change)) {}

 private:
  void DoBackToOne(const Stage& stage, uint64_t seed) override {
    stage_ = &stage;
    lens_ = {stage.camera.focal_min_m, 1.0};
    inner_->BackToOne(stage, seed);
  }
  Move DoDecide(const Observation& seen) override {
    Observation honest = seen;
    if (wish_) lens_ = StepLens(stage_->camera, lens_, wish_->focal_m, wish_->focus_m, seen.t_s - last_s_);
    honest.lens = lens_;
    last_s_ = seen.t_s;
    Move move = inner_->Decide(honest);
    wish_ = move;
    change_(seen, *stage_, &move);
    return move;
  }

  std::unique_ptr<Policy> inner_;
  Change change_;
  const Stage* stage_ = nullptr;
  LensState lens_;
  std::optional<Move> wish_;
  double last_s_ = 0;
};

TakeSetup Booklet() {
  TakeSetup setup = ShippedSetup("booklet", "heron", "zoom", "perfect");
  setup.max_s = 45;
  return setup;
}

/// Values by metric of two takes of one setup.
struct Compared {
  Take honest_take, planted_take;
  double Honest(std::string_view metric) const { return FindMetric(metric).compute(Footage(honest_take)).value.value(); }
  double Planted(std::string_view metric) const { return FindMetric(metric).compute(Footage(planted_take)).value.value(); }
};
Compared Compare(const TakeSetup& setup, const std::string& honest, const std::string& spoilt, Spoilt::Change change) {
  Spoilt planted(spoilt, std::move(change));
  return {RunShipped(setup, honest), RunTake(setup, planted)};
}

// A camera turned to the wall behind the arm is smooth, safe, level and never occluded.
TEST(CheapWins, ParkedFacingTheWallIsSeenToFilmNothing) {
  const Compared c = Compare(Booklet(), "planner", "tripod", [](const Observation&, const Stage& stage, Move* move) {
    Eigen::VectorXd q = stage.arm.home;
    q[0] = std::clamp(q[0] + std::numbers::pi, stage.arm.joints[0].lower, stage.arm.joints[0].upper);
    move->motion = JointTarget{q};
  });
  EXPECT_LT(c.Planted("jerk"), c.Honest("jerk")) << "this is its cheap win";
  EXPECT_LT(c.Planted("occlusion"), c.Honest("occlusion")) << "and this";

  EXPECT_GT(c.Planted("off_subject"), 0.9);
  EXPECT_GT(c.Planted("framing_error"), 3.8);
  EXPECT_GT(c.Planted("framing_error"), 2 * c.Honest("framing_error"));
  EXPECT_LT(c.Planted("hand_visibility"), 0.05);
  EXPECT_LT(c.Planted("clear"), 0.05);
  EXPECT_GT(c.Planted("response_missed"), 0.9);
  EXPECT_GT(c.Honest("clear"), 0.5);
}

// Every intent asks for the hands from overhead; the one camera has the image's top where its bottom should be.
TEST(CheapWins, UpsideDownOverheadIsWrongByHalfATurn) {
  TakeSetup setup = Booklet();
  for (Beat& beat : setup.lesson.beats) {
    if (beat.intent) beat.intent->shot = {{Subject{}}, ShotSize::kMedium, ShotAngle::kOverhead, Composition::kCentre};
  }
  const Compared c = Compare(setup, "topdown", "topdown", [](const Observation&, const Stage& stage, Move* move) {
    Eigen::VectorXd q = std::get<JointTarget>(move->motion).q;
    const Joint& spin = stage.arm.joints.back();
    q[q.size() - 1] += q[q.size() - 1] + std::numbers::pi <= spin.upper ? std::numbers::pi : -std::numbers::pi;
    ASSERT_GE(q[q.size() - 1], spin.lower);
    move->motion = JointTarget{q};
  });
  EXPECT_NEAR(c.Planted("hand_visibility"), c.Honest("hand_visibility"), 0.1) << "it sees the hands as well";
  EXPECT_LT(c.Planted("jerk_p99"), c.Honest("jerk_p99") + 0.5) << "and moves no worse";

  EXPECT_LT(c.Honest("angle_error_deg"), 30);
  EXPECT_GT(c.Planted("angle_error_deg"), 150);
  EXPECT_GT(c.Planted("framing_error"), c.Honest("framing_error") + 0.5);
  EXPECT_GE(c.Planted("response_missed"), 1);
}

// A lens without a speed limit, thrown from one end to the other every four seconds.
TEST(CheapWins, InstantZoomShowsInTheZoomRate) {
  TakeSetup setup = Booklet();
  const double rated = setup.stage.camera.zoom_octaves_per_s;
  const Compared honest = Compare(setup, "planner", "planner", [](const Observation&, const Stage&, Move*) {});
  setup.stage.camera.zoom_octaves_per_s = 1e6;
  const Compared c = Compare(setup, "planner", "planner", [](const Observation& seen, const Stage& stage, Move* move) {
    move->focal_m = std::fmod(seen.t_s, 8) < 4 ? stage.camera.focal_min_m : stage.camera.focal_max_m;
  });
  EXPECT_LE(honest.Honest("zoom_rate"), rated * (1 + 1e-9));
  const double whole_range = std::log2(setup.stage.camera.focal_max_m / setup.stage.camera.focal_min_m);
  EXPECT_NEAR(c.Planted("zoom_rate"), whole_range * setup.stage.camera.frame_rate_hz, 1e-6) << "the whole range within a frame";
}

// The honest camera's way, but always at the widest end of a wide lens: it sees all and shows nothing.
TEST(CheapWins, WideOnlyHasNoHandDetail) {
  TakeSetup setup = Booklet();
  setup.stage.camera.focal_min_m = 0.003;
  const Compared c = Compare(setup, "planner", "planner", [](const Observation&, const Stage& stage, Move* move) {
    move->focal_m = stage.camera.focal_min_m;
  });
  EXPECT_GT(c.Planted("hand_visibility"), c.Honest("hand_visibility") - 0.05) << "it sees the hands as well";
  EXPECT_LE(c.Planted("off_subject"), c.Honest("off_subject") + 0.01) << "and loses nothing";

  EXPECT_GT(c.Honest("hand_detail"), 0.7);
  EXPECT_LT(c.Planted("hand_detail"), 0.2);
  EXPECT_GT(c.Planted("size_error"), c.Honest("size_error") + 0.5);
  EXPECT_GT(c.Planted("framing_error"), c.Honest("framing_error"));
}

}  // namespace
}  // namespace dryrig::testing
