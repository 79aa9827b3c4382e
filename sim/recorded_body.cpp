#include "sim/recorded_body.h"

#include <algorithm>
#include <cmath>

#include "sim/recorded_frame.h"

namespace dryrig {

using Eigen::Quaterniond;
using Eigen::Vector3d;

namespace {

constexpr size_t kTorsoChannel = 3 * kHandL, kHeadChannel = kTorsoChannel + 4, kHandChannel = kHeadChannel + 4;
constexpr size_t kFingerChannels = kHandChannel + 8, kOneHand = 3 * (kHandLandmarks - 1);
constexpr size_t kMostChannels = kFingerChannels + 2 * kOneHand;

void Put(const Vector3d& p, double* at) {
  std::copy_n(p.data(), 3, at);
}

/// Of two quaternions for one turn the one nearer to the row before: a spline must not cross from one to the other.
void PutTurn(const Quaterniond& q, const double* before, double* at) {
  Eigen::Vector4d v = q.coeffs();
  if (before != nullptr && v.dot(Eigen::Map<const Eigen::Vector4d>(before)) < 0) v = -v;
  std::copy_n(v.data(), 4, at);
}

Quaterniond TurnAt(const double* at) {
  return Quaterniond(Eigen::Map<const Eigen::Vector4d>(at)).normalized();
}

}  // namespace

RecordedBody::RecordedBody(const RecordedLesson& lesson, size_t first, size_t last, const PersonBuild& build,
                           const RecordedStand& stand)
    : hand_m_(build.hand) {
  const Recording& recording = lesson.motion;
  size_t channels = kFingerChannels;
  for (const Side side : {kLeft, kRight}) {
    if (!recording.HasFingers(side)) continue;
    finger_channel_[side] = static_cast<int>(channels);
    channels += kOneHand;
  }
  RecordedFrameFiller filler(recording, build);
  synthetic_ = filler.synthetic();
  std::vector<double> rows((last - first + 1) * channels);
  double* row = rows.data();
  const double* before = nullptr;
  WholeFrame whole;
  for (size_t f = first; f <= last; ++f, before = row, row += channels) {
    filler.Fill(f, stand.X_WR(f), &whole);
    for (size_t i = 0; i < static_cast<size_t>(kHandL); ++i) Put(whole.joints[i], row + 3 * i);
    const auto turn = [&](const Quaterniond& q, size_t channel) {
      PutTurn(q, before == nullptr ? nullptr : before + channel, row + channel);
    };
    turn(whole.q_WT, kTorsoChannel);
    turn(whole.q_WHd, kHeadChannel);
    for (const Side side : {kLeft, kRight}) {
      turn(whole.q_WH[side], kHandChannel + 4 * static_cast<size_t>(side));
      for (int i = 1; finger_channel_[side] >= 0 && i < kHandLandmarks; ++i) {
        Put(whole.landmarks[side][static_cast<size_t>(i)], row + finger_channel_[side] + 3 * (i - 1));
      }
    }
  }
  track_ = SplineTrack(std::move(rows), channels);
}

void RecordedBody::PoseAt(double u, const std::array<FingerPose, 2>& fingers, BodyPose* pose) const {
  std::array<double, kMostChannels> v;
  track_.At(u, v.data());
  const auto point = [&](size_t channel) { return Vector3d(v[channel], v[channel + 1], v[channel + 2]); };
  for (size_t i = 0; i < static_cast<size_t>(kHandL); ++i) pose->p_W[i] = point(3 * i);
  pose->q_WT = TurnAt(&v[kTorsoChannel]);
  pose->q_WHd = TurnAt(&v[kHeadChannel]);
  pose->gaze_W = pose->q_WHd * Vector3d::UnitY();
  for (const Side side : {kLeft, kRight}) {
    const Vector3d wrist = pose->p_W[static_cast<size_t>(OfSide(kWristL, side))];
    const auto set = [&](int landmark, const Vector3d& p) { pose->p_W[static_cast<size_t>(HandPoint(side, landmark))] = p; };
    set(0, wrist);
    if (finger_channel_[side] >= 0) {
      const auto from = static_cast<size_t>(finger_channel_[side]);
      for (int i = 1; i < kHandLandmarks; ++i) set(i, point(from + 3 * (static_cast<size_t>(i) - 1)));
      continue;
    }
    const Eigen::Matrix3d R_WH = TurnAt(&v[kHandChannel + 4 * static_cast<size_t>(side)]).toRotationMatrix();
    const auto landmarks = HandLandmarks(side, fingers[side], hand_m_);
    for (int i = 1; i < kHandLandmarks; ++i) set(i, wrist + R_WH * landmarks[static_cast<size_t>(i)]);
  }
}

Eigen::Isometry3d RecordedBody::X_WH(double u, Side side) const {
  std::array<double, kMostChannels> v;
  track_.At(u, v.data());
  Eigen::Isometry3d X = Eigen::Isometry3d::Identity();
  const size_t wrist = 3 * static_cast<size_t>(OfSide(kWristL, side));
  X.translation() = Vector3d(v[wrist], v[wrist + 1], v[wrist + 2]);
  X.linear() = TurnAt(&v[kHandChannel + 4 * static_cast<size_t>(side)]).toRotationMatrix();
  return X;
}

}  // namespace dryrig
