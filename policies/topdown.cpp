// A camera fixed above the working area, the image's top toward the instructor.
//   [X] never moves after its first way there   [X] keeps the bench in focus
//   [ ] no face, no other angle                  [ ] no notice of what is done or said
#include <algorithm>

#include "policies/fixed_view.h"
#include "policies/makers.h"
#include "policies/params.h"

namespace dryrig {

namespace {

struct TopdownConfig {
  double wide_m = 0.6;
  double ahead_m = 0.2;
  double frame_heights = 1.0;

  void Visit(auto&& v) {
    v("wide_m", "m", wide_m, 0.2, 2, "extent of the working area it films");
    v("ahead_m", "m", ahead_m, 0, 1, "middle of that area from the bench's front edge");
    v("frame_heights", "frame heights", frame_heights, 0.2, 2, "that this extent takes");
  }
};

class Topdown : public Policy {
 public:
  explicit Topdown(const TopdownConfig& config) : config_(config) {}

 private:
  void DoBackToOne(const Stage& stage, uint64_t) override {
    WantedPicture picture;
    centre_W_ = {0, std::min(config_.ahead_m, stage.bench.depth_m), stage.bench.height_m + 0.03};
    picture.centre_W = centre_W_;
    picture.extent_m = config_.wide_m;
    picture.frame_heights = config_.frame_heights;
    picture.to_camera_W = Eigen::Vector3d::UnitZ();
    picture.up_W = -Eigen::Vector3d::UnitY();
    view_.Reset(stage, picture);
  }

  Move DoDecide(const Observation& seen) override {
    return view_.Stay(seen, centre_W_, Shot{{Subject{SubjectKind::kHands, ""}}, ShotSize::kMedium, ShotAngle::kOverhead});
  }

  TopdownConfig config_;
  Eigen::Vector3d centre_W_ = Eigen::Vector3d::Zero();
  FixedView view_;
};

}  // namespace

std::unique_ptr<Policy> MakeTopdown(const ParamValues& values) {
  return std::make_unique<Topdown>(MakeConfig<TopdownConfig>(values));
}
std::vector<ParamInfo> TopdownParams() {
  return DescribeParams<TopdownConfig>();
}

}  // namespace dryrig
