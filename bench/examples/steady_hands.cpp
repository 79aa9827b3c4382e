// A policy of one's own: looks down on both hands from a fixed side, and moves only as far and as fast as it must. Build and run:
//   cmake -S bench/examples -B out/examples -DCMAKE_PREFIX_PATH=PREFIX && cmake --build out/examples
//   dryrig take booklet --policy-library out/examples/steady_hands.so --policy steady-hands --out out/mine
#include <dryrig/policy.h>

#include <algorithm>
#include <cmath>

using namespace dryrig;

namespace {

struct SteadyHandsConfig {
  double distance_m = 0.75;
  double elevation_deg = 40;
  double settle_s = 1.5;
  double leash_mm = 60;

  void Visit(auto&& v) {
    v("distance_m", "m", distance_m, 0.3, 2, "from the hands to the camera");
    v("elevation_deg", "deg", elevation_deg, 0, 80, "of the camera above the hands");
    v("settle_s", "s", settle_s, 0.1, 10, "time constant of its way to the hands");
    v("leash_mm", "mm", leash_mm, 0, 500, "that the hands may move without it");
  }
};

class SteadyHands : public Policy {
 public:
  explicit SteadyHands(const SteadyHandsConfig& config) : config_(config) {}

 private:
  void DoBackToOne(const Stage& stage, uint64_t) override {
    focal_m_ = stage.camera.focal_min_m;
    at_W_ = wish_W_ = Eigen::Vector3d(0, 0.25, stage.bench.height_m + 0.1);  // where hands are likely to work
    last_s_ = 0;
  }

  Move DoDecide(const Observation& seen) override {
    const TrackedPoint& left = seen.person.points[HandPoint(kLeft, 9)];
    const TrackedPoint& right = seen.person.points[HandPoint(kRight, 9)];
    if (left.seen && right.seen) {
      const Eigen::Vector3d hands_W = 0.5 * (left.p_W + right.p_W), off = hands_W - wish_W_;
      const double beyond = off.norm() - config_.leash_mm * 1e-3;
      if (beyond > 0) wish_W_ += off.normalized() * beyond;
    }
    at_W_ += (1 - std::exp(-(seen.t_s - last_s_) / config_.settle_s)) * (wish_W_ - at_W_);
    last_s_ = seen.t_s;

    // The camera stands across the bench, image upright, looking back at the hands.
    const double elevation = config_.elevation_deg * M_PI / 180;
    const Eigen::Vector3d back(0, std::cos(elevation), std::sin(elevation));
    CameraTarget target;
    target.X_WC.translation() = at_W_ + config_.distance_m * back;
    target.X_WC.linear().col(0) = -Eigen::Vector3d::UnitX();
    target.X_WC.linear().col(1) = Eigen::Vector3d(0, std::sin(elevation), -std::cos(elevation));
    target.X_WC.linear().col(2) = -back;

    Move move;
    move.motion = target;
    move.focal_m = focal_m_;
    move.focus_m = config_.distance_m;
    move.chosen = {{Subject{SubjectKind::kHands, ""}}, ShotSize::kCloseUp, ShotAngle::kHighAngle};
    return move;
  }

  SteadyHandsConfig config_;
  Eigen::Vector3d at_W_, wish_W_;
  double focal_m_ = 0, last_s_ = 0;
};

}  // namespace

DRYRIG_POLICIES(policies) {
  policies.Add<SteadyHands, SteadyHandsConfig>("steady-hands",
                                               "looks at both hands from across the bench, and rests while it can");
}
