#include "scenes/bvh.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <numbers>

#include "scenes/yaml_tree.h"

namespace dryrig {

namespace {

constexpr size_t kMostJoints = 600;
constexpr int kMostDepth = 100;
constexpr double kMostUnits = 1e7;  // of any length: no body is larger in any unit
constexpr std::array<const char*, 6> kChannelWords{"Xposition", "Yposition", "Zposition", "Xrotation", "Yrotation", "Zrotation"};

bool SameWord(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char x, char y) {
    return std::tolower(static_cast<unsigned char>(x)) == std::tolower(static_cast<unsigned char>(y));
  });
}

int ChannelOf(std::string_view word) {
  for (size_t i = 0; i < kChannelWords.size(); ++i) {
    if (SameWord(word, kChannelWords[i])) return static_cast<int>(i);
  }
  return -1;
}

std::string Found(std::string_view word) {
  return word.empty() ? "the file's end" : fmt::format("\"{}\"", Quoted(word));
}

}  // namespace

BvhReader::BvhReader(std::string_view text, std::string file_name) : words_(text, std::move(file_name)) {
  ReadHierarchy();
  ReadMotionHead();
}

void BvhReader::ReadHierarchy() {
  const std::string_view first = words_.Next();
  if (!SameWord(first, "HIERARCHY")) {
    words_.Fail(fmt::format("expected HIERARCHY, found {}; is this a BVH file?", Found(first)));
  }
  if (!SameWord(words_.Peek(), "ROOT")) {
    const std::string_view word = words_.Next();
    words_.Fail(fmt::format("expected ROOT, found {}; a hierarchy begins with a root joint", Found(word)));
  }
  while (SameWord(words_.Peek(), "ROOT")) {
    words_.Next();
    ReadJoint(-1, false);
  }
}

/// From behind ROOT, JOINT or End to the closing brace.
void BvhReader::ReadJoint(int parent, bool end) {
  if (joints_.size() >= kMostJoints) words_.Fail(fmt::format("more than {} joints; is this a file of one person?", kMostJoints));
  int depth = 0;
  for (int up = parent; up >= 0; up = joints_[static_cast<size_t>(up)].parent) ++depth;
  if (depth >= kMostDepth) words_.Fail(fmt::format("joints nested more than {} deep; no body is", kMostDepth));
  BvhJoint joint;
  joint.parent = parent;
  joint.end = end;
  std::string_view name = words_.RestOfLine();  // may hold blanks; of an end it is the word Site
  const bool opened = name.ends_with('{');
  if (opened) name.remove_suffix(1);
  while (!name.empty() && (name.back() == ' ' || name.back() == '\t')) name.remove_suffix(1);
  if (!end) {
    if (name.empty()) words_.Fail("a joint without a name; write one behind ROOT or JOINT");
    joint.name = std::string(name.substr(0, 200));
  }
  if (!opened) Expect("{", "that opens the joint");
  Expect("OFFSET", "the joint's place in its parent");
  for (int axis = 0; axis < 3; ++axis) {
    joint.offset[axis] = words_.Number(words_.NextInLine(), "three numbers of an OFFSET");
    if (std::abs(joint.offset[axis]) > kMostUnits)
      words_.Fail(fmt::format("an OFFSET of {}; no bone is so long", joint.offset[axis]));
  }
  if (SameWord(words_.Peek(), "CHANNELS")) {
    words_.Next();
    if (end) words_.Fail("CHANNELS of an End Site; make it a JOINT or take them out");
    ReadChannels(&joint);
  }
  channels_ += joint.channels.size();
  const auto mine = static_cast<int>(joints_.size());
  joints_.push_back(std::move(joint));
  for (;;) {
    const std::string_view word = words_.Next();
    if (word == "}") return;
    if (!end && SameWord(word, "JOINT")) {
      ReadJoint(mine, false);
    } else if (!end && SameWord(word, "End")) {
      ReadJoint(mine, true);
    } else {
      words_.Fail(fmt::format("expected {}, found {}; {}", end ? "}" : "JOINT, End Site or }", Found(word),
                              word.empty() ? "the hierarchy is cut short" : "mend the hierarchy here or just before"));
    }
  }
}

void BvhReader::Expect(std::string_view wanted, std::string_view meaning) {
  const std::string_view word = words_.Next();
  if (!SameWord(word, wanted)) {
    words_.Fail(fmt::format("expected {}, {}, found {}; mend the hierarchy here or just before", wanted, meaning, Found(word)));
  }
}

void BvhReader::ReadChannels(BvhJoint* joint) {
  // Some writers leave the count out.
  int count = -1;
  if (ChannelOf(words_.Peek()) < 0) count = words_.Whole(words_.NextInLine(), "the number of channels", 0, 6);
  while (count < 0 ? ChannelOf(words_.Peek()) >= 0 : joint->channels.size() < static_cast<size_t>(count)) {
    const std::string_view word = words_.Next();
    const int channel = ChannelOf(word);
    if (channel < 0) {
      words_.Fail(fmt::format("channel {} of {}: found {}{}", joint->channels.size() + 1, joint->name, Found(word),
                              Suggest(word, {kChannelWords.begin(), kChannelWords.end()})));
    }
    if (std::find(joint->channels.begin(), joint->channels.end(), channel) != joint->channels.end()) {
      words_.Fail(fmt::format("joint {} has the channel {} twice; keep one", joint->name, Found(word)));
    }
    joint->channels.push_back(channel);
  }
}

void BvhReader::ReadMotionHead() {
  const auto expect = [&](std::string_view wanted, std::string_view mend) {
    const std::string_view word = words_.Next();
    if (!SameWord(word, wanted)) words_.Fail(fmt::format("expected {}, found {}; {}", wanted, Found(word), mend));
  };
  expect("MOTION", "behind the hierarchy stands the motion");
  expect("Frames:", "give the number of frames");
  frames_ = static_cast<size_t>(words_.Whole(words_.NextInLine(), "the number of frames", 1, static_cast<int>(kMostFrames)));
  expect("Frame", "give the line `Frame Time:`");
  expect("Time:", "give the line `Frame Time:`");
  frame_time_s_ = words_.Number(words_.NextInLine(), "the time of one frame in seconds");
  if (frame_time_s_ < 1e-3 || frame_time_s_ > 1) {
    words_.Fail(fmt::format("a frame time of {} s; give 0.001 to 1 s (0.033333 is 30 frames a second)", frame_time_s_));
  }
  if (channels_ == 0) words_.Fail("no joint has a channel; nothing moves in this file");
  if (const std::string_view rest = words_.RestOfLine(); !rest.empty()) {
    words_.Fail(fmt::format("{} behind the frame time; each frame stands on a line of its own", Found(rest)));
  }
}

bool BvhReader::NextFrame(std::vector<double>* values) {
  const bool more = words_.NextLine();
  if (frame_ == frames_) {
    lines_left_ = 0;
    for (bool left = more; left; left = words_.NextLine()) ++lines_left_;
    return false;
  }
  if (!more) {
    words_.Fail(fmt::format("the file ends behind frame {} of {}; restore it, or set `Frames: {}`", frame_, frames_, frame_));
  }
  ++frame_;
  values->resize(channels_);
  for (size_t i = 0; i < channels_; ++i) {
    const std::string_view word = words_.NextInLine();
    if (word.empty()) {
      words_.Fail(fmt::format("frame {} has {} values, the channels of the hierarchy ask for {}; restore the line", frame_, i,
                              channels_));
    }
    (*values)[i] = words_.Number(word, "a number");
    if (std::abs((*values)[i]) > kMostUnits)
      words_.Fail(fmt::format("{} in frame {}: no body moves so far", (*values)[i], frame_));
  }
  if (!words_.RestOfLine().empty()) {
    words_.Fail(
        fmt::format("frame {} has more values than the {} channels of the hierarchy; take the rest out", frame_, channels_));
  }
  return true;
}

void PoseJoints(const std::vector<BvhJoint>& joints, const std::vector<bool>& replaces, const std::vector<double>& values,
                JointPoses* out) {
  constexpr double kDeg = std::numbers::pi / 180;
  out->p.resize(joints.size());
  out->R.resize(joints.size());
  size_t next = 0;
  for (size_t j = 0; j < joints.size(); ++j) {
    const BvhJoint& joint = joints[j];
    Eigen::Vector3d p = joint.offset;
    Eigen::Matrix3d R = Eigen::Matrix3d::Identity();
    for (const BvhChannel channel : joint.channels) {
      const double value = values[next++];
      if (channel < 3) {
        p[channel] = replaces[j] ? value : joint.offset[channel] + value;
        continue;
      }
      // Turned about its own axes in the order of the file: M = R1 R2 R3 for column vectors.
      R = R * Eigen::AngleAxisd(value * kDeg, Eigen::Vector3d::Unit(channel - 3)).toRotationMatrix();
    }
    if (joint.parent < 0) {
      out->p[j] = p;
      out->R[j] = R;
    } else {
      const auto up = static_cast<size_t>(joint.parent);
      out->p[j] = out->p[up] + out->R[up] * p;
      out->R[j] = out->R[up] * R;
    }
  }
}

std::vector<bool> PositionsReplaceOffsets(const std::vector<BvhJoint>& joints, const std::vector<double>& values) {
  std::vector<bool> out(joints.size(), false);
  size_t next = 0;
  for (size_t j = 0; j < joints.size(); ++j) {
    double to_offset = 0, to_zero = 0;
    for (const BvhChannel channel : joints[j].channels) {
      const double value = values[next++];
      if (channel >= 3) continue;
      to_offset += std::pow(value - joints[j].offset[channel], 2);
      to_zero += value * value;
    }
    out[j] = joints[j].parent >= 0 && to_offset < to_zero;
  }
  return out;
}

}  // namespace dryrig
