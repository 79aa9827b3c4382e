#include "viewer/render/look.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

using Eigen::Vector3d;

namespace {

Vector3d Srgb(double red, double green, double blue) {
  return FromSrgb({red, green, blue});
}

const Vector3d kSkin = Srgb(0.84, 0.62, 0.49), kLips = Srgb(0.62, 0.33, 0.30), kHair = Srgb(0.26, 0.17, 0.12);
const Vector3d kShirt = Srgb(0.25, 0.38, 0.47), kTrousers = Srgb(0.22, 0.22, 0.26), kShoes = Srgb(0.16, 0.13, 0.12);
const Vector3d kShell = Srgb(0.88, 0.87, 0.84), kJoint = Srgb(0.35, 0.37, 0.40), kHousing = Srgb(0.13, 0.13, 0.15);

constexpr double kHairRise_m = 0.006;  // over the head: what keeps an ellipsoid outside the head's capsule

/// A point of the head's capsule: azimuth from the face's normal, height over the head's middle.
Vector3d OnHead(double azimuth, double z, double height, double radius) {
  const double beyond = std::max(0.0, std::abs(z) - (0.5 * height - radius));
  const double across = std::sqrt(std::max(0.0, radius * radius - beyond * beyond));
  return {across * std::sin(azimuth), across * std::cos(azimuth), z};
}

Eigen::Isometry3d At(const Vector3d& p_W) {
  return Eigen::Isometry3d(Eigen::Translation3d(p_W));
}

void AddLegs(const Take& take, std::vector<DressingPiece>* out) {
  const Vector3d top = take.bench_top.X_LS.translation(), half = take.bench_top.shape.half_m;
  const double height = top.z() - half.z();
  if (height < 0.1) return;
  constexpr double kHalf_m = 0.025, kInset_m = 0.07;
  for (const double x : {-1.0, 1.0}) {
    for (const double y : {-1.0, 1.0}) {
      out->push_back({Shape::Box({kHalf_m, kHalf_m, 0.5 * height}),
                      At({top.x() + x * (half.x() - kInset_m), top.y() + y * (half.y() - kInset_m), 0.5 * height}), LegColour()});
    }
  }
}

/// An arm that stands or hangs is carried by a post.
void AddPost(const Take& take, std::vector<DressingPiece>* out) {
  const Vector3d base = take.X_WB.translation(), up = take.X_WB.linear().col(2);
  constexpr double kRadius_m = 0.05, kHang_m = 0.7;
  double low = 0, high = base.z();
  if (up.z() < -0.7) {
    low = base.z(), high = base.z() + kHang_m;
  } else if (up.z() > 0.7) {
    const Vector3d top = take.bench_top.X_LS.translation(), half = take.bench_top.shape.half_m;
    const bool over = std::abs(base.x() - top.x()) < half.x() && std::abs(base.y() - top.y()) < half.y();
    if (over) low = top.z() + half.z();
  } else {
    return;
  }
  if (high - low < 0.01) return;
  out->push_back({Shape::Cylinder(kRadius_m, 0.5 * (high - low)), At({base.x(), base.y(), 0.5 * (low + high)}), LegColour()});
}

/// Somebody whose thighs are level sits.
void AddStool(const Take& take, std::vector<DressingPiece>* out) {
  if (take.frames.empty()) return;
  const auto& p_W = take.frames.front().person.p_W;
  const Vector3d hips = 0.5 * (p_W[kHipL] + p_W[kHipR]), knees = 0.5 * (p_W[kKneeL] + p_W[kKneeR]);
  if (hips.z() - knees.z() > 0.5 * (hips - knees).norm()) return;
  double thickness = 0.08;
  for (const PersonCapsule& capsule : take.person.capsules) {
    if (capsule.region == "thigh" || capsule.region == "pelvis") thickness = std::max(thickness, capsule.radius_m);
  }
  constexpr double kSeat_m = 0.02;
  const double seat = hips.z() - thickness - kSeat_m;
  if (seat < 0.1) return;
  out->push_back({Shape::Cylinder(0.19, kSeat_m), At({hips.x(), hips.y(), seat}), LegColour()});
  out->push_back({Shape::Cylinder(0.03, 0.5 * seat), At({hips.x(), hips.y(), 0.5 * seat}), LegColour()});
  out->push_back({Shape::Cylinder(0.22, 0.012), At({hips.x(), hips.y(), 0.012}), LegColour()});

  // On a high stool the feet are off the floor: something carries them.
  double sole = seat;
  Eigen::AlignedBox2d feet;
  for (const PersonCapsule& capsule : take.person.capsules) {
    if (capsule.b != kToeL && capsule.b != kToeR) continue;
    for (const int point : {capsule.a, capsule.b}) feet.extend(p_W[static_cast<size_t>(point)].head<2>());
    sole = std::min(sole, p_W[static_cast<size_t>(capsule.b)].z() - capsule.radius_m);
  }
  if (feet.isEmpty() || sole < 0.02) return;
  const Eigen::Vector2d middle = feet.center(), half = 0.5 * feet.sizes() + Eigen::Vector2d(0.06, 0.04);
  out->push_back({Shape::Box({half.x(), half.y(), 0.5 * sole}), At({middle.x(), middle.y(), 0.5 * sole}), LegColour()});
}

}  // namespace

Vector3d FromSrgb(const Vector3d& srgb) {
  return srgb.unaryExpr([](double c) { return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4); });
}

Vector3d ColourOf(const PersonCapsule& capsule) {
  if (capsule.region == "hand" || capsule.region == "face" || capsule.region == "skull" || capsule.region == "neck") return kSkin;
  if (capsule.region == "pelvis" || capsule.region == "thigh") return kTrousers;
  if (capsule.region == "lower leg") return capsule.b == kToeL || capsule.b == kToeR ? kShoes : kTrousers;
  return kShirt;
}

Vector3d ColourOf(const ArmBody& part) {
  if (part.body.name == "camera") return kHousing;
  return part.link < 0 || part.body.shape.kind == ShapeKind::kSphere ? kJoint : kShell;
}

Vector3d BenchColour() {
  return Srgb(0.60, 0.62, 0.62);
}
Vector3d FixtureColour() {
  return Srgb(0.42, 0.44, 0.42);
}
Vector3d ZoneColour() {
  return Srgb(0.90, 0.55, 0.15);
}
Vector3d FloorColour() {
  return Srgb(0.62, 0.59, 0.55);
}
Vector3d LegColour() {
  return Srgb(0.30, 0.30, 0.32);
}

std::vector<HeadPiece> FacePieces(double head_height_m, double head_radius_m) {
  const double h = head_height_m, r = head_radius_m;
  std::vector<HeadPiece> out;
  // `rise`: of the ellipsoid's middle over the head's surface.
  const auto add = [&](double azimuth, double share, double rise, const Vector3d& half, const Vector3d& colour) {
    HeadPiece piece;
    const Vector3d on = OnHead(azimuth, share * h, h, r);
    piece.X_HdM.translation() = on + rise * Vector3d(std::sin(azimuth), std::cos(azimuth), 0);
    piece.X_HdM.linear() = Eigen::AngleAxisd(-azimuth, Vector3d::UnitZ()).toRotationMatrix() * half.asDiagonal();
    piece.colour = colour;
    out.push_back(piece);
  };
  const double s = h / 0.23;  // sizes below are those of a head of 230 mm
  for (const double side : {-1.0, 1.0}) {
    add(side * 0.36, 0.02, -0.003, s * Vector3d(0.014, 0.007, 0.0085), Srgb(0.94, 0.93, 0.90));
    add(side * 0.36, 0.02, 0.001, s * Vector3d(0.006, 0.005, 0.0062), Srgb(0.16, 0.12, 0.10));
    add(side * 0.36, 0.11, -0.001, s * Vector3d(0.017, 0.005, 0.0035), kHair);
    add(side * 1.62, 0.0, -0.004, s * Vector3d(0.012, 0.009, 0.024), 0.9 * kSkin);
  }
  add(0, -0.09, -0.006, s * Vector3d(0.012, 0.014, 0.021), 0.95 * kSkin);
  add(0, -0.27, -0.002, s * Vector3d(0.023, 0.006, 0.006), kLips);

  HeadPiece hair;
  hair.dome = true;
  const Eigen::Quaterniond back = Eigen::Quaterniond::FromTwoVectors(Vector3d::UnitZ(), Vector3d(0, -0.80, 0.60));
  hair.X_HdM.linear() = Vector3d(r + kHairRise_m, r + kHairRise_m, 0.5 * h + kHairRise_m).asDiagonal() * back.toRotationMatrix();
  hair.colour = kHair;
  out.push_back(hair);
  return out;
}

std::vector<DressingPiece> StageDressing(const Take& take) {
  std::vector<DressingPiece> out;
  AddLegs(take, &out);
  AddPost(take, &out);
  AddStool(take, &out);
  return out;
}

}  // namespace dryrig
