#pragma once

#include <Eigen/Geometry>
#include <string>
#include <vector>

#include "sim/subject.h"
#include "sim/take.h"

namespace dryrig {

enum class Blocker { kNone, kOwnArm, kHead, kTorso, kOtherHand, kSameHand, kProp, kBench, kRobot };

/// Every body of one frame, indexed alike in all frames of a take: person's capsules, then props, then bench top, keep-out
/// bodies that are solid, then arm bodies. A keep-out body whose name begins with "zone" is a space, not a thing, and is left
/// out; so is the arm body "camera", in whose housing the optical centre sits. The take outlives the scene.
class SightScene {
 public:
  explicit SightScene(const Take& take);
  void SetFrame(const TakeFrame& frame);   // allocates nothing after the first

  int CapsuleBody(int capsule) const { return capsule; }
  int PropBody(int prop) const { return first_prop_ + prop; }
  int size() const { return int(radius_.size()); }

  /// The first body that the line from the camera to the sample meets other than the sample's own; -1: it is seen.
  /// A landmark's own bodies are the capsules that end in it; a surface point's own body blocks when entered over 3 mm before
  /// it (a head's capsules are one body). A body that holds the camera blocks all.
  int FirstBlocker(const Eigen::Vector3d& p_WC, const SubjectSample& sample) const;
  /// A surface point of a prop on the side that the prop itself turns away: no convex thing shows that from here.
  bool IsFarSide(const Eigen::Vector3d& p_WC, const SubjectSample& sample) const;
  /// What kind of thing a body is, for a sample of this hand (kLeft, kRight or -1); kNone for -1.
  Blocker KindOf(int body, int hand) const;
  std::string NameOf(int body) const;

 private:
  bool IsOwn(int body, const SubjectSample& sample) const;
  double EntryOf(int body, const Eigen::Vector3d& from, const Eigen::Vector3d& to) const;

  const Take* take_;
  int first_prop_ = 0, first_bench_ = 0, first_arm_ = 0;
  std::vector<double> radius_;                   // of the ball that holds the body, about middle_
  std::vector<Eigen::Vector3d> middle_;
  std::vector<Eigen::Vector3d> a_, b_;           // capsules of the person as segments
  std::vector<Eigen::Isometry3d> pose_;          // others; from first_prop_ on
  std::vector<const Shape*> shape_;
  std::vector<const Body*> still_;               // solid keep-out bodies
  std::vector<const ArmBody*> arm_;              // all but the camera
  std::vector<std::vector<int>> own_;            // by BodyPoint: capsules that end in it
  std::vector<bool> head_;                       // by capsule
};

}  // namespace dryrig
