#include "scenes/track_repair.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "scenes/error.h"

namespace dryrig {

using Eigen::Vector3d;

namespace {

/// Slope of the curve at a sample, from its neighbours.
Vector3d SlopeAt(const std::vector<SeenPoint>& seen, size_t i) {
  const size_t a = i == 0 ? 0 : i - 1, b = std::min(i + 1, seen.size() - 1);
  return a == b ? Vector3d(Vector3d::Zero()) : Vector3d((seen[b].p - seen[a].p) / (seen[b].t_s - seen[a].t_s));
}

/// Cubic between sample i and the next.
Vector3d Between(const std::vector<SeenPoint>& seen, size_t i, double t_s) {
  const SeenPoint &a = seen[i], &b = seen[i + 1];
  const double h = b.t_s - a.t_s, u = (t_s - a.t_s) / h, v = 1 - u;
  return v * v * (1 + 2 * u) * a.p + u * u * (1 + 2 * v) * b.p + h * u * v * (v * SlopeAt(seen, i) - u * SlopeAt(seen, i + 1));
}

/// Second-order section of a Butterworth low-pass by the bilinear transform.
struct Section {
  double b0, b1, b2, a1, a2;
};
Section Butterworth(double cutoff_hz, double rate_hz) {
  const double w = std::tan(std::numbers::pi * cutoff_hz / rate_hz), k = std::numbers::sqrt2 * w, w2 = w * w;
  const double norm = 1 / (1 + k + w2);
  return {w2 * norm, 2 * w2 * norm, w2 * norm, 2 * (w2 - 1) * norm, (1 - k + w2) * norm};
}

void RunThrough(const Section& s, std::vector<Vector3d>* x) {
  // Started as if the first value had stood for ever.
  Vector3d x1 = x->front(), x2 = x1, y1 = x1, y2 = x1;
  for (Vector3d& value : *x) {
    const Vector3d y = s.b0 * value + s.b1 * x1 + s.b2 * x2 - s.a1 * y1 - s.a2 * y2;
    x2 = x1;
    x1 = value;
    y2 = y1;
    y1 = y;
    value = y;
  }
}

}  // namespace

FilledPoint FillGaps(const std::vector<SeenPoint>& seen, const FrameClock& clock, double most_gap_s) {
  FilledPoint out;
  out.p.reserve(clock.frames);
  out.states.reserve(clock.frames);
  const double step_s = 1 / clock.rate_hz;
  size_t next = 0;  // the first sample after t
  for (size_t f = 0; f < clock.frames; ++f) {
    const double t_s = clock.start_s + static_cast<double>(f) * step_s;
    const double at_frame_s = 1e-3 * step_s;
    while (next < seen.size() && seen[next].t_s <= t_s + at_frame_s) ++next;
    if (next > 0 && t_s - seen[next - 1].t_s <= at_frame_s) {
      out.p.push_back(seen[next - 1].p);
      out.states.push_back(PointState::kMeasured);
    } else if (next == 0 || next == seen.size()) {  // before the first or behind the last
      const SeenPoint& end = next == 0 ? seen.front() : seen.back();
      const double away_s = std::abs(end.t_s - t_s);
      out.p.push_back(end.p);
      out.states.push_back(away_s <= 0.75 * step_s ? PointState::kMeasured
                           : away_s <= most_gap_s  ? PointState::kFilled
                                                   : PointState::kLost);
    } else {
      const SeenPoint &a = seen[next - 1], &b = seen[next];
      const double gap_s = b.t_s - a.t_s;
      const bool lost = gap_s > most_gap_s + step_s;
      out.p.push_back(lost ? Vector3d(a.p + (t_s - a.t_s) / gap_s * (b.p - a.p)) : Between(seen, next - 1, t_s));
      out.states.push_back(lost ? PointState::kLost : gap_s > 1.75 * step_s ? PointState::kFilled : PointState::kMeasured);
    }
  }
  return out;
}

bool LowPass(double rate_hz, double cutoff_hz, std::vector<Vector3d>* p) {
  // Two passes of a second-order filter: each must cut off higher for both to be -3 dB at cutoff_hz (Winter 2009).
  const double each_hz = cutoff_hz / std::pow(std::numbers::sqrt2 - 1, 0.25);
  if (each_hz >= 0.45 * rate_hz) return false;
  if (p->size() < 2) return true;
  // A second of motion mirrored through either end keeps value and slope there.
  const size_t pad = std::min(p->size() - 1, static_cast<size_t>(std::ceil(rate_hz)));
  std::vector<Vector3d> x;
  x.reserve(p->size() + 2 * pad);
  for (size_t i = pad; i > 0; --i) x.push_back(2 * p->front() - (*p)[i]);
  x.insert(x.end(), p->begin(), p->end());
  for (size_t i = 0; i < pad; ++i) x.push_back(2 * p->back() - (*p)[p->size() - 2 - i]);
  const Section section = Butterworth(each_hz, rate_hz);
  for (int pass = 0; pass < 2; ++pass) {
    RunThrough(section, &x);
    std::reverse(x.begin(), x.end());
  }
  std::copy_n(x.begin() + static_cast<std::ptrdiff_t>(pad), p->size(), p->begin());
  return true;
}

void SmoothRecording(double cutoff_hz, const std::string& file_name, Recording* r) {
  std::vector<Vector3d> course(r->frames);
  const auto columns = static_cast<size_t>(r->columns);
  for (size_t c = 0; c < columns; ++c) {
    for (size_t f = 0; f < r->frames; ++f) course[f] = r->p_R[f * columns + c];
    if (!LowPass(r->rate_hz, cutoff_hz, &course)) {
      throw InputError({file_name},
                       fmt::format("{:.3g} frames a second are too few to low-pass at {} Hz; at most {:.2g} Hz will do",
                                   r->rate_hz, cutoff_hz, 0.36 * r->rate_hz));
    }
    for (size_t f = 0; f < r->frames; ++f) r->p_R[f * columns + c] = course[f];
  }
  for (auto* turns : {&r->q_RHd, &r->q_RH[0], &r->q_RH[1]}) {
    if (turns->empty()) continue;
    // A rotation's first two columns are smooth where the rotation is; what they become is made a rotation again.
    std::vector<Vector3d> x, y;
    for (const Eigen::Quaterniond& q : *turns) {
      x.push_back(q * Vector3d::UnitX());
      y.push_back(q * Vector3d::UnitY());
    }
    LowPass(r->rate_hz, cutoff_hz, &x);
    LowPass(r->rate_hz, cutoff_hz, &y);
    for (size_t f = 0; f < r->frames; ++f) {
      const Vector3d z = x[f].cross(y[f]);
      if (z.norm() < 0.1) continue;  // half a turn within the filter's reach: left as it is
      Eigen::Matrix3d R;
      R.col(0) = x[f].normalized();
      R.col(2) = z.normalized();
      R.col(1) = R.col(2).cross(R.col(0));
      (*turns)[f] = Eigen::Quaterniond(R);
    }
  }
}

std::vector<RecordedGap> GapsOf(TrackPoint point, const std::vector<PointState>& states, const FrameClock& clock) {
  std::vector<RecordedGap> out;
  for (size_t f = 0; f < states.size();) {
    size_t end = f;
    while (end < states.size() && states[end] == states[f]) ++end;
    if (states[f] != PointState::kMeasured) {
      out.push_back({point, clock.start_s + static_cast<double>(f) / clock.rate_hz,
                     clock.start_s + static_cast<double>(end) / clock.rate_hz, states[f] == PointState::kFilled});
    }
    f = end;
  }
  return out;
}

}  // namespace dryrig
