#pragma once

#include <array>
#include <string>

#include "sim/body_pose.h"

namespace dryrig::testing {

/// A stand-in for a person: every capsule that a real one has, in a plain pose seated at the origin's side of the bench and
/// facing +y, both hands flat over the bench. Only geometry: no statures, no ranges. No two capsules share a surface, so that
/// the first of two is never a matter of rounding.
struct SketchPerson {
  PersonBody body;
  BodyPose pose;
};

inline void AddSketchHand(SketchPerson* person, Side side, const Eigen::Vector3d& p_WWrist) {
  const std::string word = side == kLeft ? "left" : "right";
  static const std::array<std::string, 5> kFingers{"thumb", "index", "middle", "ring", "little"};
  auto& p_W = person->pose.p_W;
  const int wrist = HandPoint(side, 0);
  p_W[wrist] = p_WWrist;
  for (int finger = 0; finger < 5; ++finger) {
    const double inward = side == kLeft ? 1 : -1;
    const Eigen::Vector3d base = p_WWrist + Eigen::Vector3d(inward * (0.04 - 0.02 * finger), finger == 0 ? 0.03 : 0.09, 0);
    for (int joint = 0; joint < 4; ++joint) {
      const int point = wrist + 1 + 4 * finger + joint;
      p_W[point] = base + joint * Eigen::Vector3d(finger == 0 ? inward * 0.01 : 0, 0.025, -0.003);
      person->body.capsules.push_back({word + " " + kFingers[finger] + std::to_string(joint), joint == 0 ? wrist : point - 1,
                                       point, 0.012 - 0.0015 * joint - 0.0002 * finger, "hand"});
    }
  }
}

inline SketchPerson MakeSketchPerson() {
  SketchPerson person;
  auto& p_W = person.pose.p_W;
  p_W[kPelvis] = {0, -0.25, 0.55};
  p_W[kLumbar] = {0, -0.24, 0.7};
  p_W[kThorax] = {0, -0.22, 0.95};
  p_W[kNeck] = {0, -0.2, 1.1};
  p_W[kHeadLow] = {0, -0.17, 1.2};
  p_W[kHeadHigh] = {0, -0.17, 1.3};
  for (const int side : {0, 1}) {
    const double x = side == kLeft ? -1 : 1;
    p_W[kShoulderL + side] = {0.18 * x, -0.2, 1.05};
    p_W[kElbowL + side] = {0.25 * x, -0.1, 0.82};
    p_W[kWristL + side] = {0.12 * x, 0.12, 0.82};
    p_W[kHipL + side] = {0.09 * x, -0.25, 0.53};
    p_W[kKneeL + side] = {0.12 * x, 0.15, 0.5};
    p_W[kAnkleL + side] = {0.12 * x, 0.15, 0.08};
    p_W[kToeL + side] = {0.12 * x, 0.33, 0.03};
  }
  auto& capsules = person.body.capsules;
  capsules = {{"pelvis", kPelvis, kLumbar, 0.13, "pelvis"},
              {"abdomen", kLumbar, kThorax, 0.12, "abdomen"},
              {"chest", kThorax, kNeck, 0.12, "chest"},
              {"neck", kNeck, kHeadLow, 0.05, "neck"},
              {"head", kHeadLow, kHeadHigh, 0.09, "skull"}};
  for (const int side : {0, 1}) {
    const std::string word = side == kLeft ? "left" : "right";
    capsules.push_back({word + " upper arm", kShoulderL + side, kElbowL + side, 0.045, "upper arm"});
    capsules.push_back({word + " forearm", kElbowL + side, kWristL + side, 0.035, "lower arm"});
    capsules.push_back({word + " thigh", kHipL + side, kKneeL + side, 0.075, "thigh"});
    capsules.push_back({word + " shank", kKneeL + side, kAnkleL + side, 0.05, "lower leg"});
    capsules.push_back({word + " foot", kAnkleL + side, kToeL + side, 0.04, "lower leg"});
  }
  AddSketchHand(&person, kLeft, p_W[kWristL]);
  AddSketchHand(&person, kRight, p_W[kWristR]);
  for (const double x : {-0.03, 0.0, 0.03}) {
    for (const double z : {-0.05, 0.0, 0.05}) person.body.face_points.emplace_back(x, std::sqrt(0.09 * 0.09 - x * x), z);
  }
  return person;
}

}  // namespace dryrig::testing
