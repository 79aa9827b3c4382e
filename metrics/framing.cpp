#include "metrics/framing.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "metrics/summary.h"

namespace dryrig {

namespace {

constexpr double kDegrees = 180 / std::numbers::pi;
constexpr double kOverheadCone_deg = 20;  // an azimuth has no meaning so near the vertical

// Exact for small and for flat angles alike, unlike an arc cosine.
double AngleBetween_deg(const Eigen::Vector3d& a, const Eigen::Vector3d& b) {
  return std::atan2(a.cross(b).norm(), a.dot(b)) * kDegrees;
}

// How much the horizon counts on this line of sight: not at all within the cone about the vertical, fully from twice that on.
double HorizonShare(const Eigen::Vector3d& line) {
  const double off_deg = AngleBetween_deg(line, Eigen::Vector3d(0, 0, line.z() < 0 ? -1 : 1));
  return std::clamp(off_deg / kOverheadCone_deg - 1, 0.0, 1.0);
}

// Angle about `line` (unit) from the wanted image-up to the actual one; 0 where either points along the line.
double UpError_deg(const WantedView& wanted, bool overhead, const Eigen::Vector3d& line, const Eigen::Vector3d& up) {
  const Eigen::Vector3d across = up - up.dot(line) * line;
  if (across.norm() < 1e-9) return 0;
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  const double level = overhead ? 0 : HorizonShare(line);
  if (level > 0) right += level * (Eigen::Vector3d::UnitZ() - line.z() * line).normalized();
  const double reach = 1 + wanted.to_camera_W.dot(line);
  if (level < 1 && reach < 1e-12) return 0;  // from straight behind: no least rotation, and the direction is 180° wrong already
  if (level < 1) right += (1 - level) * (wanted.up_W - (wanted.up_W.dot(line) / reach) * (wanted.to_camera_W + line));
  return right.norm() < 1e-9 ? 0 : AngleBetween_deg(right, across);
}

double Facing_deg(const Eigen::Vector3d& to_camera, const Eigen::Quaterniond& q_WT) {
  if (AngleBetween_deg(to_camera, Eigen::Vector3d::UnitZ()) <= kOverheadCone_deg) return kGap;
  const Eigen::Vector3d ahead = ViewFor(ShotAngle::kEyeLevel, q_WT).to_camera_W;
  const double dot = to_camera.head<2>().dot(ahead.head<2>());
  const double cross = to_camera.x() * ahead.y() - to_camera.y() * ahead.x();
  return std::abs(std::atan2(cross, dot)) * kDegrees;
}

}  // namespace

FramingParts MeasureFraming(const CameraBody& camera, const Eigen::Isometry3d& X_WC, const LensState& lens,
                            const Eigen::Quaterniond& q_WT, const Shot& shot, const SubjectGeometry& subject,
                            const Tolerances& tolerances) {
  FramingParts out;
  out.composition_heights = out.size_octaves = out.direction_deg = out.up_deg = out.angle_deg = out.facing_deg = kGap;
  out.error = tolerances.cap;

  const Eigen::Vector3d p_CS = X_WC.inverse() * subject.centre_W;
  out.depth_m = p_CS.z();
  if (const auto centre = Project(camera, lens, p_CS)) {
    out.in_front = true;
    out.centre = *centre;
    out.off_frame = !InFrame(camera, *centre);
    out.apparent_heights = FrameHeights(camera, lens, subject.extent_m, p_CS.z());
    const FramePoint wanted = CompositionPoint(shot.composition, camera.aspect());
    out.composition_heights = (*centre - ImagePoint(wanted.x, wanted.y)).norm();
    out.size_octaves = std::log2(out.apparent_heights / WantedFrameHeights(shot));
  }

  const Eigen::Vector3d to_camera = X_WC.translation() - subject.centre_W;
  if (to_camera.norm() > 1e-9) {
    const Eigen::Vector3d line = to_camera.normalized();
    const WantedView wanted = ViewFor(shot.angle, q_WT);
    out.direction_deg = AngleBetween_deg(line, wanted.to_camera_W);
    out.up_deg = UpError_deg(wanted, shot.angle == ShotAngle::kOverhead, line, -X_WC.linear().col(1));
    out.angle_deg = std::hypot(out.direction_deg, out.up_deg);
    out.facing_deg = Facing_deg(line, q_WT);
  }

  if (!out.off_frame && !std::isnan(out.angle_deg)) {
    double squares = 0;
    for (const double part : {out.composition_heights / tolerances.composition_heights,
                              std::abs(out.size_octaves) / tolerances.size_octaves, out.angle_deg / tolerances.angle_deg}) {
      squares += std::pow(std::min(part, tolerances.cap), 2);
    }
    out.error = std::sqrt(squares / 3);
  }
  return out;
}

}  // namespace dryrig
