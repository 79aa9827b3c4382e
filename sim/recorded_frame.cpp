#include "sim/recorded_frame.h"

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Quaterniond;
using Eigen::Vector3d;

namespace {

// Heights over the shoulders, as shares of stature, between which a file's neck and crown are believed; published means .044 and
// .182 (see skeleton.cpp).
constexpr double kNeckLeast = -0.03, kNeckMost = 0.10, kCrownLeast = 0.13, kCrownMost = 0.25;
// Waist and chest on the way from the hips to the base of the neck: .26 and .66 of the trunk, which ends .044 of stature below.
constexpr double kLumbarShare = 0.2255, kThoraxShare = 0.5725;

template <class Value>
double Typical(const Recording& r, Value value) {
  std::vector<double> values;
  const size_t stride = std::max<size_t>(1, r.frames / 200);
  for (size_t f = 0; f < r.frames; f += stride) values.push_back(value(f));
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// Does the point stand so far over the shoulders?
bool StandsWithin(const Recording& r, TrackPoint point, double least, double most) {
  if (!r.Has(point)) return false;
  const double height = Typical(r, [&](size_t f) {
    const Vector3d trunk = r.ShouldersAt(f) - r.HipsAt(f), over = r.At(f, point) - r.ShouldersAt(f);
    return std::copysign(over.norm(), over.dot(trunk));
  });
  return height >= least * r.stature_m && height <= most * r.stature_m;
}

/// The point a share of the way along a line through points.
Vector3d Along(std::span<const Vector3d> line, double share) {
  double total = 0;
  for (size_t i = 1; i < line.size(); ++i) total += (line[i] - line[i - 1]).norm();
  double left = share * total;
  for (size_t i = 1; i < line.size(); ++i) {
    const double length = (line[i] - line[i - 1]).norm();
    if (left <= length && length > 0) return line[i - 1] + left / length * (line[i] - line[i - 1]);
    left -= length;
  }
  return line.back();
}

}  // namespace

RecordedFrameFiller::RecordedFrameFiller(const Recording& recording, const PersonBuild& build) : r_(recording), build_(build) {
  neck_recorded_ = StandsWithin(r_, TrackPoint::kNeck, kNeckLeast, kNeckMost);
  crown_recorded_ = StandsWithin(r_, TrackPoint::kHeadTop, kCrownLeast, kCrownMost);
  const auto mark = [&](int point, bool recorded) { synthetic_[static_cast<size_t>(point)] = !recorded; };
  mark(kNeck, neck_recorded_);
  mark(kLumbar, r_.Has(TrackPoint::kSpine));
  mark(kThorax, r_.Has(TrackPoint::kChest));
  for (const Side side : {kLeft, kRight}) {
    mark(OfSide(kHipL, side), r_.Has(AtSide(TrackPoint::kHipL, side)));
    mark(OfSide(kKneeL, side), r_.Has(AtSide(TrackPoint::kKneeL, side)));
    mark(OfSide(kAnkleL, side), r_.Has(AtSide(TrackPoint::kAnkleL, side)));
    mark(OfSide(kToeL, side), r_.Has(AtSide(TrackPoint::kToeL, side)));
    for (int i = 1; i < kHandLandmarks; ++i) mark(HandPoint(side, i), r_.HasFingers(side));
  }
}

/// Axes with z as given and x as near as may be to `x`; where one of them is no direction, those of the frame before.
Matrix3d& RecordedFrameFiller::Settle(Matrix3d* last, const Vector3d& x, const Vector3d& z) const {
  const double z_length = z.norm();
  if (z_length < 1e-9) return *last;
  const Vector3d up = z / z_length;
  const Vector3d across = x - x.dot(up) * up;
  if (across.norm() < 1e-3 * x.norm() || x.norm() < 1e-9) return *last;
  last->col(0) = across.normalized();
  last->col(2) = up;
  last->col(1) = up.cross(last->col(0));
  return *last;
}

void RecordedFrameFiller::Fill(size_t frame, const Eigen::Isometry3d& X_WR, WholeFrame* out) {
  frame_ = frame;
  X_WR_ = X_WR;
  FillTrunk(out);
  FillHead(out);
  FillArms(out);
  FillLegs(out);
}

void RecordedFrameFiller::FillTrunk(WholeFrame* out) {
  const Vector3d hips = X_WR_ * r_.HipsAt(frame_), shoulders = X_WR_ * r_.ShouldersAt(frame_);
  out->joints[kPelvis] = hips;
  for (const Side side : {kLeft, kRight}) {
    out->joints[static_cast<size_t>(OfSide(kShoulderL, side))] = At(AtSide(TrackPoint::kShoulderL, side));
  }
  const Vector3d trunk = (shoulders - hips).stableNormalized();
  out->joints[kNeck] = neck_recorded_ ? At(TrackPoint::kNeck) : Vector3d(shoulders + 0.044 * build_.stature * trunk);
  std::array<Vector3d, 4> spine_points{hips};
  size_t count = 1;
  for (const TrackPoint point : {TrackPoint::kSpine, TrackPoint::kChest}) {
    if (r_.Has(point)) spine_points[count++] = At(point);
  }
  spine_points[count++] = out->joints[kNeck];
  const std::span spine(spine_points.data(), count);
  out->joints[kLumbar] = Along(spine, kLumbarShare);
  out->joints[kThorax] = Along(spine, kThoraxShare);
  out->q_WT =
      Quaterniond(Settle(&R_WT_, out->joints[kShoulderR] - out->joints[kShoulderL], out->joints[kNeck] - out->joints[kLumbar]));
}

void RecordedFrameFiller::FillHead(WholeFrame* out) {
  const Vector3d& neck = out->joints[kNeck];
  const bool ears = HasPair(TrackPoint::kEarL), eyes = HasPair(TrackPoint::kEyeL), nose = r_.Has(TrackPoint::kNose);
  const auto middle_of = [&](TrackPoint left) -> Vector3d { return 0.5 * (At(left) + At(AtSide(left, 1))); };
  if (!r_.q_RHd.empty()) {
    R_WHd_ = X_WR_.linear() * r_.q_RHd[frame_].toRotationMatrix();
  } else if (ears && (nose || eyes)) {
    // The nose's tip lies a little under the ears' line, the eyes over it; neither more than a few degrees.
    const Vector3d x = At(TrackPoint::kEarR) - At(TrackPoint::kEarL);
    const Vector3d ahead = (eyes ? middle_of(TrackPoint::kEyeL) : At(TrackPoint::kNose)) - middle_of(TrackPoint::kEarL);
    Settle(&R_WHd_, x, x.cross(ahead));
  } else {
    const TrackPoint top = r_.Has(TrackPoint::kHeadTop) ? TrackPoint::kHeadTop : TrackPoint::kHead;
    Settle(&R_WHd_, R_WT_.col(0), r_.Has(top) ? Vector3d(At(top) - neck) : Vector3d(R_WT_.col(2)));
  }
  out->q_WHd = Quaterniond(R_WHd_);
  const Vector3d up = R_WHd_.col(2), ahead = R_WHd_.col(1);
  Vector3d middle;
  if (ears) {
    middle = middle_of(TrackPoint::kEarL);
  } else if (crown_recorded_) {
    middle = At(TrackPoint::kHeadTop) - 0.5 * build_.head_height * up;
  } else if (r_.Has(TrackPoint::kHead)) {
    // A joint is where the skull turns, a tracked head is its middle.
    middle = At(TrackPoint::kHead) + (r_.q_RHd.empty() ? 0 : build_.head_rise) * up;
  } else if (nose) {
    middle = At(TrackPoint::kNose) - build_.head_radius * ahead;
  } else {
    middle = neck + build_.neck_length * R_WT_.col(2) + build_.head_rise * up;
  }
  const double half = 0.5 * build_.head_height - build_.head_radius;
  out->joints[kHeadLow] = middle - half * up;
  out->joints[kHeadHigh] = middle + half * up;
}

void RecordedFrameFiller::FillArms(WholeFrame* out) {
  for (const Side side : {kLeft, kRight}) {
    const double right = side == kRight ? 1 : -1;
    const Vector3d elbow = At(AtSide(TrackPoint::kElbowL, side)), wrist = At(AtSide(TrackPoint::kWristL, side));
    out->joints[static_cast<size_t>(OfSide(kElbowL, side))] = elbow;
    out->joints[static_cast<size_t>(OfSide(kWristL, side))] = wrist;
    Matrix3d& R_WH = R_WH_[side];
    if (r_.HasFingers(side)) {
      auto& landmarks = out->landmarks[side];
      for (int finger = 0; finger < 5; ++finger) {
        for (int i = 1; i <= 4; ++i) {
          const TrackPoint point = FingerAt(side, 4 * finger + i);
          Vector3d& p = landmarks[static_cast<size_t>(4 * finger + i)];
          // A tip that no file names goes on a little shorter than the bone before it.
          const Vector3d* last = &p - 1;
          p = r_.Has(point) ? At(point) : Vector3d(last[0] + 0.8 * (last[0] - last[-1]));
        }
      }
      const Vector3d x = right * (landmarks[17] - landmarks[5]), y = 0.5 * (landmarks[5] + landmarks[17]) - wrist;
      Settle(&R_WH, x, x.cross(y));
    } else if (!r_.q_RH[side].empty()) {
      R_WH = X_WR_.linear() * r_.q_RH[side][frame_].toRotationMatrix();
    } else {
      // In line with the forearm, its back up and a little outwards.
      const Vector3d y = r_.Has(AtSide(TrackPoint::kFingersL, side)) ? Vector3d(At(AtSide(TrackPoint::kFingersL, side)) - wrist)
                                                                     : Vector3d(wrist - elbow);
      const Vector3d back = Vector3d::UnitZ() + 0.6 * right * R_WT_.col(0);
      const Vector3d x = y.cross(back);
      Settle(&R_WH, x, x.cross(y));
    }
    out->q_WH[side] = Quaterniond(R_WH);
  }
}

void RecordedFrameFiller::FillLegs(WholeFrame* out) {
  const Vector3d hips = out->joints[kPelvis];
  Vector3d across = R_WT_.col(0);
  if (HasPair(TrackPoint::kHipL)) across = At(TrackPoint::kHipR) - At(TrackPoint::kHipL);
  across.z() = 0;
  across = across.norm() > 1e-9 ? across.normalized() : Vector3d(Vector3d::UnitX());
  const Vector3d ahead = Vector3d::UnitZ().cross(across);
  for (const Side side : {kLeft, kRight}) {
    const auto recorded = [&](TrackPoint left) { return r_.Has(AtSide(left, side)); };
    const auto at = [&](TrackPoint left) { return At(AtSide(left, side)); };
    auto& hip = out->joints[static_cast<size_t>(OfSide(kHipL, side))];
    auto& knee = out->joints[static_cast<size_t>(OfSide(kKneeL, side))];
    auto& ankle = out->joints[static_cast<size_t>(OfSide(kAnkleL, side))];
    auto& toe = out->joints[static_cast<size_t>(OfSide(kToeL, side))];
    hip = recorded(TrackPoint::kHipL) ? at(TrackPoint::kHipL)
                                      : Vector3d(hips + (side == kRight ? 1 : -1) * build_.hip_half * across);
    // Feet that nobody saw stand where they would at rest, under hips that move.
    const Vector3d rest = build_.p_WAnkle[side] - build_.p_WPelvis;
    ankle = recorded(TrackPoint::kAnkleL)
                ? at(TrackPoint::kAnkleL)
                : Vector3d(hips.x() + rest.x() * across.x() + rest.y() * ahead.x(),
                           hips.y() + rest.x() * across.y() + rest.y() * ahead.y(), build_.p_WAnkle[side].z());
    const Vector3d pole = build_.seated ? Vector3d(ahead + Vector3d::UnitZ()) : ahead;
    if (recorded(TrackPoint::kKneeL)) {
      knee = at(TrackPoint::kKneeL);
    } else {
      const TwoBones leg = SolveTwoBones(hip, ankle, build_.thigh, build_.shank, pole, 0.9985);
      knee = leg.middle;
      if (!recorded(TrackPoint::kAnkleL)) ankle = leg.end;
    }
    toe = recorded(TrackPoint::kToeL) ? at(TrackPoint::kToeL)
                                      : Vector3d(ankle + 0.72 * build_.foot * ahead - Vector3d(0, 0, 0.02 * build_.stature));
  }
}

}  // namespace dryrig
