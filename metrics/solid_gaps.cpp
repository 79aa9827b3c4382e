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

/// What each joint has turned, unsigned, from the take's start to each tick.
class JointWays {
 public:
  explicit JointWays(const Take& take) : ways_(take.ticks.size(), JointVector::Zero(take.ticks.front().q.size())) {
    for (size_t k = 1; k < ways_.size(); ++k) ways_[k] = ways_[k - 1] + (take.ticks[k].q - take.ticks[k - 1].q).cwiseAbs();
  }
  double MostMovedBetween_m(const JointVector& span, size_t from, size_t to) const {
    return MostMoved_m(span, ways_[to] - ways_[from]);
  }

 private:
  std::vector<JointVector> ways_;
};

/// Least of a distance over ticks, found by halving: between two ticks it is nowhere below half their sum less what can have
/// moved. `span`: how far a point of the one can lie from the axes of the joints that move it against the other.
class LeastOverTicks {
 public:
  LeastOverTicks(std::function<double(size_t)> distance, const JointWays& ways, JointVector span)
      : distance_(std::move(distance)), ways_(ways), span_(std::move(span)) {}

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
    const double below = 0.5 * (d_from + d_to - ways_.MostMovedBetween_m(span_, from, to));
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
  const JointWays& ways_;
  JointVector span_;
};

/// Of the joints from `inner` on.
JointVector SpanSince(const TakeMotion& motion, int part, int inner) {
  JointVector span = motion.SpanOfPart(part);
  span.head(inner).setZero();
  return span;
}

}  // namespace

std::vector<SolidGap> SolidGaps(const TakeMotion& motion) {
  const Take& take = motion.take();
  std::vector<SolidGap> out;
  if (take.ticks.empty()) return out;
  std::vector<Eigen::Isometry3d> X_WL;
  std::vector<Solid> home;
  motion.PartsAt(take.ticks[0].q, &X_WL, &home);
  const auto body = [&](int part) -> const ArmBody& { return take.arm_bodies[static_cast<size_t>(motion.first_part() + part)]; };
  const JointWays ways(take);
  const auto solid_of = [&](const ArmBody& of) {
    return MakeSolid(of.body.shape, X_WL[static_cast<size_t>(of.link)] * of.body.X_LS);
  };
  const auto find = [&](GapKind kind, const std::string& a, const std::string& b, const JointVector& span,
                        const std::function<double()>& distance) {
    LeastOverTicks least(
        [&](size_t tick) {
          motion.LinksAt(take.ticks[tick].q, &X_WL);
          return distance();
        },
        ways, span);
    least.Find(take.ticks.size() - 1);
    out.push_back({kind, a, b, static_cast<double>(least.tick) / take.id.physics_hz, least.least, least.bound});
  };

  std::vector<const Body*> still{&take.bench_top};
  for (const Body& one : take.keep_out) still.push_back(&one);
  for (int part = 0; part < motion.parts(); ++part) {
    const auto p = static_cast<size_t>(part);
    const JointVector span = SpanSince(motion, part, 0);
    for (const Body* one : still) {
      const Solid solid = MakeSolid(one->shape, one->X_LS);
      find(one->name.starts_with("zone") ? GapKind::kZone : GapKind::kStill, body(part).body.name, one->name, span,
           [&] { return DistanceOf(solid_of(body(part)), solid).distance_m; });
    }
    for (int other = 0; other < part; ++other) {
      const auto o = static_cast<size_t>(other);
      if (body(part).link - body(other).link < 2 || DistanceOf(home[p], home[o]).distance_m <= 0) continue;
      find(GapKind::kSelf, body(part).body.name, body(other).body.name, SpanSince(motion, part, body(other).link + 1),
           [&] { return DistanceOf(solid_of(body(part)), solid_of(body(other))).distance_m; });
    }
    // Against the base, which stands still: its neighbour is the first link.
    for (int base = 0; base < motion.first_part(); ++base) {
      const ArmBody& fixed = take.arm_bodies[static_cast<size_t>(base)];
      const Solid solid = MakeSolid(fixed.body.shape, take.X_WB * fixed.body.X_LS);
      if (body(part).link < 1 || DistanceOf(home[p], solid).distance_m <= 0) continue;
      find(GapKind::kSelf, body(part).body.name, fixed.body.name, span,
           [&] { return DistanceOf(solid_of(body(part)), solid).distance_m; });
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
