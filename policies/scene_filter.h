#pragma once

#include <Eigen/Geometry>
#include <array>
#include <string>
#include <vector>

#include "sim/policy.h"

namespace dryrig {

/// What a policy makes of noisy, late tracking: points filtered by a critically damped g-h filter and led to the present. What
/// was never seen stands where an instructor behind this bench would have it; what is lost moves with the rest of its hand.
class SceneFilter {
 public:
  struct PropEstimate {
    std::string name;
    Eigen::Vector3d p_WP = Eigen::Vector3d::Zero();
    Eigen::Vector3d v_WP = Eigen::Vector3d::Zero();
    double extent_m = 0.1;
    bool known = false;  // delivered at least once
  };

  void Reset(const Stage& stage);
  void Update(const Observation& seen);

  double t_s() const { return t_s_; }
  double dt_s() const { return dt_s_; }
  const Eigen::Vector3d& p_W(int point) const { return now_[static_cast<size_t>(point)]; }
  const Eigen::Vector3d& v_W(int point) const { return points_[static_cast<size_t>(point)].v; }
  /// Middle of the 21 landmarks.
  Eigen::Vector3d HandCentre(Side side) const { return hands_[side].centre; }
  /// A landmark seen from its hand's middle, averaged over a third of a second: calm enough to tell straight fingers from curled.
  Eigen::Vector3d HandShape(Side side, int landmark) const {
    return shape_[static_cast<size_t>(HandPoint(side, landmark) - kHandL)];
  }
  const Eigen::Vector3d& HandVelocity(Side side) const { return hands_[side].v; }
  /// Seconds since the tracker last delivered most of the hand.
  double HandAge_s(Side side) const { return hands_[side].age_s; }
  const Eigen::Quaterniond& q_WT() const { return q_WT_; }
  const Eigen::Quaterniond& q_WHd() const { return q_WHd_; }
  Eigen::Vector3d p_WHead() const { return 0.5 * (p_W(kHeadLow) + p_W(kHeadHigh)); }
  double head_height_m() const { return head_height_m_; }
  double hand_length_m() const { return hand_length_m_; }
  const std::vector<PropEstimate>& props() const { return props_; }
  /// Index of a prop by name, -1 if unknown.
  int FindProp(const std::string& name) const;

 private:
  struct Filtered {
    Eigen::Vector3d x = Eigen::Vector3d::Zero(), v = Eigen::Vector3d::Zero();
    double stamp_s = -1;
    bool started = false;
  };
  struct Hand {
    Eigen::Vector3d centre = Eigen::Vector3d::Zero();
    Eigen::Vector3d v = Eigen::Vector3d::Zero();
    double age_s = 0;
  };
  static void Correct(Filtered* filtered, const Eigen::Vector3d& measured, double stamp_s);
  void UpdateHand(Side side, const Observation& seen);

  double t_s_ = 0, dt_s_ = 0, last_stamp_s_ = -1e9;
  bool started_ = false;
  std::array<Filtered, kNumBodyPoints> points_;
  std::array<Eigen::Vector3d, kNumBodyPoints> now_;
  std::array<Hand, 2> hands_;
  std::array<Eigen::Vector3d, size_t{2} * kHandLandmarks> shape_;
  Eigen::Quaterniond q_WT_ = Eigen::Quaterniond::Identity(), q_WHd_ = Eigen::Quaterniond::Identity();
  double head_height_m_ = 0.23, hand_length_m_ = 0.19;
  std::vector<PropEstimate> props_;
  std::vector<Filtered> prop_filters_;
};

}  // namespace dryrig
