#pragma once

#include <Eigen/Geometry>
#include <string>
#include <vector>

#include "scenes/joint_mapping.h"
#include "scenes/recording.h"
#include "scenes/word_reader.h"

namespace dryrig {

/// A channel of a joint: 0–2 position along x, y, z, 3–5 rotation about x, y, z.
using BvhChannel = int;

/// A joint of a BVH hierarchy as it stands in the file, in its own unit.
struct BvhJoint {
  std::string name;  // empty for an End Site
  int parent = -1;   // precedes it
  Eigen::Vector3d offset = Eigen::Vector3d::Zero();
  std::vector<BvhChannel> channels;  // in the order of the file
  bool end = false;
};

/// The reader of a BVH file, step by step: hierarchy, then frame after frame. Any number of roots, any order of channels, at
/// most six a joint. All throw InputError (file:line:column).
class BvhReader {
 public:
  BvhReader(std::string_view text, std::string file_name);

  const std::vector<BvhJoint>& joints() const { return joints_; }
  size_t frames() const { return frames_; }
  double frame_time_s() const { return frame_time_s_; }
  /// Every value of the next frame, in the order of the file. False after the last one.
  bool NextFrame(std::vector<double>* values);
  /// Lines behind the last frame, known once NextFrame has said so: `Frames:` counts fewer than there are. They are not read.
  size_t lines_left() const { return lines_left_; }

 private:
  void ReadHierarchy();
  void ReadJoint(int parent, bool end);
  void Expect(std::string_view wanted, std::string_view meaning);
  void ReadChannels(BvhJoint* joint);
  void ReadMotionHead();

  WordReader words_;
  std::vector<BvhJoint> joints_;
  size_t channels_ = 0, frames_ = 0, frame_ = 0, lines_left_ = 0;
  double frame_time_s_ = 0;
};

/// Where each joint is and how it is turned, in the file's frame, for one frame's values. A root's positions are added to its
/// offset; another joint's replace it where `replaces` says so (see PositionsReplaceOffsets), else are added.
struct JointPoses {
  std::vector<Eigen::Vector3d> p;
  std::vector<Eigen::Matrix3d> R;
};
void PoseJoints(const std::vector<BvhJoint>& joints, const std::vector<bool>& replaces, const std::vector<double>& values,
                JointPoses* out);
/// Writers differ in what the position channels of a joint that is no root mean. Those of this frame lie nearer to the joint's
/// offset, or nearer to zero.
std::vector<bool> PositionsReplaceOffsets(const std::vector<BvhJoint>& joints, const std::vector<double>& values);

/// A recording from a BVH file's text: forward kinematics of every frame, joints known by `mapping`, else by their names.
/// @throws InputError (file:line:column) for anything that is not BVH or of which no performance can be made.
Recording ParseBvh(std::string_view text, const std::string& file_name, const JointMapping& mapping = {},
                   const RecordingHints& hints = {});

}  // namespace dryrig
