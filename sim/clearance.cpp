#include "sim/clearance.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/container/small_vector.hpp>
#include <cmath>
#include <limits>
#include <tuple>

#include "scenes/error.h"
#include "sim/distance.h"
#include "sim/solid.h"

namespace dryrig {

namespace {

using boost::container::small_vector;

constexpr double kNone = std::numeric_limits<double>::infinity();
constexpr double kTie_m = 1e-12;  // above the rounding of a bound: pairs as near as the nearest are all measured

// What holds a solid: a capsule, and the ball around that.
struct Cover {
  explicit Cover(const Solid& around) : capsule(around) {
    middle_W = 0.5 * (around.a_W + around.b_W);
    ball_m = 0.5 * (around.b_W - around.a_W).norm() + around.radius_m;
  }
  Solid capsule;
  Eigen::Vector3d middle_W;
  double ball_m = 0;
};

struct Part {
  Solid solid;
  Cover cover;
};

// Along the longest side of a box and the axis of a cylinder; a hull's box is that of its points.
Cover CoverOf(const Shape& shape, const Solid& solid) {
  if (solid.IsLine()) return Cover(solid);
  Eigen::Vector3d half = solid.half_m, middle = Eigen::Vector3d::Zero();
  if (shape.kind == ShapeKind::kHull) {
    Eigen::AlignedBox3d box;
    for (const Eigen::Vector3d& point : shape.points) box.extend(point);
    half = 0.5 * box.sizes();
    middle = box.center();
  }
  int axis = 2;
  if (shape.kind != ShapeKind::kCylinder) half.maxCoeff(&axis);
  const double around =
      shape.kind == ShapeKind::kCylinder ? shape.radius_m : std::hypot(half[(axis + 1) % 3], half[(axis + 2) % 3]);
  const Eigen::Vector3d reach_W = half[axis] * solid.R_WS.col(axis), middle_W = solid.p_WS + solid.R_WS * middle;
  return Cover(MakeCapsule(middle_W - reach_W, middle_W + reach_W, around));
}

}  // namespace

std::vector<ArmBody> ArmBodies(const ArmModel& arm) {
  std::vector<ArmBody> bodies;
  for (const Body& body : arm.base.bodies) bodies.push_back({-1, body});
  for (size_t link = 0; link < arm.links.size(); ++link) {
    for (const Body& body : arm.links[link].bodies) bodies.push_back({static_cast<int>(link), body});
  }
  return bodies;
}

Clearance NearestToPerson(const std::vector<ArmBody>& bodies, const std::vector<Eigen::Isometry3d>& X_WL,
                          const PersonBody& person, const BodyPose& pose) {
  small_vector<Part, 32> parts;
  const int first =
      static_cast<int>(std::count_if(bodies.begin(), bodies.end(), [](const ArmBody& part) { return part.link < 0; }));
  for (size_t i = static_cast<size_t>(first); i < bodies.size(); ++i) {
    const ArmBody& part = bodies[i];
    const Shape& shape = part.body.shape;
    const Solid solid = MakeSolid(shape, X_WL[static_cast<size_t>(part.link)] * part.body.X_LS);
    parts.push_back({solid, CoverOf(shape, solid)});
  }
  small_vector<Cover, 96> limbs;
  for (const PersonCapsule& capsule : person.capsules) {
    limbs.emplace_back(MakeCapsule(pose.p_W[capsule.a], pose.p_W[capsule.b], capsule.radius_m));
  }

  // Balls first: the pair whose balls come nearest gives a distance that most others are known to exceed.
  small_vector<double, 32 * 96> ball_gaps;
  double least_gap = kNone, best_m = kNone;
  size_t start = 0;
  for (const Part& part : parts) {
    for (const Cover& limb : limbs) {
      const double gap = (part.cover.middle_W - limb.middle_W).norm() - part.cover.ball_m - limb.ball_m;
      if (gap < least_gap) least_gap = gap, start = ball_gaps.size();
      ball_gaps.push_back(gap);
    }
  }
  Clearance nearest;
  const auto measure = [&](size_t pair) {
    const int i = static_cast<int>(pair / limbs.size()), k = static_cast<int>(pair % limbs.size());
    const Nearest now = DistanceOf(parts[i].solid, limbs[k].capsule);
    const int body = first + i;
    const bool before = body < nearest.arm_body || (body == nearest.arm_body && k < nearest.capsule);
    if (now.distance_m < best_m || (now.distance_m == best_m && before)) {
      best_m = now.distance_m;
      nearest = {now.distance_m, body, k, now.p_WA, now.p_WB};
    }
  };
  if (least_gap < kNone) measure(start);

  // Then capsules around the rest, nearest first, until the next can no longer win. Equal distances go to the first pair.
  struct Candidate {
    double gap_m;
    size_t pair;
  };
  small_vector<Candidate, 256> candidates;
  for (size_t pair = 0; pair < ball_gaps.size(); ++pair) {
    if (ball_gaps[pair] > best_m + kTie_m || pair == start) continue;
    const double gap = DistanceOf(parts[pair / limbs.size()].cover.capsule, limbs[pair % limbs.size()].capsule).distance_m;
    if (gap <= best_m + kTie_m) candidates.push_back({gap, pair});
  }
  std::sort(candidates.begin(), candidates.end(),
            [](const Candidate& a, const Candidate& b) { return std::tie(a.gap_m, a.pair) < std::tie(b.gap_m, b.pair); });
  for (const Candidate& candidate : candidates) {
    if (candidate.gap_m > best_m + kTie_m) break;
    measure(candidate.pair);
  }
  if (!std::isfinite(best_m)) {
    throw RunError(fmt::format(
        "clearance: no finite distance between {} moving arm bodies and {} capsules of the person; both need at least "
        "one, at finite poses",
        parts.size(), person.capsules.size()));
  }
  return nearest;
}

}  // namespace dryrig
