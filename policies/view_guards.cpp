// Guards of the view solver: person, bench, shelves and keep-out zones against balls that stand for the arm's outside.
#include <algorithm>
#include <cmath>

#include "policies/view_solver.h"
#include "sim/distance.h"
#include "sim/rng.h"

namespace dryrig {

namespace {

constexpr double kGuardUnit_m = 0.02;  // one unit of a guard's residual
constexpr double kStruck_m = 0.006;    // the same for what the arm would strike: no picture is worth that
constexpr double kBenchMargin_m = 0.04;
constexpr double kKeepOutMargin_m = 0.04;
constexpr double kShelfMargin_m = 0.04, kThingMargin_m = 0.03;
constexpr double kThingShare =
    0.35;  // of its extent: the ball that stands for a prop, between a box's half side and half diagonal
constexpr int kFirstGuardedLink = 2;  // links before it stay where the mount is: no shot moves them into bench or zones
constexpr int kMostGuards = 32;       // rows; an arm deeper in trouble than this has been told so already
constexpr int kPathSamples = 7;
constexpr double kStill_mps = 0.06;  // slower than this a hand or head is taken to stay

struct Gap {
  double distance_m;
  Eigen::Vector3d out_W;  // unit, the way that opens it
};

Gap ToBox(const Eigen::Vector3d& half, const Eigen::Isometry3d& X_WS, const Eigen::Vector3d& p_W) {
  const Eigen::Vector3d p_S = X_WS.inverse() * p_W;
  const Eigen::Vector3d over = p_S.cwiseAbs() - half;
  Eigen::Vector3d out_S = Eigen::Vector3d::Zero();
  double distance = 0;
  if (over.maxCoeff() > 0) {
    out_S = p_S - p_S.cwiseMax(-half).cwiseMin(half);
    distance = out_S.norm();
    out_S /= distance;
  } else {
    int axis = 0;
    distance = over.maxCoeff(&axis);
    out_S[axis] = p_S[axis] < 0 ? -1 : 1;
  }
  return {distance, X_WS.linear() * out_S};
}

Gap ToSegment(const Eigen::Vector3d& a, const Eigen::Vector3d& b, double radius_m, const Eigen::Vector3d& p_W) {
  const Eigen::Vector3d ab = b - a;
  const double squared = ab.squaredNorm();
  const double t = squared > 0 ? std::clamp((p_W - a).dot(ab) / squared, 0.0, 1.0) : 0.0;
  const Eigen::Vector3d apart = p_W - (a + t * ab);
  const double d = apart.norm();
  return {d - radius_m, d > 1e-9 ? Eigen::Vector3d(apart / d) : Eigen::Vector3d::UnitZ()};
}

Gap ToBody(const Body& body, const Eigen::Vector3d& p_W) {
  const Shape& shape = body.shape;
  const Eigen::Vector3d along = shape.half_length_m * body.X_LS.linear().col(2);
  const Eigen::Vector3d at = body.X_LS.translation();
  switch (shape.kind) {
    case ShapeKind::kBox:
      return ToBox(shape.half_m, body.X_LS, p_W);
    case ShapeKind::kCapsule:
      return ToSegment(at - along, at + along, shape.radius_m, p_W);
    case ShapeKind::kCylinder:
      return ToBox({shape.radius_m, shape.radius_m, shape.half_length_m}, body.X_LS, p_W);
    case ShapeKind::kSphere:
      return ToSegment(at, at, shape.radius_m, p_W);
    case ShapeKind::kHull:
      break;
  }
  return ToSegment(at, at, shape.BoundingRadius(), p_W);
}

}  // namespace

void GuessPerson(const SceneFilter& scene, double foresight_s, PersonGuess* out) {
  out->capsules.clear();
  out->things.clear();
  for (const auto& prop : scene.props()) {
    if (prop.known) out->things.push_back({prop.p_WP, prop.p_WP, kThingShare * prop.extent_m, false});
  }
  const auto add = [&](const Eigen::Vector3d& a_W, const Eigen::Vector3d& b_W, double radius_m, bool blocks) {
    out->capsules.push_back({a_W, b_W, radius_m, blocks});
  };
  const Eigen::Vector3d low = scene.p_W(kHeadLow), high = scene.p_W(kHeadHigh);
  add(low, low + 0.7 * (high - low), 0.10, true);
  add(scene.p_W(kPelvis), scene.p_W(kThorax), 0.17, true);
  add(scene.p_W(kShoulderL), scene.p_W(kShoulderR), 0.09, true);
  // Where head and hands will be if they go on as they do.
  const auto ahead = [&](const Eigen::Vector3d& v_W) {
    const double speed = v_W.norm();
    return speed > kStill_mps ? Eigen::Vector3d(foresight_s * (1 - kStill_mps / speed) * v_W)
                              : Eigen::Vector3d(Eigen::Vector3d::Zero());
  };
  const Eigen::Vector3d head_ahead = ahead(0.5 * (scene.v_W(kHeadLow) + scene.v_W(kHeadHigh)));
  if (!head_ahead.isZero(0)) add(scene.p_WHead(), scene.p_WHead() + head_ahead, 0.11, false);
  for (const Side side : {kLeft, kRight}) {
    const Eigen::Vector3d shoulder = scene.p_W(side == kLeft ? kShoulderL : kShoulderR),
                          elbow = scene.p_W(side == kLeft ? kElbowL : kElbowR);
    const Eigen::Vector3d wrist = scene.p_W(HandPoint(side, 0)), middle = scene.p_W(HandPoint(side, 12));
    add(shoulder, elbow, 0.055, false);
    add(elbow, wrist, 0.045, false);
    add(wrist, middle, 0.05, false);
    const Eigen::Vector3d hand_ahead = ahead(scene.HandVelocity(side));
    if (hand_ahead.isZero(0)) continue;
    add(scene.HandCentre(side), scene.HandCentre(side) + hand_ahead, 0.06, false);
    add(elbow + 0.5 * hand_ahead, wrist + hand_ahead, 0.045, false);
  }
}

void ViewSolver::MakeBalls() {
  for (int link = 0; link < stage_->arm.dof(); ++link) {
    for (const Body& body : stage_->arm.links[static_cast<size_t>(link)].bodies) {
      Eigen::Vector3d half = Eigen::Vector3d::Zero(), middle = Eigen::Vector3d::Zero();
      const Shape& shape = body.shape;
      switch (shape.kind) {
        case ShapeKind::kSphere:
          half.setConstant(shape.radius_m);
          break;
        case ShapeKind::kCapsule:
          half = {shape.radius_m, shape.radius_m, shape.half_length_m + shape.radius_m};
          break;
        case ShapeKind::kCylinder:
          half = {shape.radius_m, shape.radius_m, shape.half_length_m};
          break;
        case ShapeKind::kBox:
          half = shape.half_m;
          break;
        case ShapeKind::kHull: {
          Eigen::AlignedBox3d box;
          for (const Eigen::Vector3d& p : shape.points) box.extend(p);
          half = 0.5 * box.sizes();
          middle = box.center();
          break;
        }
      }
      // Balls as wide as the two shorter sides, in a row along the longest.
      int axis = 0;
      const double longest = half.maxCoeff(&axis);
      const double radius = std::min(longest, std::max(half[(axis + 1) % 3], half[(axis + 2) % 3]));
      const double reach = longest - radius;
      const int count = std::clamp(1 + static_cast<int>(std::ceil(2 * reach / (2.2 * radius))), 1, 4);
      for (int k = 0; k < count; ++k) {
        Eigen::Vector3d at = middle;
        if (count > 1) at[axis] += reach * (2.0 * k / (count - 1) - 1);
        balls_.push_back({link, body.X_LS * at, radius});
      }
    }
  }
}

// Postures spread over the joint ranges whose camera stands over the bench or before the instructor and looks down or back.
void ViewSolver::MakePostures() {
  constexpr int kTries = 3000;
  constexpr size_t kMost = 40;
  const ArmModel& arm = stage_->arm;
  const Bench& bench = stage_->bench;
  RandomStream draws(1, "postures to start a search from");
  const PersonGuess nobody;
  postures_.push_back(Clamped(arm.home));
  for (int k = 0; k < kTries && postures_.size() < kMost; ++k) {
    Eigen::VectorXd q(arm.dof());
    for (int i = 0; i < arm.dof(); ++i) {
      const Joint& joint = arm.joints[static_cast<size_t>(i)];
      const double span = std::min(2.4, joint.upper - joint.lower);
      q[i] = draws.Uniform(std::max(joint.lower, arm.home[i] - span), std::min(joint.upper, arm.home[i] + span));
    }
    q = Clamped(q);
    const Eigen::Isometry3d X = X_WC(q);
    const Eigen::Vector3d p = X.translation(), ahead = X.linear().col(2);
    const bool over = std::abs(p.x()) < 0.8 && p.y() > 0.0 && p.y() < bench.depth_m + 0.8 && p.z() > bench.height_m + 0.12;
    const bool looks = ahead.z() < 0.25 && ahead.y() < 0.35;
    const bool upright = ahead.z() < -0.9 ? X.linear().col(1).y() > 0 : X.linear().col(1).z() < 0;
    if (over && looks && upright && TooNear(nobody, q) < 1) postures_.push_back(q);
  }
}

void ViewSolver::AddGuards(const PersonGuess& person, const std::vector<Eigen::Isometry3d>& X_BL, Rows* r, RowJacobian* J,
                           int* row) const {
  const Eigen::Isometry3d& X_WB = stage_->bench.X_WB;
  const int last = *row + kMostGuards;
  const Bench& bench = stage_->bench;
  // The room from the top down: nothing is filmed from under the bench, and its edges are struck from the side too.
  constexpr double kDown_m = 0.3;
  Body top{"bench", Shape::Box({0.5 * bench.width_m, 0.5 * bench.depth_m, kDown_m}), Eigen::Isometry3d::Identity()};
  top.X_LS.translation() = Eigen::Vector3d(0, 0.5 * bench.depth_m, bench.height_m - kDown_m);
  const auto add = [&](const Ball& ball, const Eigen::Vector3d& p_W, double short_m, const Eigen::Vector3d& out_W,
                       double unit_m) {
    if (*row >= last) return;
    (*r)[*row] = short_m / unit_m;
    if (J) {
      const Jacobian Jp = PointJacobian(stage_->arm, X_BL, ball.link, X_WB.inverse() * p_W);
      J->row(*row) = -(X_WB.linear().transpose() * out_W).transpose() * Jp.topRows<3>() / unit_m;
    }
    ++*row;
  };
  for (const Ball& ball : balls_) {
    const Eigen::Vector3d p_W = X_WB * (X_BL[static_cast<size_t>(ball.link)] * ball.p_L);
    for (const PersonGuess::Capsule& capsule : person.capsules) {
      const double wanted = tuning_.clearance_m + ball.radius_m;
      const Gap gap = ToSegment(capsule.a_W, capsule.b_W, capsule.radius_m, p_W);
      if (gap.distance_m < wanted) add(ball, p_W, wanted - gap.distance_m, gap.out_W, kGuardUnit_m);
    }
    if (ball.link < kFirstGuardedLink) continue;
    for (const PersonGuess::Capsule& thing : person.things) {
      const double wanted = kThingMargin_m + ball.radius_m;
      const Gap gap = ToSegment(thing.a_W, thing.b_W, thing.radius_m, p_W);
      if (gap.distance_m < wanted) add(ball, p_W, wanted - gap.distance_m, gap.out_W, kGuardUnit_m);
    }
    const auto keep_off = [&](const Body& still, double margin_m) {
      const Gap gap = ToBody(still, p_W);
      const double wanted = ball.radius_m + margin_m;
      if (gap.distance_m < wanted) add(ball, p_W, wanted - gap.distance_m, gap.out_W, kStruck_m);
    };
    keep_off(top, kBenchMargin_m);
    for (const Body& zone : bench.keep_out) keep_off(zone, kKeepOutMargin_m);
    for (const Body& shelf : bench.shelves) keep_off(shelf, kShelfMargin_m);
  }
}

ViewSolver::Nearness ViewSolver::NearestTo(const PersonGuess& person, const Eigen::VectorXd& q, double trunk_nearer_m) const {
  thread_local std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(stage_->arm, q, &X_BL);
  Nearness nearest;
  const Ball* ball = nullptr;
  Eigen::Vector3d at_W, out_W;
  for (const Ball& each : balls_) {
    const Eigen::Vector3d p_W = stage_->bench.X_WB * (X_BL[static_cast<size_t>(each.link)] * each.p_L);
    for (const PersonGuess::Capsule& capsule : person.capsules) {
      const Gap gap = ToSegment(capsule.a_W, capsule.b_W, capsule.radius_m, p_W);
      const double gap_m = gap.distance_m - each.radius_m - (capsule.blocks ? trunk_nearer_m : 0);
      if (gap_m >= nearest.gap_m) continue;
      nearest.gap_m = gap_m;
      ball = &each, at_W = p_W, out_W = gap.out_W;
    }
  }
  nearest.opening = Eigen::VectorXd::Zero(q.size());
  if (!ball) return nearest;
  const Jacobian J = PointJacobian(stage_->arm, X_BL, ball->link, stage_->bench.X_WB.inverse() * at_W);
  nearest.opening = (stage_->bench.X_WB.linear().transpose() * out_W).transpose() * J.topRows<3>();
  return nearest;
}

double ViewSolver::TooNear(const PersonGuess& person, const Eigen::VectorXd& q) const {
  thread_local std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(stage_->arm, q, &X_BL);
  Rows r(kMaxRows);
  int row = 0;
  AddGuards(person, X_BL, &r, nullptr, &row);
  return r.head(row).squaredNorm();
}

Eigen::VectorXd ViewSolver::TooNearSlope(const PersonGuess& person, const Eigen::VectorXd& q) const {
  thread_local std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(stage_->arm, q, &X_BL);
  Rows r(kMaxRows);
  RowJacobian J(kMaxRows, q.size());
  int row = 0;
  AddGuards(person, X_BL, &r, &J, &row);
  return 2 * J.topRows(row).transpose() * r.head(row);
}

double ViewSolver::TooNearOnPath(const PersonGuess& person, const Eigen::VectorXd& from, const Eigen::VectorXd& to) const {
  double worst = 0;
  for (int k = 1; k <= kPathSamples; ++k) {
    const double share = static_cast<double>(k) / (kPathSamples + 1);
    worst = std::max(worst, TooNear(person, from + share * (to - from)));
  }
  return worst;
}

}  // namespace dryrig
