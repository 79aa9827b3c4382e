#include "metrics/take_gap.h"

#include <fmt/format.h>

#include <Eigen/SVD>
#include <algorithm>
#include <cmath>

#include "scenes/error.h"
#include "sim/kinematics.h"
#include "sim/take_parts.h"

namespace dryrig {

namespace {

constexpr double kLeast_s = 2;

/// Frames [first, first + n) with their ticks; beats, intents and sentences moved along.
Take Cut(const Take& take, size_t first, size_t n) {
  Take out = take;
  const auto per_frame = static_cast<size_t>(std::lround(take.id.physics_hz / take.id.frame_hz));
  const double from_s = static_cast<double>(first) / take.id.frame_hz, length_s = static_cast<double>(n - 1) / take.id.frame_hz;
  out.duration_s = length_s;
  out.frames.assign(take.frames.begin() + static_cast<std::ptrdiff_t>(first),
                    take.frames.begin() + static_cast<std::ptrdiff_t>(first + n));
  const auto tick = static_cast<std::ptrdiff_t>(first * per_frame), ticks = static_cast<std::ptrdiff_t>((n - 1) * per_frame + 1);
  out.ticks.assign(take.ticks.begin() + tick, take.ticks.begin() + tick + ticks);
  const auto cut = [&](auto* spans) {
    std::erase_if(*spans, [&](const auto& span) { return span.end_s <= from_s || span.start_s >= from_s + length_s; });
    for (auto& span : *spans) {
      span.start_s = std::max(0.0, span.start_s - from_s);
      span.end_s = std::min(length_s, span.end_s - from_s);
    }
  };
  cut(&out.intents), cut(&out.sentences), cut(&out.beats), cut(&out.governed);
  for (TimedBeat& beat : out.beats) beat.ready_s = std::clamp(beat.ready_s - from_s, beat.start_s, beat.end_s);
  out.startles.clear();
  return out;
}

BodyPose PoseBetween(const Take& take, size_t tick) {
  const auto per_frame = static_cast<size_t>(std::lround(take.id.physics_hz / take.id.frame_hz));
  const size_t a = tick / per_frame, b = std::min(a + 1, take.frames.size() - 1);
  BodyPose out = take.frames[a].person;
  const double s = static_cast<double>(tick % per_frame) / static_cast<double>(per_frame);
  for (size_t k = 0; k < out.p_W.size(); ++k) out.p_W[k] = (1 - s) * out.p_W[k] + s * take.frames[b].person.p_W[k];
  return out;
}

/// Poses and distances anew, from joints and persons as they are.
void Settle(Take* take, const ArmModel& arm) {
  const auto per_frame = static_cast<size_t>(std::lround(take->id.physics_hz / take->id.frame_hz));
  std::vector<Eigen::Isometry3d> X_WL, before;
  BodyPose pose_before;
  for (size_t i = 0; i < take->ticks.size(); ++i) {
    TakeTick& tick = take->ticks[i];
    LinkPoses(arm, tick.q, &X_WL);
    for (Eigen::Isometry3d& X : X_WL) X = take->X_WB * X;
    const Eigen::Isometry3d X_WC = X_WL.back() * arm.X_EC;
    tick.p_WC = X_WC.translation(), tick.q_WC = Eigen::Quaterniond(X_WC.linear());
    const BodyPose pose = PoseBetween(*take, i);
    tick.clearance = NearestToPerson(take->arm_bodies, X_WL, take->person, pose);
    tick.approach_mps = i == 0 ? 0
                               : ApproachSpeed(tick.clearance, take->arm_bodies[static_cast<size_t>(tick.clearance.arm_body)],
                                               take->person.capsules[static_cast<size_t>(tick.clearance.capsule)], X_WL, before,
                                               pose, pose_before, 1 / take->id.physics_hz);
    before = X_WL, pose_before = pose;
    if (i % per_frame != 0) continue;
    TakeFrame& frame = take->frames[i / per_frame];
    frame.X_WC = X_WC, frame.X_WL = X_WL;
    frame.manipulability = Manipulability(CameraJacobian(arm, tick.q));
  }
}

void TakePersonFrom(const Take& other, Take* take) {
  take->person = other.person;
  take->intents = other.intents, take->sentences = other.sentences, take->beats = other.beats;
  for (size_t f = 0; f < take->frames.size(); ++f) {
    take->frames[f].person = other.frames[f].person;
    take->frames[f].X_WP = other.frames[f].X_WP;
    take->frames[f].carrier = other.frames[f].carrier;
  }
  take->props = other.props;
}

/// Moves the camera by the mean of what the track says less the joints: the track's own noise would be taken for shake.
void TakeCameraFrom(const CameraTrack& track, double start_s, Take* take) {
  Eigen::Vector3d p = Eigen::Vector3d::Zero();
  Eigen::Matrix3d R = Eigen::Matrix3d::Zero();
  for (size_t f = 0; f < take->frames.size(); ++f) {
    const Eigen::Isometry3d off =
        take->frames[f].X_WC.inverse() * TrackedAt(track, start_s + static_cast<double>(f) / take->id.frame_hz);
    p += off.translation(), R += off.linear();
  }
  Eigen::Isometry3d X_CC = Eigen::Isometry3d::Identity();
  X_CC.translation() = p / static_cast<double>(take->frames.size());
  const Eigen::JacobiSVD<Eigen::Matrix3d> svd(R, Eigen::ComputeFullU | Eigen::ComputeFullV);
  X_CC.linear() = svd.matrixU() * svd.matrixV().transpose();
  for (TakeTick& tick : take->ticks) {
    tick.p_WC += tick.q_WC * X_CC.translation();
    tick.q_WC = Eigen::Quaterniond(tick.q_WC.toRotationMatrix() * X_CC.linear());
  }
  for (TakeFrame& frame : take->frames) frame.X_WC = frame.X_WC * X_CC;
}

std::optional<double> Less(const Score& a, const Score& b) {
  if (!a.value || !b.value) return std::nullopt;
  return *a.value - *b.value;
}

double Rms(double sum, size_t n) {
  return n == 0 ? 0 : std::sqrt(sum / static_cast<double>(n));
}

/// `b`: the recording with the camera where it really was, as far as that is known.
void Measure(const Take& b, TakeGap* gap) {
  const Take& a = gap->rehearsed;
  double person = 0, way = 0, turn = 0;
  gap->person_apart_m = gap->camera_apart_m = {a.id.frame_hz, {}};
  for (size_t f = 0; f < a.frames.size(); ++f) {
    double now = 0;
    for (const int point : {kWristL, kWristR, kHeadLow}) {
      const auto p = static_cast<size_t>(point);
      now += (a.frames[f].person.p_W[p] - b.frames[f].person.p_W[p]).squaredNorm();
    }
    person += now;
    const double apart = (a.frames[f].X_WC.translation() - b.frames[f].X_WC.translation()).norm();
    const double angle = Eigen::AngleAxisd(a.frames[f].X_WC.linear().transpose() * b.frames[f].X_WC.linear()).angle();
    way += apart * apart, turn += angle * angle;
    gap->person_apart_m.values.push_back(std::sqrt(now / 3));
    gap->camera_apart_m.values.push_back(apart);
  }
  gap->person_m = Rms(person, 3 * a.frames.size());
  gap->camera_m = Rms(way, a.frames.size()), gap->camera_rad = Rms(turn, a.frames.size());
  double told = 0, lag_a = 0, lag_b = 0;
  for (size_t i = 0; i < a.ticks.size(); ++i) {
    told += (a.ticks[i].q_wish - b.ticks[i].q_wish).squaredNorm();
    lag_a += (a.ticks[i].q - a.ticks[i].q_wish).squaredNorm();
    lag_b += (b.ticks[i].q - b.ticks[i].q_wish).squaredNorm();
  }
  const size_t n = a.ticks.size() * a.joints.size();
  gap->commanded_rad = Rms(told, n), gap->lag_rehearsed_rad = Rms(lag_a, n), gap->lag_recorded_rad = Rms(lag_b, n);
}

}  // namespace

TakeGap CompareTakes(const Take& rehearsed, const ArmModel& arm, const Take& recorded, double lesson_at_s,
                     const CameraTrack* track, double start_s) {
  if (rehearsed.id.physics_hz != recorded.id.physics_hz || rehearsed.id.frame_hz != recorded.id.frame_hz) {
    throw InputError(fmt::format("the takes have {} and {} Hz physics, {} and {} frames a second; both must be alike",
                                 rehearsed.id.physics_hz, recorded.id.physics_hz, rehearsed.id.frame_hz, recorded.id.frame_hz));
  }
  if (rehearsed.joints.size() != recorded.joints.size())
    throw InputError(fmt::format("arm {} has {} joints, {} has {}", rehearsed.id.arm, rehearsed.joints.size(), recorded.id.arm,
                                 recorded.joints.size()));
  const auto lead = static_cast<int64_t>(std::lround(lesson_at_s * rehearsed.id.frame_hz));
  const auto first_a = static_cast<size_t>(std::max<int64_t>(0, lead)),
             first_b = static_cast<size_t>(std::max<int64_t>(0, -lead));
  const int64_t n = std::min(static_cast<int64_t>(rehearsed.frames.size()) - static_cast<int64_t>(first_a),
                             static_cast<int64_t>(recorded.frames.size()) - static_cast<int64_t>(first_b));
  if (static_cast<double>(n) < kLeast_s * rehearsed.id.frame_hz)
    throw InputError(fmt::format("the takes have {:.2f} s in common, {} s are needed",
                                 std::max<double>(0, static_cast<double>(n)) / rehearsed.id.frame_hz, kLeast_s));
  TakeGap out;
  out.rehearsed = Cut(rehearsed, first_a, static_cast<size_t>(n));
  out.recorded = Cut(recorded, first_b, static_cast<size_t>(n));
  out.start_s = static_cast<double>(first_a) / rehearsed.id.frame_hz;
  out.length_s = out.rehearsed.duration_s;

  const Scorecard first = ScoreTake(out.rehearsed), last = ScoreTake(out.recorded);
  Take hybrid = out.rehearsed;
  TakePersonFrom(out.recorded, &hybrid);
  Settle(&hybrid, arm);
  const Scorecard person = ScoreTake(hybrid);
  for (size_t i = 0; i < hybrid.ticks.size(); ++i) {
    TakeTick& tick = hybrid.ticks[i];
    const TakeTick& real = out.recorded.ticks[i];
    tick.q = real.q_wish + (tick.q - tick.q_wish);
    tick.q_wish = real.q_wish;
    tick.qd = real.qd;
  }
  Settle(&hybrid, arm);
  const Scorecard commanded = ScoreTake(hybrid);
  std::optional<Scorecard> tracked;
  Take outside = out.recorded;
  if (track != nullptr) {
    TakeCameraFrom(*track, start_s + static_cast<double>(first_b) / recorded.id.frame_hz, &outside);
    double way = 0, turn = 0;
    for (size_t f = 0; f < outside.frames.size(); ++f) {
      const Eigen::Isometry3d off = out.recorded.frames[f].X_WC.inverse() * outside.frames[f].X_WC;
      const double angle = Eigen::AngleAxisd(off.linear()).angle();
      way += off.translation().squaredNorm(), turn += angle * angle;
    }
    out.calibration_m = Rms(way, outside.frames.size()), out.calibration_rad = Rms(turn, outside.frames.size());
    tracked = ScoreTake(outside);
  }
  Measure(outside, &out);
  for (size_t m = 0; m < first.scores.size(); ++m) {
    GapRow row;
    row.metric = m;
    row.rehearsed = first.scores[m].value, row.recorded = last.scores[m].value;
    if (!row.rehearsed || !row.recorded) continue;
    row.person = Less(person.scores[m], first.scores[m]);
    row.commanded = Less(commanded.scores[m], person.scores[m]);
    row.followed = Less(last.scores[m], commanded.scores[m]);
    if (tracked) row.calibrated = Less(tracked->scores[m], last.scores[m]);
    out.rows.push_back(row);
  }
  return out;
}

}  // namespace dryrig
