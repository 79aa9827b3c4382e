#include "scenes/joint_names.h"

#include <fmt/format.h>
#include <gmock/gmock.h>

#include <map>

namespace dryrig {
namespace {

/// A tree as indented text: two blanks a level, `-` the nameless end of a bone.
std::vector<NamedJoint> Tree(const std::string& text) {
  std::vector<NamedJoint> joints;
  std::vector<int> open;  // the last joint of each level
  size_t at = 0;
  while (at < text.size()) {
    const size_t end = std::min(text.find('\n', at), text.size());
    const std::string line = text.substr(at, end - at);
    at = end + 1;
    const size_t blanks = line.find_first_not_of(' ');
    if (blanks == std::string::npos) continue;
    const size_t level = blanks / 2;
    open.resize(level);
    const std::string name = line.substr(blanks);
    joints.push_back({name == "-" ? "" : name, level == 0 ? -1 : open.back(), name == "-"});
    open.push_back(static_cast<int>(joints.size()) - 1);
  }
  return joints;
}

std::string NameAt(const std::vector<NamedJoint>& joints, const JointMap& map, TrackPoint point) {
  const int joint = map[static_cast<size_t>(point)];
  if (joint < 0) return "none";
  const NamedJoint& found = joints[static_cast<size_t>(joint)];
  return found.end ? "end of " + joints[static_cast<size_t>(found.parent)].name : found.name;
}

void ExpectPoints(const std::vector<NamedJoint>& joints, const std::map<std::string, std::string>& wanted) {
  const JointMap map = GuessJoints(joints, EmptyJointMap());
  for (const auto& [point, name] : wanted) EXPECT_EQ(NameAt(joints, map, *FindTrackPoint(point)), name) << point;
}

TEST(JointNames, ANameComesApartIntoSideWordAndNumber) {
  const struct {
    const char* name;
    int side;
    const char* word;
    int number;
  } rows[] = {
      {"LeftArm", 0, "arm", -1},
      {"RightForeArm", 1, "forearm", -1},
      {"arm_l", 0, "arm", -1},
      {"Upperarm.R", 1, "upperarm", -1},
      {"lThigh", 0, "thigh", -1},
      {"RHand", 1, "hand", -1},
      {"leftupleg", 0, "upleg", -1},
      {"rfemur", 1, "femur", -1},
      {"rig:LeftLeg", 0, "leg", -1},
      {"a|b|R_Foot", 1, "foot", -1},
      {"Spine1", -1, "spine", 1},
      {"spine_02", -1, "spine", 2},
      {"KneeLeft", 0, "knee", -1},
      {"upperarm01.L", 0, "upperarm", 1},
      {"index_03_r", 1, "index", 3},
      {"J_Bip_L_UpperArm", 0, "upperarm", -1},
      {"jnt_Hips", -1, "hips", -1},
      {"HeadTop_End", -1, "headtopend", -1},
      {"radius", -1, "radius", -1},
      {"Collar", -1, "collar", -1},
      {"shoulder", -1, "shoulder", -1},
      {"Right", 1, "", -1},
      {"", -1, "", -1},
      {"__--", -1, "", -1},
  };
  for (const auto& row : rows) {
    SCOPED_TRACE(row.name);
    const JointName name = SplitJointName(row.name);
    EXPECT_EQ(name.side, row.side);
    EXPECT_EQ(name.word, row.word);
    EXPECT_EQ(name.number, row.number);
  }
}

std::string Hand(const std::string& pad, const std::string& stem, const std::vector<std::string>& fingers, int from, int to,
                 bool end) {
  std::string text;
  for (const std::string& finger : fingers) {
    std::string deeper = pad;
    for (int i = from; i <= to; ++i, deeper += "  ") text += deeper + fmt::format(fmt::runtime(stem), finger, i) + "\n";
    if (end) text += deeper + "-\n";
  }
  return text;
}

TEST(JointNames, FingersWithThreeJointsAndAnEnd) {
  const std::vector<NamedJoint> joints = Tree(
      "Hips\n  Spine\n    Neck\n      Head\n        -\n    LeftShoulder\n      LeftArm\n        LeftForeArm\n          "
      "LeftHand\n" +
      Hand("            ", "LeftHand{}{}", {"Thumb", "Index", "Middle", "Ring", "Pinky"}, 1, 3, true) +
      "    RightShoulder\n      RightArm\n        RightForeArm\n          RightHand\n            -\n");
  ExpectPoints(joints, {{"left_shoulder", "LeftArm"},
                        {"left_wrist", "LeftHand"},
                        {"left_thumb_1", "LeftHandThumb1"},
                        {"left_thumb_4", "end of LeftHandThumb3"},
                        {"left_index_1", "LeftHandIndex1"},
                        {"left_index_3", "LeftHandIndex3"},
                        {"left_little_2", "LeftHandPinky2"},
                        {"left_little_4", "end of LeftHandPinky3"},
                        {"left_fingers", "none"},
                        {"right_index_1", "none"},
                        {"right_fingers", "end of RightHand"},
                        {"head_top", "end of Head"}});
}

TEST(JointNames, FingersWithABoneInThePalm) {
  const std::vector<NamedJoint> joints =
      Tree("pelvis\n  spine_01\n    head\n    upperarm_l\n      lowerarm_l\n        hand_l\n" +
           Hand("          ", "{}_0{}_l", {"thumb", "index", "middle", "ring", "pinky"}, 0, 3, true) +
           "    upperarm_r\n      lowerarm_r\n        hand_r\n");
  ExpectPoints(joints, {{"left_index_1", "index_01_l"},
                        {"left_index_4", "end of index_03_l"},
                        {"left_wrist", "hand_l"},
                        {"right_wrist", "hand_r"}});
}

TEST(JointNames, FingersByNumberAlone) {
  std::string hand;
  for (int finger = 0; finger < 5; ++finger) {
    hand += fmt::format("          X L Finger{0}\n            X L Finger{0}1\n              X L Finger{0}2\n                -\n",
                        finger);
  }
  const std::vector<NamedJoint> joints =
      Tree("X Pelvis\n  X Spine\n    X Head\n    X L UpperArm\n      X L Forearm\n        X L Hand\n" + hand +
           "    X R UpperArm\n      X R Forearm\n        X R Hand\n");
  ExpectPoints(joints, {{"left_thumb_1", "X L Finger0"},
                        {"left_thumb_2", "X L Finger01"},
                        {"left_index_1", "X L Finger1"},
                        {"left_index_3", "X L Finger12"},
                        {"left_little_4", "end of X L Finger42"}});
}

TEST(JointNames, AFewShortFingersOnlyTellWhereTheHandPoints) {
  const std::vector<NamedJoint> joints = Tree(
      "Hips\n  Spine\n    Head\n    LeftArm\n      LeftForeArm\n        LeftHand\n          LFingers\n            -\n          "
      "LThumb\n            -\n"
      "    RightArm\n      RightForeArm\n        RightHand\n");
  ExpectPoints(joints, {{"left_fingers", "LFingers"}, {"left_thumb", "end of LThumb"}, {"left_index_1", "none"}});
}

TEST(JointNames, JointsThatTwistHelpOrHoldThingsAreNone) {
  const std::vector<NamedJoint> joints = Tree(
      "root\n  pelvis\n    spine_01\n      spine_02\n        neck_01\n          head\n        clavicle_l\n          upperarm_l\n "
      "           upperarm_twist_01_l\n"
      "            lowerarm_l\n              lowerarm_twist_01_l\n              hand_l\n        clavicle_r\n          "
      "upperarm_r\n            lowerarm_r\n"
      "              hand_r\n    thigh_l\n      thigh_twist_01_l\n      calf_l\n        foot_l\n          ball_l\n    thigh_r\n  "
      "    calf_r\n        foot_r\n  ik_hand_root\n"
      "    ik_hand_gun\n      ik_hand_l\n      ik_hand_r\n");
  ExpectPoints(joints, {{"pelvis", "pelvis"},
                        {"left_shoulder", "upperarm_l"},
                        {"left_elbow", "lowerarm_l"},
                        {"left_wrist", "hand_l"},
                        {"right_wrist", "hand_r"},
                        {"left_hip", "thigh_l"},
                        {"left_toe", "ball_l"},
                        {"spine", "spine_01"},
                        {"chest", "spine_02"},
                        {"neck", "neck_01"}});
}

TEST(JointNames, ManySpineJointsGiveTwoOfTheirMiddle) {
  ExpectPoints(Tree("Hips\n  Spine\n    Spine1\n      Spine2\n        Spine3\n          Neck\n            Head\n          "
                    "LeftArm\n            LeftForeArm\n"
                    "              LeftHand\n          RightArm\n            RightForeArm\n              RightHand\n"),
               {{"spine", "Spine1"}, {"chest", "Spine2"}, {"neck", "Neck"}});
}

TEST(JointNames, WhatAMappingFixesIsKept) {
  const std::vector<NamedJoint> joints = Tree("Hips\n  Spine\n    Head\n    LeftArm\n      LeftForeArm\n        LeftHand\n");
  JointMap fixed = EmptyJointMap();
  fixed[static_cast<size_t>(TrackPoint::kNeck)] = 2;
  fixed[static_cast<size_t>(TrackPoint::kWristL)] = -2;
  const JointMap map = GuessJoints(joints, fixed);
  EXPECT_EQ(NameAt(joints, map, TrackPoint::kNeck), "Head");
  EXPECT_EQ(NameAt(joints, map, TrackPoint::kHead), "none");  // it is the neck now
  EXPECT_EQ(NameAt(joints, map, TrackPoint::kWristL), "none");
  EXPECT_EQ(NameAt(joints, map, TrackPoint::kElbowL), "LeftForeArm");
}

TEST(JointNames, EveryPointOfOursIsKnownByItsOwnName) {
  std::vector<NamedJoint> joints;
  for (const std::string& name : TrackPointNames()) joints.push_back({name, -1, false});
  const JointMap map = GuessJoints(joints, EmptyJointMap());
  for (int i = 0; i < kNumTrackPoints; ++i) EXPECT_EQ(map[static_cast<size_t>(i)], i) << ToString(static_cast<TrackPoint>(i));
}

}  // namespace
}  // namespace dryrig
