#pragma once

#include <memory>

#include "sim/run.h"

namespace dryrig::test {

/// The same arm, bench, props and person in MuJoCo (Debian's libmujoco 2.2), as somebody who knows it would set it up for this
/// job: position servos, the person as moved bodies that push nothing, distances to them from its contacts with a margin of
/// 0.3 m (pairs farther apart are not measured; ours measures the nearest pair at any distance), sight lines by mj_ray. Of its
/// solvers the quickest here: Newton with sparse matrices, ten rounds as Bullet's; PGS took a third more, CG a tenth.
class MujocoPeer {
 public:
  /// @pre every arm body is a box, sphere, capsule or cylinder. @throws RunError with MuJoCo's own words.
  explicit MujocoPeer(const TakeSetup& setup);
  ~MujocoPeer();
  MujocoPeer(const MujocoPeer&) = delete;
  MujocoPeer& operator=(const MujocoPeer&) = delete;

  /// One tick with the person at this pose.
  void Step(const BodyPose& pose);
  /// How many of the points a ray from the camera reaches unhindered.
  int Seen(const Eigen::Vector3d& p_WC, std::span<const Eigen::Vector3d> points);
  /// Nearest of arm and person within the margin, at the last step.
  double Nearest_m() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace dryrig::test
