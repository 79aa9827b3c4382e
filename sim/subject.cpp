#include "sim/subject.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "sim/distance.h"

namespace dryrig {

namespace {

constexpr double kBenchWide_m = 0.6, kBenchDeep_m = 0.4;  // working area in front of the torso
constexpr double kBenchMiddle_m = 0.3;                    // its middle from the front edge

int PropIndex(const Take& take, const std::string& name) {
  int i = 0;
  while (i + 1 < static_cast<int>(take.props.size()) && take.props[i].name != name) ++i;
  return i;
}

bool OnHead(const PersonCapsule& capsule) {
  return (capsule.a == kHeadLow || capsule.a == kHeadHigh) && (capsule.b == kHeadLow || capsule.b == kHeadHigh);
}

// Head capsule whose surface the point lies nearest to.
int HeadCapsuleAt(const Take& take, const BodyPose& pose, const Eigen::Vector3d& p_W) {
  int nearest = -1;
  double least = 0;
  for (int i = 0; i < static_cast<int>(take.person.capsules.size()); ++i) {
    const PersonCapsule& capsule = take.person.capsules[i];
    if (!OnHead(capsule)) continue;
    const SegmentPair pair = NearestOnSegments(pose.p_W[capsule.a], pose.p_W[capsule.b], p_W, p_W);
    const double off = std::abs(std::sqrt(pair.squared_m2) - capsule.radius_m);
    if (nearest < 0 || off < least) nearest = i, least = off;
  }
  return nearest;
}

void AddFace(const Take& take, const BodyPose& pose, std::vector<SubjectSample>* out) {
  const Eigen::Matrix3d R_WHd = pose.q_WHd.toRotationMatrix();
  for (const Eigen::Vector3d& p_HdF : take.person.face_points) {
    const Eigen::Vector3d p_W = pose.p_WHead() + R_WHd * p_HdF;
    out->push_back({p_W, HeadCapsuleAt(take, pose, p_W), false, -1});
  }
}

void AddHands(const Take& take, const BodyPose& pose, std::vector<SubjectSample>* out) {
  const bool none = !pose.hand_in_use[kLeft] && !pose.hand_in_use[kRight];
  for (const Side side : {kLeft, kRight}) {
    if (!none && !pose.hand_in_use[side]) continue;
    for (int i = 0; i < kHandLandmarks; ++i) {
      const int point = HandPoint(side, i);
      int body = -1;
      for (int c = 0; c < static_cast<int>(take.person.capsules.size()) && body < 0; ++c) {
        if (take.person.capsules[c].a == point || take.person.capsules[c].b == point) body = c;
      }
      out->push_back({pose.p_W[point], body, true, point});
    }
  }
}

// Points on the surface, in S. A box's lie at its upright edges, a little above its foot and below its top, so that what it
// stands on does not hide them.
void SurfacePoints(const Shape& shape, std::vector<Eigen::Vector3d>* out) {
  constexpr double kPulledIn = 0.9;
  const double r = shape.radius_m, h = shape.half_length_m;
  switch (shape.kind) {
    case ShapeKind::kBox:
      for (int corner = 0; corner < 8; ++corner) {
        out->push_back(shape.half_m.cwiseProduct(
            Eigen::Vector3d(corner & 1 ? 1 : -1, corner & 2 ? 1 : -1, corner & 4 ? kPulledIn : -kPulledIn)));
      }
      for (int axis = 0; axis < 3; ++axis) {
        out->push_back(shape.half_m[axis] * Eigen::Vector3d::Unit(axis));
        out->push_back(-shape.half_m[axis] * Eigen::Vector3d::Unit(axis));
      }
      return;
    case ShapeKind::kSphere:
      for (int corner = 0; corner < 8; ++corner) {
        out->push_back(r / std::sqrt(3.0) * Eigen::Vector3d(corner & 1 ? 1 : -1, corner & 2 ? 1 : -1, corner & 4 ? 1 : -1));
      }
      for (int axis = 0; axis < 3; ++axis) {
        out->push_back(r * Eigen::Vector3d::Unit(axis));
        out->push_back(-r * Eigen::Vector3d::Unit(axis));
      }
      return;
    case ShapeKind::kCapsule:
    case ShapeKind::kCylinder: {
      const double end = shape.kind == ShapeKind::kCapsule ? h + r : h;
      const double ring = shape.kind == ShapeKind::kCapsule ? h : kPulledIn * h;
      for (const double z : {-ring, 0.0, ring}) {
        for (const Eigen::Vector2d& side :
             {Eigen::Vector2d(r, 0), Eigen::Vector2d(0, r), Eigen::Vector2d(-r, 0), Eigen::Vector2d(0, -r)}) {
          out->emplace_back(side.x(), side.y(), z);
        }
      }
      out->emplace_back(0, 0, end);
      out->emplace_back(0, 0, -end);
      return;
    }
    case ShapeKind::kHull: {
      constexpr size_t kMost = 14;
      const size_t n = std::min(shape.points.size(), kMost);
      for (size_t i = 0; i < n; ++i) out->push_back(shape.points[i * shape.points.size() / n]);
      return;
    }
  }
}

void AddProp(const Take& take, const TakeFrame& frame, int prop, std::vector<SubjectSample>* out) {
  std::vector<Eigen::Vector3d> points;
  points.reserve(14);
  SurfacePoints(take.props[prop].shape, &points);
  const int body = static_cast<int>(take.person.capsules.size()) + prop;
  for (const Eigen::Vector3d& p_PS : points) out->push_back({frame.X_WP[prop] * p_PS, body, false, -1});
}

void AddBench(const Take& take, std::vector<SubjectSample>* out) {
  const Eigen::Vector3d& half = take.bench_top.shape.half_m;
  const double wide = std::min(kBenchWide_m, 2 * half.x()), deep = std::min(kBenchDeep_m, 2 * half.y());
  const double middle = std::clamp(kBenchMiddle_m, 0.5 * deep, 2 * half.y() - 0.5 * deep) - half.y();
  const int body = static_cast<int>(take.person.capsules.size() + take.props.size());
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 5; ++column) {
      const Eigen::Vector3d p_S(wide * (column / 4.0 - 0.5), middle + deep * (row / 2.0 - 0.5), half.z());
      out->push_back({take.bench_top.X_LS * p_S, body, false, -1});
    }
  }
}

}  // namespace

void SubjectSamples(const Take& take, const TakeFrame& frame, const Shot& shot, std::vector<SubjectSample>* out) {
  out->clear();
  for (const Subject& subject : shot.subjects) {
    switch (subject.kind) {
      case SubjectKind::kFace:
        AddFace(take, frame.person, out);
        break;
      case SubjectKind::kHands:
        AddHands(take, frame.person, out);
        break;
      case SubjectKind::kProp:
        AddProp(take, frame, PropIndex(take, subject.prop), out);
        break;
      case SubjectKind::kBench:
        AddBench(take, out);
        break;
      case SubjectKind::kTip: {
        // Of no body: the tool itself may hide its tip.
        const size_t prop = static_cast<size_t>(PropIndex(take, subject.prop));
        out->push_back({frame.X_WP[prop] * take.props[prop].tip_m, -1, false, -1});
        break;
      }
    }
  }
}

double NominalExtent_m(const Take& take, const Subject& subject) {
  switch (subject.kind) {
    case SubjectKind::kFace:
      return take.person.head_height_m;
    case SubjectKind::kHands:
      return take.person.hand_length_m;
    case SubjectKind::kProp:
      return 2 * take.props[PropIndex(take, subject.prop)].shape.BoundingRadius();
    case SubjectKind::kTip:
      return kTipExtent_m;
    case SubjectKind::kBench:
      break;
  }
  return kBenchWide_m;
}

SubjectGeometry MeasureSubject(const Take& take, const Shot& shot, const std::vector<SubjectSample>& samples) {
  double nominal_m = 0;
  for (const Subject& subject : shot.subjects) nominal_m = std::max(nominal_m, NominalExtent_m(take, subject));
  std::vector<Eigen::Vector3d> points;
  points.reserve(samples.size());
  for (const SubjectSample& sample : samples) points.push_back(sample.p_W);
  return MeasurePoints(points, nominal_m);
}

SubjectGeometry MeasurePoints(const std::vector<Eigen::Vector3d>& p_W, double nominal_m) {
  SubjectGeometry subject;
  subject.extent_m = nominal_m;
  if (p_W.empty()) return subject;
  Eigen::AlignedBox3d box;
  for (const Eigen::Vector3d& p : p_W) box.extend(p);
  subject.centre_W = box.center();
  double squared_m2 = 0;
  for (const Eigen::Vector3d& p : p_W) squared_m2 = std::max(squared_m2, (p - subject.centre_W).squaredNorm());
  subject.extent_m = std::max(nominal_m, 2 * std::sqrt(squared_m2));
  return subject;
}

WantedView ViewFor(ShotAngle angle, const Eigen::Quaterniond& q_WT) {
  const Eigen::Vector3d normal_W = q_WT * Eigen::Vector3d::UnitY();
  Eigen::Vector3d ahead_W(normal_W.x(), normal_W.y(), 0);
  // A chest that faces straight down or up has no heading: then the spine has it, ahead when bent over, behind when lying back.
  if (ahead_W.norm() < 1e-6) ahead_W = (normal_W.z() < 0 ? 1 : -1) * (q_WT * Eigen::Vector3d::UnitZ());
  ahead_W.z() = 0;
  ahead_W.normalize();
  const double elevation = WantedElevation_rad(angle);
  const Eigen::Vector3d z_W = Eigen::Vector3d::UnitZ();
  // The image's up at elevation e is z without its part along the view; the formula goes through 90° without a seam.
  return {std::cos(elevation) * ahead_W + std::sin(elevation) * z_W, -std::sin(elevation) * ahead_W + std::cos(elevation) * z_W};
}

}  // namespace dryrig
