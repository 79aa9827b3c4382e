#pragma once

#include <Eigen/Geometry>
#include <array>

#include "scenes/recording.h"
#include "sim/body_pose.h"
#include "sim/skeleton.h"

namespace dryrig {

/// A recorded frame made whole, in W.
struct WholeFrame {
  std::array<Eigen::Vector3d, kHandL> joints;  // BodyPoint below kHandL
  Eigen::Quaterniond q_WT, q_WHd;
  std::array<Eigen::Quaterniond, 2> q_WH;
  std::array<std::array<Eigen::Vector3d, kHandLandmarks>, 2> landmarks;  // where the file has fingers
};

/// Fills frames in turn: what the file has is taken, what it has not follows from what it has and from the build. Where bones lie
/// along a line that leaves a turn open, the frame before decides.
class RecordedFrameFiller {
 public:
  RecordedFrameFiller(const Recording& recording, const PersonBuild& build);
  void Fill(size_t frame, const Eigen::Isometry3d& X_WR, WholeFrame* out);
  const std::array<bool, kNumBodyPoints>& synthetic() const { return synthetic_; }

 private:
  Eigen::Vector3d At(TrackPoint point) const { return X_WR_ * r_.At(frame_, point); }
  bool HasPair(TrackPoint left) const { return r_.Has(left) && r_.Has(AtSide(left, 1)); }
  Eigen::Matrix3d& Settle(Eigen::Matrix3d* last, const Eigen::Vector3d& x, const Eigen::Vector3d& z) const;
  void FillTrunk(WholeFrame* out);
  void FillHead(WholeFrame* out);
  void FillArms(WholeFrame* out);
  void FillLegs(WholeFrame* out);

  const Recording& r_;
  const PersonBuild& build_;
  bool neck_recorded_ = false, crown_recorded_ = false;
  std::array<bool, kNumBodyPoints> synthetic_{};
  size_t frame_ = 0;
  Eigen::Isometry3d X_WR_ = Eigen::Isometry3d::Identity();
  Eigen::Matrix3d R_WT_ = Eigen::Matrix3d::Identity(), R_WHd_ = Eigen::Matrix3d::Identity();
  std::array<Eigen::Matrix3d, 2> R_WH_{Eigen::Matrix3d::Identity(), Eigen::Matrix3d::Identity()};
};

}  // namespace dryrig
