#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "sim/subject.h"
#include "sim/take.h"

namespace dryrig {

enum class Blocker { kNone, kOwnArm, kHead, kTorso, kOtherHand, kSameHand, kProp, kBench, kRobot };

/// Every body of one frame, indexed alike in all frames of a take: person's capsules, then props, then bench top, keep-out
/// bodies that are solid, then arm bodies.
class SightScene {
 public:
  explicit SightScene(const Take& take);
  void SetFrame(const TakeFrame& frame);   // allocates nothing after the first

  int CapsuleBody(int capsule) const { return capsule; }
  int PropBody(int prop) const { return first_prop_ + prop; }
  int size() const { return int(radius_.size()); }

  /// The first body that the line from the camera to the sample meets other than the sample's own; -1: it is seen.
  /// A landmark's own bodies are the capsules that end in it; a surface point's own body blocks when entered over 3 mm before it.
  int FirstBlocker(const Eigen::Vector3d& p_WC, const SubjectSample& sample) const;
  /// What kind of thing a body is, for a sample of this hand (kLeft, kRight or -1).
  Blocker KindOf(int body, int hand) const;
  std::string NameOf(int body) const;

 private:
  const Take* take_;
  int first_prop_ = 0, first_bench_ = 0, first_arm_ = 0;
  std::vector<double> radius_;
  std::vector<Eigen::Vector3d> a_, b_;           // capsules as segments; others: centre in a_
  std::vector<Eigen::Isometry3d> pose_;
  std::vector<const Shape*> shape_;              // null: a capsule from a_, b_, radius_
};

}  // namespace dryrig
