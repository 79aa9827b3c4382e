#include "scenes/recording.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "scenes/error.h"

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Vector3d;

namespace {

struct Unit {
  const char* word;
  double metres;
};
// The last is no unit of length but a habit: motion files made from ASF/AMC with their length 0.45 left in, 1/0.45 inch.
constexpr std::array kUnits{Unit{"mm", 0.001}, Unit{"cm", 0.01}, Unit{"m", 1}, Unit{"inch", 0.0254},
                            Unit{"1/0.45 inch, as ASF files scale", 0.0254 / 0.45}};
constexpr double kLeastStature_m = 1.2, kMostStature_m = 2.2, kUsualStature_m = 1.7;

struct Bone {
  const char* name;  // of a pair without its side
  TrackPoint a, b;
  bool pair;
};
constexpr std::array kBones{
    Bone{"thigh", TrackPoint::kHipL, TrackPoint::kKneeL, true},
    Bone{"shank", TrackPoint::kKneeL, TrackPoint::kAnkleL, true},
    Bone{"foot", TrackPoint::kAnkleL, TrackPoint::kToeL, true},
    Bone{"upper arm", TrackPoint::kShoulderL, TrackPoint::kElbowL, true},
    Bone{"forearm", TrackPoint::kElbowL, TrackPoint::kWristL, true},
    Bone{"head", TrackPoint::kHead, TrackPoint::kHeadTop, false},
};

double Median(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

size_t Stride(const Recording& r) {
  return std::max<size_t>(1, r.frames / 400);
}

/// Median over the frames of what `length` gives.
template <class Length>
double Typical(const Recording& r, Length length) {
  std::vector<double> values;
  for (size_t f = 0; f < r.frames; f += Stride(r)) values.push_back(length(f));
  return Median(std::move(values));
}

bool HasPair(const Recording& r, TrackPoint left) {
  return r.Has(left) && r.Has(AtSide(left, 1));
}

/// In the unit that positions stand in. Shares of stature: Winter 2009, fig. 4.1 (thigh and shank .491, hip to shoulder .288,
/// upper arm and forearm .332).
double StatureFrom(const Recording& r) {
  const auto bone = [&](size_t f, TrackPoint a, TrackPoint b) { return (r.At(f, a) - r.At(f, b)).norm(); };
  double length = 0, share = 0;
  if (HasPair(r, TrackPoint::kHipL) && HasPair(r, TrackPoint::kKneeL) && HasPair(r, TrackPoint::kAnkleL)) {
    length += 0.5 * Typical(r, [&](size_t f) {
                double sum = 0;
                for (int side = 0; side < 2; ++side) {
                  sum += bone(f, AtSide(TrackPoint::kHipL, side), AtSide(TrackPoint::kKneeL, side)) +
                         bone(f, AtSide(TrackPoint::kKneeL, side), AtSide(TrackPoint::kAnkleL, side));
                }
                return sum;
              });
    share += 0.491;
  }
  length += Typical(r, [&](size_t f) { return (r.ShouldersAt(f) - r.HipsAt(f)).norm(); });
  share += 0.288;
  if (share < 0.5) {  // no legs: arms help
    length += 0.5 * Typical(r, [&](size_t f) {
                double sum = 0;
                for (int side = 0; side < 2; ++side) {
                  sum += bone(f, AtSide(TrackPoint::kShoulderL, side), AtSide(TrackPoint::kElbowL, side)) +
                         bone(f, AtSide(TrackPoint::kElbowL, side), AtSide(TrackPoint::kWristL, side));
                }
                return sum;
              });
    share += 0.332;
  }
  return length / share;
}

void RequirePoints(const Recording& r, const std::string& file_name) {
  std::vector<std::string> missing;
  for (const TrackPoint left : {TrackPoint::kShoulderL, TrackPoint::kElbowL, TrackPoint::kWristL}) {
    for (int side = 0; side < 2; ++side) {
      if (!r.Has(AtSide(left, side))) missing.push_back(ToString(AtSide(left, side)));
    }
  }
  if (!r.Has(TrackPoint::kPelvis) && !HasPair(r, TrackPoint::kHipL)) missing.emplace_back("pelvis");
  if (!r.Has(TrackPoint::kHead) && !r.Has(TrackPoint::kNeck) && !r.Has(TrackPoint::kNose)) missing.emplace_back("head");
  if (missing.empty()) return;
  std::vector<std::string> left = r.facts.unmapped;
  constexpr size_t kTold = 12;
  const bool more = left.size() > kTold;
  if (more) left.resize(kTold);
  for (std::string& name : left) name.resize(std::min<size_t>(name.size(), 24));
  throw InputError(
      {file_name},
      fmt::format("nothing in it is known as {}; not understood: {}{}; name them in a mapping file", fmt::join(missing, ", "),
                  left.empty() ? "nothing else is there" : fmt::format("{}", fmt::join(left, ", ")), more ? ", ..." : ""));
}

Vector3d AxisOf(const std::string& word) {
  const size_t at = word.size() == 2 ? 1 : 0;
  Vector3d axis = Vector3d::Zero();
  axis[word.at(at) - 'x'] = word[0] == '-' ? -1 : 1;
  return axis;
}

/// Turns the axis `up` to z by quarter turns alone.
Matrix3d TurnUp(const Vector3d& up) {
  if (up.z() > 0) return Matrix3d::Identity();
  Matrix3d R;
  if (up.z() < 0) {
    R << 1, 0, 0, 0, -1, 0, 0, 0, -1;
  } else {
    const Vector3d z = up;
    const Vector3d x = up.y() != 0 ? Vector3d::UnitX() : Vector3d::UnitY();
    R.row(0) = x;
    R.row(1) = z.cross(x);
    R.row(2) = z;
  }
  return R;
}

/// The way the body is long on average, in the file's axes.
Vector3d BodyUp(const Recording& r) {
  Vector3d sum = Vector3d::Zero();
  for (size_t f = 0; f < r.frames; f += Stride(r)) {
    sum += (r.ShouldersAt(f) - r.HipsAt(f)).stableNormalized();
    if (HasPair(r, TrackPoint::kAnkleL)) {
      sum += (r.HipsAt(f) - 0.5 * (r.At(f, TrackPoint::kAnkleL) + r.At(f, TrackPoint::kAnkleR))).stableNormalized();
    }
  }
  return sum.stableNormalized();
}

void MeasureBones(Recording* r) {
  const auto measure = [&](const std::string& name, TrackPoint a, TrackPoint b) {
    if (!r->Has(a) || !r->Has(b)) return;
    std::vector<double> lengths;
    lengths.reserve(r->frames);
    for (size_t f = 0; f < r->frames; ++f) lengths.push_back((r->At(f, a) - r->At(f, b)).norm());
    const auto [least, most] = std::minmax_element(lengths.begin(), lengths.end());
    const double range = *most - *least, median = Median(lengths);
    if (median > 0) r->facts.segments.push_back({name, a, b, median, range / median});
  };
  for (const Bone& bone : kBones) {
    if (!bone.pair) measure(bone.name, bone.a, bone.b);
    for (int side = 0; bone.pair && side < 2; ++side) {
      measure(fmt::format("{} {}", side == 0 ? "left" : "right", bone.name), AtSide(bone.a, side), AtSide(bone.b, side));
    }
  }
  measure("shoulder to shoulder", TrackPoint::kShoulderL, TrackPoint::kShoulderR);
  measure("hip to hip", TrackPoint::kHipL, TrackPoint::kHipR);
}

}  // namespace

Vector3d Recording::HipsAt(size_t frame) const {
  if (HasPair(*this, TrackPoint::kHipL)) return 0.5 * (At(frame, TrackPoint::kHipL) + At(frame, TrackPoint::kHipR));
  return At(frame, TrackPoint::kPelvis);
}

Vector3d Recording::ShouldersAt(size_t frame) const {
  return 0.5 * (At(frame, TrackPoint::kShoulderL) + At(frame, TrackPoint::kShoulderR));
}

bool Recording::HasFingers(int side) const {
  for (int finger = 0; finger < 5; ++finger) {
    for (int i = 1; i <= 3; ++i) {
      if (!Has(FingerAt(side, 4 * finger + i))) return false;
    }
  }
  return true;
}

Matrix3d TrunkAxes(const Recording& r, size_t frame) {
  const Vector3d z = (r.ShouldersAt(frame) - r.HipsAt(frame)).stableNormalized();
  Vector3d x = r.At(frame, TrackPoint::kShoulderR) - r.At(frame, TrackPoint::kShoulderL);
  if (HasPair(r, TrackPoint::kHipL)) x += 1e-3 * (r.At(frame, TrackPoint::kHipR) - r.At(frame, TrackPoint::kHipL));
  x = (x - x.dot(z) * z).stableNormalized();
  Matrix3d R;
  R << x, z.cross(x), z;
  return R;
}

FileFrame FindFrame(const Recording& r, const RecordingHints& hints, const std::string& file_name) {
  RequirePoints(r, file_name);
  FileFrame frame;
  const Vector3d body = BodyUp(r);
  if (!body.allFinite() || body.norm() < 0.5)
    throw InputError({file_name}, "all its points lie at one place; is it a recording of a person?");
  frame.up = hints.up;
  if (frame.up.empty()) {
    int axis = 0;
    body.cwiseAbs().maxCoeff(&axis);
    frame.up = fmt::format("{}{}", body[axis] < 0 ? "-" : "", static_cast<char>('x' + axis));
  }
  frame.R_RF = TurnUp(AxisOf(frame.up));

  const double stature = StatureFrom(r);
  if (!(stature > 1e-6)) throw InputError({file_name}, "its bones have no length; is it a recording of a person?");
  if (hints.stature_m > 0) {
    frame.metres_per_unit = hints.stature_m / stature;
    frame.unit = fmt::format("scaled to a stature of {} m", hints.stature_m);
    return frame;
  }
  for (const Unit& unit : kUnits) {
    const double stature_m = stature * unit.metres;
    const bool fits = stature_m >= kLeastStature_m && stature_m <= kMostStature_m;
    if (hints.unit.empty() ? !fits : hints.unit != unit.word) continue;
    if (!fits) {
      throw InputError({file_name},
                       fmt::format("in {} the person would be {:.2f} m tall, give or take; that is not from {} to {} m: "
                                   "correct the unit or leave it out",
                                   unit.word, stature_m, kLeastStature_m, kMostStature_m));
    }
    frame.metres_per_unit = unit.metres;
    frame.unit = unit.word;
    return frame;
  }
  frame.metres_per_unit = kUsualStature_m / stature;
  frame.unit = fmt::format("no usual unit makes a person of it: scaled to a stature of {} m", kUsualStature_m);
  return frame;
}

void SettleRecording(const FileFrame& frame, Recording* r) {
  const Matrix3d scaled = frame.metres_per_unit * frame.R_RF;
  for (Vector3d& p : r->p_R) p = scaled * p;
  for (auto* turns : {&r->q_RHd, &r->q_RH[0], &r->q_RH[1]}) {
    for (Eigen::Quaterniond& q : *turns) q = Eigen::Quaterniond(frame.R_RF * q.toRotationMatrix());
  }
  r->stature_m = StatureFrom(*r);
  r->facts.unit = frame.unit;
  r->facts.metres_per_unit = frame.metres_per_unit;
  r->facts.up = frame.up;
  MeasureBones(r);
}

void NoteJumps(Recording* r) {
  constexpr double kMostSpeed = 12;  // m/s; a boxer's fist makes 9 (common practice)
  const auto columns = static_cast<size_t>(r->columns);
  double fastest = kMostSpeed, at_s = 0;
  size_t which = columns;
  for (size_t f = 1; f < r->frames; ++f) {
    for (size_t c = 0; c < columns; ++c) {
      const double speed = (r->p_R[f * columns + c] - r->p_R[(f - 1) * columns + c]).norm() * r->rate_hz;
      if (speed <= fastest) continue;
      fastest = speed;
      which = c;
      at_s = r->start_s + static_cast<double>(f) / r->rate_hz;
    }
  }
  if (which == columns) return;
  for (int i = 0; i < kNumTrackPoints; ++i) {
    if (r->column[static_cast<size_t>(i)] != static_cast<int>(which)) continue;
    r->facts.notes.push_back(
        fmt::format("{} moves at {:.0f} m/s at {:.2f} s, faster than people do; `smooth_hz: 6` in a lesson low-passes",
                    ToString(static_cast<TrackPoint>(i)), fastest, at_s));
  }
}

}  // namespace dryrig
