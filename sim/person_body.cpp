#include <cmath>

#include "sim/hand.h"
#include "sim/skeleton.h"

namespace dryrig {

namespace {

const char* const kSideNames[] = {"left", "right"};
const char* const kFingerNames[] = {"thumb", "index", "middle", "ring", "little"};
const char* const kThumbBones[] = {"root", "base", "middle", "tip"};
const char* const kFingerBones[] = {"palm", "base", "middle", "tip"};

void AddHand(const PersonBuild& build, Side side, std::vector<PersonCapsule>* out) {
  for (int finger = 0; finger < 5; ++finger) {
    for (int bone = 0; bone < 4; ++bone) {
      const int from = bone == 0 ? 0 : 4 * finger + bone;
      const std::string name =
          std::string(kSideNames[side]) + ' ' + kFingerNames[finger] + ' ' + (finger == 0 ? kThumbBones : kFingerBones)[bone];
      out->push_back({name, HandPoint(side, from), HandPoint(side, 4 * finger + bone + 1),
                      HandBoneRadius(finger, bone, build.hand), "hand"});
    }
  }
}

}  // namespace

double ForearmRadius(const PersonBuild& build) {
  return 0.020 * build.stature * build.girth;
}

PersonBody MakePersonBody(const PersonBuild& build) {
  PersonBody body;
  body.head_height_m = build.head_height;
  body.hand_length_m = build.hand;

  // Radii as shares of stature for a slim adult (common practice, near ANSUR II depths and circumferences), times girth.
  const double h = build.stature, g = build.girth;
  auto& c = body.capsules;
  c.push_back({"head", kHeadLow, kHeadHigh, build.head_radius, "face"});  // stricter of the head's two regions
  c.push_back({"neck", kNeck, kHeadLow, 0.034 * h * std::sqrt(g), "neck"});
  c.push_back({"chest", kLumbar, kThorax, 0.064 * h * g, "chest"});
  c.push_back({"upper chest", kThorax, kNeck, 0.038 * h * std::sqrt(g), "chest"});
  c.push_back({"abdomen", kPelvis, kLumbar, 0.066 * h * g, "abdomen"});
  c.push_back({"pelvis", kHipL, kHipR, 0.050 * h * g, "pelvis"});
  for (const Side side : {kLeft, kRight}) {
    const std::string s = std::string(kSideNames[side]) + ' ';
    c.push_back({s + "breast", kThorax, OfSide(kShoulderL, side), 0.042 * h * g, "chest"});
    c.push_back({s + "shoulder", kNeck, OfSide(kShoulderL, side), 0.026 * h * g, "back"});
    c.push_back({s + "upper arm", OfSide(kShoulderL, side), OfSide(kElbowL, side), 0.0245 * h * g, "upper arm"});
    c.push_back({s + "forearm", OfSide(kElbowL, side), OfSide(kWristL, side), ForearmRadius(build), "lower arm"});
    c.push_back({s + "thigh", OfSide(kHipL, side), OfSide(kKneeL, side), 0.044 * h * g, "thigh"});
    c.push_back({s + "shank", OfSide(kKneeL, side), OfSide(kAnkleL, side), 0.029 * h * g, "lower leg"});
    c.push_back({s + "foot", OfSide(kAnkleL, side), OfSide(kToeL, side), 0.019 * h, "lower leg"});
  }
  for (const Side side : {kLeft, kRight}) AddHand(build, side, &c);

  // Eyes, nose, mouth's corners, brow, chin, cheeks: azimuth from the face's normal (right positive) and height over the head's
  // middle as a share of head height, laid 1.5 mm outside the head's capsule.
  constexpr struct {
    double azimuth, height;
  } kFace[] = {{-0.36, 0.02}, {0.36, 0.02}, {0, -0.12},     {-0.28, -0.26}, {0.28, -0.26},
               {0, 0.22},     {0, -0.38},   {-0.62, -0.10}, {0.62, -0.10}};
  const double r = build.head_radius + 0.0015, core = 0.5 * build.head_height - build.head_radius;
  for (const auto& [azimuth, share] : kFace) {
    const double z = share * build.head_height;
    const double beyond = std::abs(z) - core;  // into the capsule's round end
    const double across = beyond > 0 ? std::sqrt(r * r - beyond * beyond) : r;
    body.face_points.emplace_back(across * std::sin(azimuth), across * std::cos(azimuth), z);
  }
  return body;
}

}  // namespace dryrig
