#include "sim/hand.h"

#include <cmath>

namespace dryrig {

namespace {

// Shares of hand length, from bone lengths of adults (Buryanov & Kotiuk 2010, from memory: thumb 46.2, 31.6, 21.7; index 39.8,
// 22.4, 15.8; middle 44.6, 26.3, 17.4; ring 41.4, 25.7, 17.3; little 32.7, 18.1, 16.0 mm) with 3.9 mm of pulp on each tip, over
// a hand of 189 mm. Where the knuckles sit makes the middle finger end at the hand's length.
constexpr double kThumbBone[3] = {0.2446, 0.1670, 0.1353};
constexpr double kFingerBone[4][3] = {
    {0.2105, 0.1184, 0.1043}, {0.2361, 0.1393, 0.1127}, {0.2189, 0.1357, 0.1122}, {0.1732, 0.0958, 0.1051}};
// Knuckles of the right hand; breadth over them about 0.457 of the length with flesh (ANSUR II hand breadth over length).
constexpr double kKnuckle[4][3] = {
    {-0.140, 0.500, 0.000}, {-0.030, 0.5110, 0.008}, {0.072, 0.480, 0.000}, {0.160, 0.440, -0.020}};
constexpr double kThumbRoot[3] = {-0.120, 0.170, -0.060};

// The nth finger curls a little more than its neighbour on the thumb's side.
constexpr double kCurlStep = 0.06;

struct SinCos {
  double sin, cos;
  explicit SinCos(double a) : sin(std::sin(a)), cos(std::cos(a)) {}
};

FingerPose MakeFingers(std::array<double, kNumFingerAngles> a) {
  return FingerPose(a.data());
}

}  // namespace

FingerPose RestingFingers() {
  return MakeFingers({0.30, 0.40, 0.30, 0.40, 0.45, 0.20, 0.15, 0.05});
}
FingerPose FlatFingers() {
  return MakeFingers({0.10, 0.15, 0.10, 0.15, 0.60, 0.12, 0.10, 0.10});
}
FingerPose PointingFingers(double bend) {
  return MakeFingers({bend, 0.0, 1.25, 1.60, 0.20, 0.55, 0.70, 0.0});
}

FingerPose PinchingFingers(double gap_m, double hand_m) {
  const FingerPose closed = MakeFingers({0.87, 0.70, 0.87, 0.70, 0.02, 0.70, 0.05, 0.02});
  const FingerPose open = MakeFingers({0.40, 0.45, 0.40, 0.45, 0.62, 0.75, 0.00, 0.08});
  double lo = 0, hi = 1;
  for (int i = 0; i < 20; ++i) {
    const double mid = 0.5 * (lo + hi);
    const auto p = HandLandmarks(kRight, closed + mid * (open - closed), hand_m);
    ((p[4] - p[8]).norm() < gap_m ? lo : hi) = mid;
  }
  return closed + 0.5 * (lo + hi) * (open - closed);
}

std::array<Eigen::Vector3d, kHandLandmarks> HandLandmarks(Side side, const FingerPose& fingers, double hand_m) {
  std::array<Eigen::Vector3d, kHandLandmarks> p;
  const double x_scale = side == kRight ? hand_m : -hand_m;
  const auto place = [&](int landmark, double x, double y, double z) {
    p[static_cast<size_t>(landmark)] = {x_scale * x, hand_m * y, hand_m * z};
  };
  place(0, 0, 0, 0);

  double x = kThumbRoot[0], y = kThumbRoot[1], z = kThumbRoot[2];
  place(1, x, y, z);
  const SinCos down(fingers[kThumbDown]);
  const double out[3] = {fingers[kThumbOut] + 0.25, fingers[kThumbOut], fingers[kThumbOut] - fingers[kThumbFlex]};
  for (int bone = 0; bone < 3; ++bone) {
    const SinCos turn(out[bone]);
    x -= kThumbBone[bone] * turn.sin * down.cos;
    y += kThumbBone[bone] * turn.cos * down.cos;
    z -= kThumbBone[bone] * down.sin;
    place(2 + bone, x, y, z);
  }

  for (int finger = 0; finger < 4; ++finger) {
    x = kKnuckle[finger][0], y = kKnuckle[finger][1], z = kKnuckle[finger][2];
    place(5 + 4 * finger, x, y, z);
    const double more = finger == 0 ? 0 : kCurlStep * (finger - 1);
    const double middle = fingers[finger == 0 ? kIndexMiddle : kOthersMiddle] + (finger == 0 ? 0 : more);
    double bend = fingers[finger == 0 ? kIndexBase : kOthersBase] + (finger == 0 ? 0 : more);
    const SinCos spread(fingers[kSpread] * (finger - 1));
    for (int bone = 0; bone < 3; ++bone) {
      const SinCos turn(bend);
      x += kFingerBone[finger][bone] * turn.cos * spread.sin;
      y += kFingerBone[finger][bone] * turn.cos * spread.cos;
      z -= kFingerBone[finger][bone] * turn.sin;
      place(6 + 4 * finger + bone, x, y, z);
      bend += bone == 0 ? middle : middle * (2.0 / 3);
    }
  }
  return p;
}

Eigen::Vector3d GripPoint(Side side, const FingerPose& fingers, double hand_m) {
  const auto p = HandLandmarks(side, fingers, hand_m);
  return 0.5 * p[4] + 0.25 * (p[8] + p[12]);
}

double HandBoneRadius(int finger, int bone, double hand_m) {
  // Finger breadths of adults are 20 to 14 mm from base to tip (common practice); the bones are capsules inside the flesh.
  constexpr double kThumb[4] = {0.012, 0.011, 0.009, 0.008};
  constexpr double kFinger[4] = {0.011, 0.008, 0.007, 0.006};
  return (finger == 0 ? kThumb : kFinger)[bone] * hand_m / 0.189;
}

}  // namespace dryrig
