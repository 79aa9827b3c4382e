#pragma once

#include <Eigen/Geometry>
#include <array>
#include <vector>

#include "policies/scene_filter.h"
#include "scenes/bench.h"
#include "scenes/shot.h"
#include "sim/subject.h"

namespace dryrig {

/// A wanted picture: what, how large, where in the frame, seen from where.
struct WantedPicture {
  Eigen::Vector3d centre_W = Eigen::Vector3d::Zero();
  double extent_m = 0.2;
  double frame_heights = 0.5;  // that the extent shall take
  FramePoint at{0, 0};
  Eigen::Vector3d to_camera_W = Eigen::Vector3d::UnitZ();  // unit
  Eigen::Vector3d up_W = Eigen::Vector3d::UnitY();         // unit, across to_camera_W
  bool horizon = false;                                    // image-up is a level horizon, from wherever the camera stands
};

/// By side: which hands "hands" means.
using HandsInUse = std::array<bool, 2>;

/// Where a shot's subjects are and how large, from what is tracked; mirrors SubjectSamples, which sees the truth.
SubjectGeometry MeasureTracked(const Shot& shot, const SceneFilter& scene, const Bench& bench, const HandsInUse& hands);

/// A subject as a calm operator follows it: small and quick changes (busy hands) are let pass, large ones are followed at once.
class CalmSubject {
 public:
  /// Starts anew at `measured`.
  void Reset(const SubjectGeometry& measured);
  /// `frame_m`: height of the wanted frame at the subject. `calm_s`: time to follow a small change.
  void Update(const SubjectGeometry& measured, double frame_m, double calm_s, double dt_s);
  const SubjectGeometry& now() const { return now_; }
  const Eigen::Vector3d& v_W() const { return v_W_; }

 private:
  SubjectGeometry now_;
  Eigen::Vector3d v_W_ = Eigen::Vector3d::Zero();
  double extent_rate_ = 0;  // of its base-2 logarithm
};

/// WantedPicture of a subject for a shot, the view being asked from a torso so turned.
WantedPicture PictureFor(const Shot& shot, const SubjectGeometry& subject, const Eigen::Quaterniond& q_WT, double aspect);

}  // namespace dryrig
