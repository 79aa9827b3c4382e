#include <fmt/format.h>

#include <Eigen/SVD>
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <functional>

#include "scenes/bvh.h"

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Quaterniond;
using Eigen::Vector3d;

namespace {

std::vector<NamedJoint> NamesOf(const std::vector<BvhJoint>& joints) {
  std::vector<NamedJoint> out;
  for (const BvhJoint& joint : joints) out.push_back({joint.name, joint.parent, joint.end});
  return out;
}

std::string NameForPeople(const std::vector<BvhJoint>& joints, size_t joint) {
  if (!joints[joint].end) return joints[joint].name;
  return "end of " + joints[static_cast<size_t>(joints[joint].parent)].name;
}

/// The joints with every rotation 0, their positions as in a frame: some writers keep bones' lengths there alone.
JointPoses RestPose(const std::vector<BvhJoint>& joints, const std::vector<bool>& replaces, std::vector<double> frame) {
  size_t next = 0;
  for (const BvhJoint& joint : joints) {
    for (const BvhChannel channel : joint.channels) {
      if (channel >= 3) frame[next] = 0;
      ++next;
    }
  }
  JointPoses rest;
  PoseJoints(joints, replaces, frame, &rest);
  return rest;
}

/// The axes of a person, x to the right, y ahead, z up, as columns in the file's frame. False: the pose does not stand.
bool PersonAxes(const JointPoses& pose, const JointMap& map, const Vector3d& up_F, Matrix3d* R_FPerson) {
  const auto at = [&](TrackPoint point) { return pose.p[static_cast<size_t>(map[static_cast<size_t>(point)])]; };
  Vector3d right = Vector3d::Zero();
  for (const TrackPoint left : {TrackPoint::kShoulderL, TrackPoint::kHipL}) {
    if (map[static_cast<size_t>(left)] < 0 || map[static_cast<size_t>(AtSide(left, 1))] < 0) continue;
    right += at(AtSide(left, 1)) - at(left);
  }
  const bool pelvis = map[static_cast<size_t>(TrackPoint::kPelvis)] >= 0;
  const Vector3d hips = pelvis ? at(TrackPoint::kPelvis) : Vector3d(0.5 * (at(TrackPoint::kHipL) + at(TrackPoint::kHipR)));
  const Vector3d trunk = at(TrackPoint::kShoulderL) + at(TrackPoint::kShoulderR) - 2 * hips;
  // A body at rest stands: its trunk along the vertical, its shoulders across it.
  constexpr double kMostTilt = 0.5;
  if (trunk.norm() < 1e-9 || right.norm() < 1e-9) return false;
  if (trunk.normalized().dot(up_F) < 1 - kMostTilt || std::abs(right.normalized().dot(up_F)) > kMostTilt) return false;
  const Vector3d x = (right - right.dot(up_F) * up_F).normalized();
  *R_FPerson << x, up_F.cross(x), up_F;
  return true;
}

/// A rotation near the middle of many: the mean matrix made a rotation again.
Matrix3d Middle(const Matrix3d& sum) {
  const Eigen::JacobiSVD<Matrix3d> svd(sum, Eigen::ComputeFullU | Eigen::ComputeFullV);
  Matrix3d U = svd.matrixU();
  if ((U * svd.matrixV().transpose()).determinant() < 0) U.col(2) *= -1;
  return U * svd.matrixV().transpose();
}

/// How a hand lies in its joint's axes: y along it, z out of its back, x to the right when the palm is down. The roll comes from
/// the thumb, else from where the back is taken to be for a hand along y.
Matrix3d HandInJoint(const JointPoses& rest, const JointMap& map, int side,
                     const std::function<Vector3d(const Vector3d& y)>& back) {
  const auto has = [&](TrackPoint point) { return map[static_cast<size_t>(point)] >= 0; };
  const auto at = [&](TrackPoint point) { return rest.p[static_cast<size_t>(map[static_cast<size_t>(point)])]; };
  const Vector3d wrist = at(AtSide(TrackPoint::kWristL, side));
  Vector3d along = Vector3d::Zero();
  for (const TrackPoint point : {FingerAt(side, 9), AtSide(TrackPoint::kFingersL, side)}) {
    if (has(point) && along.norm() < 1e-9) along = at(point) - wrist;
  }
  if (along.norm() < 1e-9) along = wrist - at(AtSide(TrackPoint::kElbowL, side));
  const Vector3d y = along.norm() < 1e-9 ? Vector3d::UnitY() : along.normalized();
  Vector3d x = Vector3d::Zero();
  const TrackPoint thumb = has(FingerAt(side, 2)) ? FingerAt(side, 2) : AtSide(TrackPoint::kThumbL, side);
  if (has(thumb)) {
    const Vector3d to_thumb = at(thumb) - wrist;
    x = (side == 1 ? -1 : 1) * (to_thumb - to_thumb.dot(y) * y);
    if (x.norm() < 0.1 * to_thumb.norm()) x.setZero();
  }
  if (x.norm() < 1e-9) x = y.cross(back(y));
  if (x.norm() < 1e-9) x = y.unitOrthogonal();
  x.normalize();
  Matrix3d R;
  R << x, y, x.cross(y);
  return R;
}

/// A first frame that lies far from the second, as no later one does from its next: a pose to fit a figure to, not a motion.
bool FirstIsReference(const Recording& recording) {
  if (recording.frames < 4) return false;
  const auto farthest = [&](size_t frame) {
    double far = 0;
    for (int c = 0; c < recording.columns; ++c) {
      const auto i = frame * static_cast<size_t>(recording.columns) + static_cast<size_t>(c);
      far = std::max(far, (recording.p_R[i + static_cast<size_t>(recording.columns)] - recording.p_R[i]).norm());
    }
    return far;
  };
  double later = 0;
  for (size_t frame = 1; frame + 1 < std::min<size_t>(recording.frames, 30); ++frame) later = std::max(later, farthest(frame));
  constexpr double kMostSpeed = 12;  // m/s: no point of a body at a bench gets near it
  return farthest(0) > 4 * later && farthest(0) * recording.rate_hz > kMostSpeed;
}

void DropFirst(Recording* r) {
  r->p_R.erase(r->p_R.begin(), r->p_R.begin() + r->columns);
  for (auto* q : {&r->q_RHd, &r->q_RH[0], &r->q_RH[1]}) {
    if (!q->empty()) q->erase(q->begin());
  }
  --r->frames;
  r->start_s += 1 / r->rate_hz;
}

}  // namespace

Recording ParseBvh(std::string_view text, const std::string& file_name, const JointMapping& mapping,
                   const RecordingHints& hints) {
  BvhReader reader(text, file_name);
  const std::vector<BvhJoint>& joints = reader.joints();
  const std::vector<NamedJoint> names = NamesOf(joints);
  const JointMap map = GuessJoints(names, ApplyMapping(mapping, names));

  Recording out;
  out.name = std::filesystem::path(file_name).stem().string();
  out.format = "BVH";
  out.rate_hz = 1 / reader.frame_time_s();
  out.frames = reader.frames();
  out.column.fill(-1);
  std::vector<size_t> source;
  std::vector<bool> used(joints.size(), false);
  for (int point = 0; point < kNumTrackPoints; ++point) {
    const int joint = map[static_cast<size_t>(point)];
    if (joint < 0) continue;
    out.column[static_cast<size_t>(point)] = out.columns++;
    source.push_back(static_cast<size_t>(joint));
    used[static_cast<size_t>(joint)] = true;
    out.facts.mapped.emplace_back(NameForPeople(joints, static_cast<size_t>(joint)), static_cast<TrackPoint>(point));
  }
  for (size_t j = 0; j < joints.size(); ++j) {
    if (!used[j] && !joints[j].end) out.facts.unmapped.push_back(joints[j].name);
  }

  const auto joint_of = [&](TrackPoint point) { return map[static_cast<size_t>(point)]; };
  // Points alone do not tell how a head or a hand is turned: their joints do.
  const std::array<int, 3> turning{joint_of(TrackPoint::kHead), joint_of(TrackPoint::kWristL), joint_of(TrackPoint::kWristR)};
  std::array<std::vector<Quaterniond>*, 3> turns{&out.q_RHd, &out.q_RH[0], &out.q_RH[1]};
  std::vector<double> values;
  std::vector<bool> replaces;
  JointPoses pose;
  while (reader.NextFrame(&values)) {
    if (replaces.empty()) {
      replaces = PositionsReplaceOffsets(joints, values);
      if (std::find(replaces.begin(), replaces.end(), true) != replaces.end()) {
        out.facts.notes.push_back("joints below the root have positions of their own, taken in place of their offsets");
      }
    }
    PoseJoints(joints, replaces, values, &pose);
    for (const size_t joint : source) out.p_R.push_back(pose.p[joint]);
    for (size_t i = 0; i < turning.size(); ++i) {
      if (turning[i] >= 0) turns[i]->emplace_back(pose.R[static_cast<size_t>(turning[i])]);
    }
  }
  if (reader.lines_left() > 0) {
    out.facts.notes.push_back(
        fmt::format("{} more lines than the {} that `Frames:` counts: left out", reader.lines_left(), out.frames));
  }

  const FileFrame frame = FindFrame(out, hints, file_name);
  const Vector3d up_F = frame.R_RF.row(2);
  const JointPoses rest = RestPose(joints, replaces, values);
  Matrix3d R_FPerson;
  const bool stands = PersonAxes(rest, map, up_F, &R_FPerson);
  if (!stands) {
    out.facts.notes.push_back(
        "with all rotations 0 the figure does not stand: the face is taken to look ahead of the trunk and "
        "palms to face down, on average");
  }
  for (size_t i = 0; i < turning.size(); ++i) {
    if (turning[i] < 0) continue;
    std::vector<Quaterniond>& q_FJ = *turns[i];
    Matrix3d R_JBody = R_FPerson;  // at rest the joint's axes are the file's
    if (i == 0 && !stands) {
      Matrix3d sum = Matrix3d::Zero();
      for (size_t f = 0; f < out.frames; ++f) sum += q_FJ[f].toRotationMatrix().transpose() * TrunkAxes(out, f);
      R_JBody = Middle(sum);
    } else if (i > 0) {
      const int side = static_cast<int>(i) - 1;
      R_JBody = HandInJoint(rest, map, side, [&](const Vector3d& y) -> Vector3d {
        // Arms stretched sideways at rest show their palms to the floor, by habit; how they get elsewhere turns no palm.
        if (stands) return Quaterniond::FromTwoVectors((side == 1 ? 1 : -1) * R_FPerson.col(0), y) * R_FPerson.col(2);
        Vector3d up_J = Vector3d::Zero();
        for (const Quaterniond& q : q_FJ) up_J += q.conjugate() * up_F;
        return up_J;
      });
    }
    for (Quaterniond& q : q_FJ) q = Quaterniond(q.toRotationMatrix() * R_JBody);
  }
  SettleRecording(frame, &out);
  if (FirstIsReference(out)) {
    DropFirst(&out);
    out.facts.notes.push_back("the first frame is a pose to fit figures to, far from the second: left out");
  }
  NoteJumps(&out);
  return out;
}

}  // namespace dryrig
