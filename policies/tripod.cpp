// A camera on a tripod before the bench: the instructor's face, hands and the working area in one still picture.
//   [X] never moves after its first way there   [X] keeps the hands in focus
//   [ ] no close-up: small things stay small     [ ] no notice of what is done or said
#include <numbers>

#include "policies/fixed_view.h"
#include "policies/makers.h"
#include "policies/params.h"

namespace dryrig {

namespace {

struct TripodConfig {
  double elevation_deg = 20;
  double wide_m = 0.75;
  double frame_heights = 0.9;

  void Visit(auto&& v) {
    v("elevation_deg", "deg", elevation_deg, 0, 80, "camera above the horizon of what it films");
    v("wide_m", "m", wide_m, 0.2, 3, "extent of what it films, from bench to face");
    v("frame_heights", "frame heights", frame_heights, 0.2, 2, "that this extent takes");
  }
};

class Tripod : public Policy {
 public:
  explicit Tripod(const TripodConfig& config) : config_(config) {}

 private:
  void DoBackToOne(const Stage& stage, uint64_t) override {
    scene_.Reset(stage);
    const double elevation = config_.elevation_deg * std::numbers::pi / 180;
    WantedPicture picture;
    picture.centre_W = {0, 0.1, stage.bench.height_m + 0.4 * config_.wide_m};
    picture.extent_m = config_.wide_m;
    picture.frame_heights = config_.frame_heights;
    picture.to_camera_W = {0, std::cos(elevation), std::sin(elevation)};
    picture.up_W = {0, -std::sin(elevation), std::cos(elevation)};
    view_.Reset(stage, picture);
  }

  Move DoDecide(const Observation& seen) override {
    scene_.Update(seen);
    return view_.Stay(seen, 0.5 * (scene_.HandCentre(kLeft) + scene_.HandCentre(kRight)),
                      Shot{{Subject{SubjectKind::kHands, ""}}, ShotSize::kMedium, ShotAngle::kHighAngle});
  }

  TripodConfig config_;
  FixedView view_;
  SceneFilter scene_;
};

}  // namespace

std::unique_ptr<Policy> MakeTripod(const ParamValues& values) {
  return std::make_unique<Tripod>(MakeConfig<TripodConfig>(values));
}
std::vector<ParamInfo> TripodParams() {
  return DescribeParams<TripodConfig>();
}

}  // namespace dryrig
