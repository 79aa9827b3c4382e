#include "metrics/solid_gaps.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "sim/arm_span.h"
#include "sim/distance.h"

namespace dryrig {

namespace {

constexpr double kFine_m = 0.0005, kFineShare = 0.05;

/// Least of a distance over ticks, found by halving: between two ticks it is nowhere below half their sum less what can have
/// moved.
class LeastOverTicks {
 public:
  LeastOverTicks(std::function<double(size_t)> distance, const std::vector<double>& moved)
      : distance_(std::move(distance)), moved_(moved) {}

  void Find(size_t end) {
    const double first = distance_(0);
    Take(0, first);
    if (end == 0) {
      bound = first;
      return;
    }
    const double last = distance_(end);
    Take(end, last);
    Halve(0, first, end, last);
    bound = std::min(bound, least);
  }

  double least = std::numeric_limits<double>::infinity(), bound = least;
  size_t tick = 0;

 private:
  void Take(size_t at, double d) {
    if (d < least) least = d, tick = at;
  }
  void Halve(size_t from, double d_from, size_t to, double d_to) {
    const double below = 0.5 * (d_from + d_to - (moved_[to] - moved_[from]));
    if (below > least - std::max(kFine_m, kFineShare * least) || to - from == 1) {
      bound = std::min(bound, below);
      return;
    }
    const size_t middle = from + (to - from) / 2;
    const double d = distance_(middle);
    Take(middle, d);
    Halve(from, d_from, middle, d);
    Halve(middle, d, to, d_to);
  }

  std::function<double(size_t)> distance_;
  const std::vector<double>& moved_;
};

/// Sums, from the take's start to each tick, of what a body can have moved by the joints from `inner` on.
std::vector<double> MovedSince(const TakeMotion& motion, int part, int inner) {
  const std::vector<TakeTick>& ticks = motion.take().ticks;
  std::vector<double> out(ticks.size(), 0.0);
  JointVector span = motion.SpanOfPart(part);
  for (int j = 0; j < inner; ++j) span[j] = 0;
  for (size_t k = 1; k < ticks.size(); ++k) out[k] = out[k - 1] + MostMoved_m(span, (ticks[k].q - ticks[k - 1].q).cwiseAbs());
  return out;
}

}  // namespace

std::vector<SolidGap> SolidGaps(const TakeMotion& motion) {
  const Take& take = motion.take();
  std::vector<SolidGap> out;
  if (take.ticks.empty()) return out;
  std::vector<Eigen::Isometry3d> X_WL;
  std::vector<Solid> parts, home;
  motion.PartsAt(take.ticks[0].q, &X_WL, &home);
  const auto body = [&](int part) -> const ArmBody& { return take.arm_bodies[static_cast<size_t>(motion.first_part() + part)]; };
  const auto find = [&](GapKind kind, const std::string& a, const std::string& b, const std::vector<double>& moved,
                        const std::function<double()>& distance) {
    LeastOverTicks least(
        [&](size_t tick) {
          motion.PartsAt(take.ticks[tick].q, &X_WL, &parts);
          return distance();
        },
        moved);
    least.Find(take.ticks.size() - 1);
    out.push_back({kind, a, b, static_cast<double>(least.tick) / take.id.physics_hz, least.least, least.bound});
  };

  std::vector<const Body*> still{&take.bench_top};
  for (const Body& one : take.keep_out) still.push_back(&one);
  for (int part = 0; part < motion.parts(); ++part) {
    const auto p = static_cast<size_t>(part);
    const std::vector<double> moved = MovedSince(motion, part, 0);
    for (const Body* one : still) {
      const Solid solid = MakeSolid(one->shape, one->X_LS);
      find(one->name.starts_with("zone") ? GapKind::kZone : GapKind::kStill, body(part).body.name, one->name, moved,
           [&] { return DistanceOf(parts[p], solid).distance_m; });
    }
    for (int other = 0; other < part; ++other) {
      const auto o = static_cast<size_t>(other);
      if (body(part).link - body(other).link < 2 || DistanceOf(home[p], home[o]).distance_m <= 0) continue;
      const std::vector<double> apart = MovedSince(motion, part, body(other).link + 1);
      find(GapKind::kSelf, body(part).body.name, body(other).body.name, apart,
           [&] { return DistanceOf(parts[p], parts[o]).distance_m; });
    }
    // Against the base, which stands still: its neighbour is the first link.
    for (int base = 0; base < motion.first_part(); ++base) {
      const ArmBody& fixed = take.arm_bodies[static_cast<size_t>(base)];
      const Solid solid = MakeSolid(fixed.body.shape, take.X_WB * fixed.body.X_LS);
      if (body(part).link < 1 || DistanceOf(home[p], solid).distance_m <= 0) continue;
      find(GapKind::kSelf, body(part).body.name, fixed.body.name, moved, [&] { return DistanceOf(parts[p], solid).distance_m; });
    }
  }

  for (size_t prop = 0; prop < take.props.size(); ++prop) {
    const double prop_ball_m = take.props[prop].shape.BoundingRadius();
    SolidGap nearest{GapKind::kProp, "", take.props[prop].name, 0, std::numeric_limits<double>::infinity(), 0};
    for (size_t f = 0; f < take.frames.size(); ++f) {
      const TakeFrame& frame = take.frames[f];
      for (int part = 0; part < motion.parts(); ++part) {
        const TakeMotion::Ball ball = motion.BallOfPart(part, frame.X_WL);
        const Eigen::Isometry3d& X_WP = frame.X_WP[prop];
        if ((ball.middle_W - X_WP.translation()).norm() - ball.radius_m - prop_ball_m >= nearest.least_m) continue;
        const ArmBody& arm = body(part);
        const double d =
            Distance(arm.body.shape, frame.X_WL[static_cast<size_t>(arm.link)] * arm.body.X_LS, take.props[prop].shape, X_WP)
                .distance_m;
        if (d < nearest.least_m) {
          nearest.a = arm.body.name;
          nearest.least_m = nearest.bound_m = d;
          nearest.t_s = static_cast<double>(f) / take.id.frame_hz;
        }
      }
    }
    if (!nearest.a.empty()) out.push_back(nearest);
  }
  std::stable_sort(out.begin(), out.end(), [](const SolidGap& x, const SolidGap& y) { return x.least_m < y.least_m; });
  return out;
}

}  // namespace dryrig
