#include "sim/recorded_person.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "scenes/track_repair.h"

namespace dryrig {

using Eigen::Vector3d;

namespace {

constexpr double kWalk_hz = 0.3;      // slower is walking about, faster is gesture
constexpr double kFloorShare = 0.05;  // of frames in which a foot is taken to be off its lowest
constexpr size_t kSamples = 3000;     // of a course, to tell its middle by
constexpr double kSeatedThigh = 0.6;  // a thigh hangs less than this share of its length: seated

double Median(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// Mean of a bone's lengths left and right; 0 where it is not recorded.
double LengthOf(const Recording& recording, const std::string& bone) {
  double sum = 0;
  int count = 0;
  for (const RecordedSegment& segment : recording.facts.segments) {
    if (segment.name != bone && !segment.name.ends_with(" " + bone)) continue;
    sum += segment.length_m;
    ++count;
  }
  return count == 0 ? 0 : sum / count;
}

bool HasPair(const Recording& r, TrackPoint left) {
  return r.Has(left) && r.Has(AtSide(left, 1));
}

template <class Value>
double Typical(const Recording& r, Value value) {
  std::vector<double> values;
  const size_t stride = std::max<size_t>(1, r.frames / 400);
  for (size_t f = 0; f < r.frames; f += stride) values.push_back(value(f));
  return Median(std::move(values));
}

bool SitsDown(const Recording& r, const PersonSpec& like) {
  if (!HasPair(r, TrackPoint::kHipL) || !HasPair(r, TrackPoint::kKneeL)) return like.seated;
  const double hang = Typical(r, [&](size_t f) {
    double down = 0, length = 0;
    for (int side = 0; side < 2; ++side) {
      const Vector3d thigh = r.At(f, AtSide(TrackPoint::kHipL, side)) - r.At(f, AtSide(TrackPoint::kKneeL, side));
      down += thigh.z();
      length += thigh.norm();
    }
    return length > 0 ? down / length : 1;
  });
  return hang < kSeatedThigh;
}

double YawOf(const Vector3d& ahead) {
  return std::atan2(-ahead.x(), ahead.y());
}

/// How high the lower part of the lower foot is over where it touches the floor.
double FootHeight(const Recording& r, size_t frame, double stature) {
  double height = 1e9;
  for (int side = 0; side < 2; ++side) {
    const TrackPoint toe = AtSide(TrackPoint::kToeL, side), ankle = AtSide(TrackPoint::kAnkleL, side);
    if (r.Has(toe)) height = std::min(height, r.At(frame, toe).z() - 0.019 * stature);      // radius of the foot's capsule
    if (r.Has(ankle)) height = std::min(height, r.At(frame, ankle).z() - 0.039 * stature);  // Winter 2009
  }
  return height;
}

/// The chest's normal on the level.
Vector3d Ahead(const Recording& r, size_t frame) {
  Vector3d normal = TrunkAxes(r, frame).col(1);
  normal.z() = 0;
  return normal.stableNormalized();
}

/// Where the hips walk and the chest turns, less `middle` (x, y, yaw); empty where the rate is too low to tell.
std::vector<Vector3d> SlowCourse(const Recording& r, size_t first, size_t last, const Vector3d& middle) {
  std::vector<Vector3d> course;
  double yaw = middle.z();
  for (size_t f = first; f <= last; ++f) {
    yaw += std::remainder(YawOf(Ahead(r, f)) - yaw, 2 * std::numbers::pi);
    const Vector3d hips = r.HipsAt(f);
    course.emplace_back(hips.x(), hips.y(), yaw);
  }
  if (!LowPass(r.rate_hz, kWalk_hz, &course)) return {};
  for (Vector3d& at : course) at -= middle;
  return course;
}

}  // namespace

PersonSpec MeasuredPerson(const Recording& r, const PersonSpec& like) {
  PersonSpec spec;
  spec.name = like.name;
  spec.title = like.title;
  spec.text = like.text;
  spec.left_handed = like.left_handed;
  spec.pace = like.pace;
  const double h = r.stature_m;
  spec.stature_m = h;
  spec.mass_kg = like.mass_kg * std::pow(h / like.stature_m, 2);  // the same body-mass index
  spec.seated = SitsDown(r, like);
  spec.seat_height_m = like.seated ? like.seat_height_m : 0.26 * h;
  spec.upper_arm_m = LengthOf(r, "upper arm");
  spec.forearm_m = LengthOf(r, "forearm");
  const double thigh = LengthOf(r, "thigh"), shank = LengthOf(r, "shank");
  spec = WithRatios(spec);
  if (shank > 0) spec.knee_height_m = shank + 0.039 * h;
  if (thigh > 0 && shank > 0) spec.hip_height_m = spec.knee_height_m + thigh;
  const double trunk = Typical(r, [&](size_t f) { return (r.ShouldersAt(f) - r.HipsAt(f)).norm(); });
  spec.shoulder_height_m = spec.hip_height_m + trunk;
  spec.eye_height_m = spec.shoulder_height_m + (0.936 - 0.818) * h;
  spec.shoulder_half_breadth_m = 0.5 * LengthOf(r, "shoulder to shoulder");
  if (const double hips = LengthOf(r, "hip to hip"); hips > 0) spec.hip_half_breadth_m = 0.5 * hips;
  return spec;
}

RecordedStand::RecordedStand(const RecordedLesson& lesson, size_t first, size_t last, const PersonBuild& build) : first_(first) {
  const Recording& r = lesson.motion;
  std::vector<double> x, y, z, feet;
  Vector3d ahead = Vector3d::Zero(), ahead_first = Vector3d::Zero();
  const size_t stride = std::max<size_t>(1, (last - first) / kSamples);
  for (size_t f = first; f <= last; f += stride) {
    const Vector3d hips = r.HipsAt(f);
    x.push_back(hips.x()), y.push_back(hips.y()), z.push_back(hips.z());
    feet.push_back(FootHeight(r, f, build.stature));
    const Vector3d normal = Ahead(r, f);
    if (f == first) ahead_first = normal;
    ahead += normal;
  }
  middle_R_ = {Median(x), Median(y), 0};
  for (size_t i = 0; i < x.size(); ++i) strays_m_ = std::max(strays_m_, std::hypot(x[i] - middle_R_.x(), y[i] - middle_R_.y()));
  // Whoever turns right round faces nowhere on average: then as at the start.
  constexpr double kLeastMean = 0.2;
  if (ahead.norm() < kLeastMean * static_cast<double>(x.size())) ahead = ahead_first;
  const double facing = YawOf(ahead);
  if (lesson.place.on_the_spot) walk_ = SlowCourse(r, first, last, {middle_R_.x(), middle_R_.y(), facing});

  const bool has_feet = HasPair(r, TrackPoint::kAnkleL) || HasPair(r, TrackPoint::kToeL);
  if (has_feet) {
    const auto low = feet.begin() + static_cast<std::ptrdiff_t>(kFloorShare * static_cast<double>(feet.size()));
    std::nth_element(feet.begin(), low, feet.end());
    middle_R_.z() = *low;
  } else {
    middle_R_.z() = Median(z) - build.p_WPelvis.z();
  }
  at_W_ = {0, build.p_WPelvis.y(), 0};
  if (lesson.place.at_m) at_W_.head<2>() = *lesson.place.at_m;
  yaw_ = lesson.place.yaw_rad - facing;
  X_WR_ = lesson.place.as_measured ? Eigen::Isometry3d::Identity() : Placed(middle_R_, yaw_);
}

Eigen::Isometry3d RecordedStand::Placed(const Vector3d& from_R, double yaw) const {
  Eigen::Isometry3d X = Eigen::Isometry3d::Identity();
  X.linear() = Eigen::AngleAxisd(yaw, Vector3d::UnitZ()).toRotationMatrix();
  X.translation() = at_W_ - X.linear() * from_R;
  return X;
}

Eigen::Isometry3d RecordedStand::X_WR(size_t frame) const {
  if (walk_.empty()) return X_WR_;
  const Vector3d& walk = walk_[frame - first_];
  return Placed(middle_R_ + Vector3d(walk.x(), walk.y(), 0), yaw_ - walk.z());
}

}  // namespace dryrig
