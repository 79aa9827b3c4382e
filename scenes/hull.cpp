#include "scenes/hull.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace dryrig {

namespace {

using Eigen::Vector3d;
using Points = std::vector<Vector3d>;

struct Before {
  bool operator()(const Vector3d& a, const Vector3d& b) const {
    if (a.x() != b.x()) return a.x() < b.x();
    if (a.y() != b.y()) return a.y() < b.y();
    return a.z() < b.z();
  }
};

void SortUnique(Points* points) {
  std::sort(points->begin(), points->end(), Before());
  points->erase(std::unique(points->begin(), points->end()), points->end());
}

int SupportIndex(const Points& cloud, const Vector3d& direction) {
  int best = 0;
  double most = -std::numeric_limits<double>::infinity();
  for (size_t i = 0; i < cloud.size(); ++i) {
    const double h = cloud[i].dot(direction);
    if (h > most) {
      most = h;
      best = int(i);
    }
  }
  return best;
}

/// Gives a flat, thin or single-point cloud half a millimetre to both sides of what it lacks.
bool Thicken(Points* cloud, const Eigen::Matrix3d& axes) {
  constexpr double kThin_m = 2e-4, kHalf_m = 5e-4;
  bool thickened = false;
  for (int k = 0; k < 3; ++k) {
    const Vector3d axis = axes.col(k);
    const double extent =
        (*cloud)[size_t(SupportIndex(*cloud, axis))].dot(axis) - (*cloud)[size_t(SupportIndex(*cloud, -axis))].dot(axis);
    if (extent > kThin_m) continue;
    thickened = true;
    const size_t n = cloud->size();
    for (size_t i = 0; i < n; ++i) {
      cloud->push_back((*cloud)[i] + kHalf_m * axis);
      (*cloud)[i] -= kHalf_m * axis;
    }
  }
  return thickened;
}

/// Faces of the hull of `corners`, and how far the cloud stands out of each.
struct Face {
  HalfSpace plane;
  Vector3d farthest;  // of the cloud
  double excess_m;
};
/// Points of the cloud deep inside the hull of corners can never stand out of a larger one: they leave it.
std::vector<Face> Faces(const Points& corners, Points* cloud) {
  const std::vector<HalfSpace> planes = HullPlanes(corners);
  const Eigen::Index n = Eigen::Index(planes.size());
  if (n == 0) return {};
  Eigen::ArrayXd x(n), y(n), z(n), offset(n), h(n),
      excess = Eigen::ArrayXd::Constant(n, -std::numeric_limits<double>::infinity());
  std::vector<Face> faces;
  for (Eigen::Index f = 0; f < n; ++f) {
    const HalfSpace& plane = planes[size_t(f)];
    x[f] = plane.normal.x();
    y[f] = plane.normal.y();
    z[f] = plane.normal.z();
    offset[f] = plane.offset_m;
    faces.push_back({plane, Vector3d::Zero(), 0});
  }
  constexpr double kDeep_m = 1e-7;
  size_t kept = 0;
  for (size_t i = 0; i < cloud->size(); ++i) {
    const Vector3d p = (*cloud)[i];
    h = x * p.x() + y * p.y() + z * p.z() - offset;
    if ((h - excess).maxCoeff() > 0) {
      for (Eigen::Index f = 0; f < n; ++f) {
        if (h[f] <= excess[f]) continue;
        excess[f] = h[f];
        faces[size_t(f)].farthest = p;
      }
    }
    if (h.maxCoeff() > -kDeep_m) (*cloud)[kept++] = p;
  }
  for (Eigen::Index f = 0; f < n; ++f) faces[size_t(f)].excess_m = excess[f];
  cloud->resize(kept);
  return faces;
}

double WorstExcess(const std::vector<Face>& faces) {
  double worst = 0;
  for (const Face& face : faces) worst = std::max(worst, face.excess_m);
  return worst;
}

/// Moves the corners of every face that the cloud stands out of until the face has passed the cloud.
Points PushOut(const Points& corners, const std::vector<Face>& faces, double tolerance_m) {
  Points pushed = corners;
  for (size_t i = 0; i < corners.size(); ++i) {
    Vector3d outward = Vector3d::Zero();
    const auto touches = [&](const Face& f) { return f.plane.offset_m - f.plane.normal.dot(corners[i]) < tolerance_m; };
    for (const Face& face : faces) {
      if (touches(face)) outward += face.plane.normal;
    }
    if (outward.norm() < 1e-9) continue;
    outward.normalize();
    double step = 0;
    for (const Face& face : faces) {
      if (touches(face)) step = std::max(step, face.excess_m / std::max(0.2, face.plane.normal.dot(outward)));
    }
    pushed[i] += step * outward;
  }
  return pushed;
}

/// Scales about `inner` until the cloud is held; what pushing left over, a rounding error or little more.
void ScaleOut(Points* corners, const std::vector<Face>& faces, const Vector3d& inner) {
  double scale = 1;
  for (const Face& face : faces) {
    const double depth = face.plane.offset_m - face.plane.normal.dot(inner);
    if (depth > 0) scale = std::max(scale, 1 + face.excess_m / depth);
  }
  for (Vector3d& p : *corners) p = inner + scale * (p - inner);
}

Vector3d MeanOf(const Points& points) {
  Vector3d mean = Vector3d::Zero();
  for (const Vector3d& p : points) mean += p;
  return mean / double(points.size());
}

}  // namespace

std::vector<HalfSpace> HullPlanes(const std::vector<Vector3d>& points) {
  const size_t n = points.size();
  double size = 0;
  for (const Vector3d& p : points) size = std::max(size, (p - points[0]).norm());
  const double flat = 1e-9 * size, sliver = 1e-9 * size * size;
  std::vector<HalfSpace> planes;
  const auto add = [&](const Vector3d& normal, double offset) {
    for (const HalfSpace& p : planes) {
      if (p.normal.dot(normal) > 1 - 1e-12 && std::abs(p.offset_m - offset) <= 2 * flat) return;
    }
    planes.push_back({normal, offset});
  };
  bool volume = false;
  for (size_t i = 0; i < n; ++i) {
    for (size_t j = i + 1; j < n; ++j) {
      for (size_t k = j + 1; k < n; ++k) {
        Vector3d normal = (points[j] - points[i]).cross(points[k] - points[i]);
        const double area = normal.norm();
        if (area <= sliver) continue;
        normal /= area;
        const double offset = normal.dot(points[i]);
        double above = 0, below = 0;
        for (size_t m = 0; m < n && (above <= flat || below >= -flat); ++m) {
          const double h = normal.dot(points[m]) - offset;
          above = std::max(above, h);
          below = std::min(below, h);
        }
        if (above <= flat) add(normal, offset);
        if (below >= -flat) add(-normal, -offset);
        volume = volume || above > flat || below < -flat;
      }
    }
  }
  if (!volume) planes.clear();
  return planes;
}

Vector3d EvenDirection(int i, int n) {
  const double z = 1 - (2 * i + 1.0) / n, r = std::sqrt(1 - z * z), turn = std::numbers::pi * (3 - std::sqrt(5.0)) * i;
  return {r * std::cos(turn), r * std::sin(turn), z};
}

ReducedHull ReduceToHull(std::vector<Vector3d> cloud, int most_points) {
  constexpr int kSeeds = 40, kBatch = 8;
  constexpr double kFine_m = 1e-5;
  SortUnique(&cloud);
  const Vector3d mean = MeanOf(cloud);
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Vector3d& p : cloud) spread += (p - mean) * (p - mean).transpose();
  const Eigen::Matrix3d axes = Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(spread).eigenvectors();
  ReducedHull out;
  out.cloud_points = cloud.size();
  out.thickened = Thicken(&cloud, axes);

  // Seeds: extreme points along even directions, in coordinates that make a long body round.
  Vector3d extent;
  for (int k = 0; k < 3; ++k) {
    const Vector3d axis = axes.col(k);
    extent[k] = (cloud[size_t(SupportIndex(cloud, axis))] - cloud[size_t(SupportIndex(cloud, -axis))]).dot(axis);
  }
  Points corners;
  for (int i = 0; i < kSeeds && i < most_points; ++i) {
    const Vector3d direction = axes * EvenDirection(i, kSeeds).cwiseQuotient(extent);
    corners.push_back(cloud[size_t(SupportIndex(cloud, direction))]);
  }
  SortUnique(&corners);
  std::vector<Face> faces = Faces(corners, &cloud);
  while (int(corners.size()) < most_points && WorstExcess(faces) > kFine_m) {
    std::stable_sort(faces.begin(), faces.end(), [](const Face& a, const Face& b) { return a.excess_m > b.excess_m; });
    const size_t before = corners.size();
    for (const Face& face : faces) {
      if (face.excess_m <= kFine_m || corners.size() == size_t(most_points) || corners.size() == before + kBatch) break;
      if (std::find(corners.begin(), corners.end(), face.farthest) == corners.end()) corners.push_back(face.farthest);
    }
    if (corners.size() == before) break;
    faces = Faces(corners, &cloud);
  }

  out.points = PushOut(corners, faces, 1e-8 * extent.maxCoeff());
  ScaleOut(&out.points, Faces(out.points, &cloud), MeanOf(out.points));
  for (size_t i = 0; i < corners.size(); ++i) out.excess_m = std::max(out.excess_m, (out.points[i] - corners[i]).norm());
  if (out.thickened) out.excess_m += 1e-3;
  return out;
}

}  // namespace dryrig
