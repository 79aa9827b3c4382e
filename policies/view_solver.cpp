#include "policies/view_solver.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "sim/distance.h"
#include "sim/lens.h"

namespace dryrig {

namespace {

// Tolerances of the scorecard.
constexpr double kCompositionTolerance = 1.0 / 6;  // frame heights
constexpr double kSizeTolerance = 0.5;             // octaves
constexpr double kAngleTolerance = 15 * std::numbers::pi / 180;

constexpr double kLimitMargin_rad = 0.1;  // a joint is pushed back from here on ...
constexpr double kLimitClear_rad = 0.03;  // ... and never goes nearer than this to its limit
constexpr double kLimitUnit_rad = 0.05;
constexpr double kEase_rad = 0.5;      // so near a limit a posture is a little worse: nowhere to go from there
constexpr double kGuardUnit_m = 0.02;  // one unit of clearance residual
constexpr double kSightUnit_m = 0.05;
constexpr double kSightMargin_m = 0.03;
constexpr double kLongestStep_rad = 0.5;
constexpr double kSoft = 2;            // tolerances of size from where on it counts less
constexpr double kFreeTravel_s = 0.9;  // a viewer takes so long to read a new shot: no hurry before

double LimitMargin(const Joint& joint) {
  return std::min(kLimitMargin_rad, 0.05 * (joint.upper - joint.lower));
}

}  // namespace

ViewSolver::ViewSolver(const Stage& stage, const ViewTuning& tuning)
    : stage_(&stage), tuning_(tuning), heights_per_focal_(FrameHeights(stage.camera, LensState{1, 1}, 1, 1)) {
  MakeBalls();
  MakePostures();
}

double ViewSolver::FocalFor(const WantedPicture& wanted, double depth_m) const {
  const double focal_m = wanted.frame_heights * std::max(depth_m, 0.01) / (heights_per_focal_ * wanted.extent_m);
  return std::clamp(focal_m, stage_->camera.focal_min_m, stage_->camera.focal_max_m);
}

Eigen::VectorXd ViewSolver::Clamped(Eigen::VectorXd q) const {
  for (int i = 0; i < stage_->arm.dof(); ++i) {
    const Joint& joint = stage_->arm.joints[static_cast<size_t>(i)];
    const double clear = std::min(kLimitClear_rad, 0.02 * (joint.upper - joint.lower));
    q[i] = std::clamp(q[i], joint.lower + clear, joint.upper - clear);
  }
  return q;
}

double ViewSolver::Travel_s(const Eigen::VectorXd& from, const Eigen::VectorXd& to) const {
  double longest_s = 0;
  for (int i = 0; i < stage_->arm.dof(); ++i) {
    const Joint& joint = stage_->arm.joints[static_cast<size_t>(i)];
    const double way = std::abs(to[i] - from[i]);
    // A trapezoid of speed, or a triangle where the way is short.
    const double ramp_s = joint.velocity / joint.acceleration;
    const bool short_way = way < joint.velocity * ramp_s;
    longest_s = std::max(longest_s, short_way ? 2 * std::sqrt(way / joint.acceleration) : way / joint.velocity + ramp_s);
  }
  return longest_s;
}

ViewSolver::Counts ViewSolver::Residuals(const WantedPicture& wanted, const PersonGuess& person, const Eigen::VectorXd& q,
                                         const Eigen::VectorXd& rest, Rows* r, RowJacobian* J) const {
  const ArmModel& arm = stage_->arm;
  const int n = arm.dof();
  r->resize(kMaxRows);
  if (J) J->setZero(kMaxRows, n);

  thread_local std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(arm, q, &X_BL);
  const Eigen::Isometry3d X_BC = X_BL.back() * arm.X_EC;
  const Eigen::Isometry3d X_WC = stage_->bench.X_WB * X_BC;
  const Eigen::Matrix3d R_WB = stage_->bench.X_WB.linear();
  const Eigen::Matrix3d R_CW = X_WC.linear().transpose();
  Eigen::Matrix<double, 3, Eigen::Dynamic, 0, 3, 8> Jv(3, n), Jw(3, n);  // of the camera, in W
  if (J) {
    const Jacobian Jc = PointJacobian(arm, X_BL, n - 1, X_BC.translation());
    Jv = R_WB * Jc.topRows<3>();
    Jw = R_WB * Jc.bottomRows<3>();
  }

  int row = 0;
  const Eigen::Vector3d away_W = X_WC.translation() - wanted.centre_W;
  const double far = std::max(away_W.norm(), 0.02);
  const Eigen::Vector3d c_W = away_W / far;
  const Eigen::Vector3d p_C = R_CW * (wanted.centre_W - X_WC.translation());
  const Eigen::Vector3d b_C = p_C / far;
  const double focal_m = FocalFor(wanted, far);
  const double heights = heights_per_focal_ * focal_m;
  const Eigen::Matrix<double, 3, Eigen::Dynamic, 0, 3, 8> Jc_unit =
      J ? Eigen::Matrix<double, 3, Eigen::Dynamic, 0, 3, 8>(((Eigen::Matrix3d::Identity() - c_W * c_W.transpose()) / far) * Jv)
        : Eigen::Matrix<double, 3, Eigen::Dynamic, 0, 3, 8>();

  // Composition: direction to the subject against the composition point's, in C. Where the lens zooms with the distance its
  // pull on this row is left out of the Jacobian: it is second-order at the solution.
  const Eigen::Vector3d wanted_C = Eigen::Vector3d(wanted.at.x / heights, wanted.at.y / heights, 1).normalized();
  const double w_place = std::sqrt(tuning_.composition) * heights / kCompositionTolerance;
  r->segment<3>(row) = w_place * (b_C - wanted_C);
  if (J) {
    // b_C = -R_CW c_W, and R_CW turns against the camera's own turning.
    Eigen::Matrix3d cross;
    cross << 0, -c_W.z(), c_W.y(), c_W.z(), 0, -c_W.x(), -c_W.y(), c_W.x(), 0;
    J->middleRows<3>(row) = w_place * (R_CW * (-Jc_unit - cross * Jw));
  }
  row += 3;

  // Size, in octaves; nothing is left of it where the zoom makes up for the distance.
  const double w_size = std::sqrt(tuning_.size) / kSizeTolerance;
  const double apparent = heights * wanted.extent_m / far;
  const double raw = w_size * std::log2(apparent / wanted.frame_heights);
  // A size far out of reach counts ever less, or place and angle would be given up for a little of it.
  const double soft = kSoft * std::sqrt(std::log1p(raw * raw / (kSoft * kSoft)));
  (*r)[row] = std::copysign(soft, raw);
  if (J) {
    const bool zooms = focal_m > stage_->camera.focal_min_m && focal_m < stage_->camera.focal_max_m;
    const double slope = soft > 1e-9 ? std::abs(raw) / (soft * (1 + raw * raw / (kSoft * kSoft))) : 1;
    if (!zooms) J->row(row) = -slope * w_size / (std::numbers::ln2 * far) * (c_W.transpose() * Jv);
  }
  row += 1;

  const double w_angle = std::sqrt(tuning_.angle) / kAngleTolerance;
  r->segment<3>(row) = w_angle * (c_W - wanted.to_camera_W);
  if (J) J->middleRows<3>(row) = w_angle * Jc_unit;
  row += 3;

  // Roll: angle of the wanted up in the image. Its slope grows without bound where the view is along the wanted up: damped there.
  const Eigen::Vector3d x_W = X_WC.linear().col(0), y_W = X_WC.linear().col(1);
  const Eigen::Vector3d up_W = wanted.horizon ? Eigen::Vector3d::UnitZ() : wanted.up_W;
  const double across = x_W.dot(up_W), up = -y_W.dot(up_W);
  const double squared = std::max(across * across + up * up, 0.05);
  const double w_level = w_angle * std::sqrt(tuning_.level);
  (*r)[row] = w_level * std::atan2(across, up);
  if (J) {
    const Eigen::Vector3d d_across = x_W.cross(up_W), d_up = -y_W.cross(up_W);  // d(x·u) = (ω×x)·u = ω·(x×u)
    J->row(row) = w_level / squared * ((up * d_across - across * d_up).transpose() * Jw);
  }
  row += 1;
  Counts counts{row, 0};

  AddGuards(person, X_BL, r, J, &row);
  counts.too_near = row - counts.framing;

  for (const PersonGuess::Capsule& capsule : person.capsules) {
    if (!capsule.blocks || tuning_.sight <= 0 || row >= kMaxRows - 24) continue;
    // The subject's own end of the line does not count: what lies within a hand of it belongs to the subject.
    const Eigen::Vector3d end_W = wanted.centre_W + std::min(0.15, 0.5 * far) * c_W;
    const SegmentPair pair = NearestOnSegments(X_WC.translation(), end_W, capsule.a_W, capsule.b_W);
    const double d = std::sqrt(pair.squared_m2), least = capsule.radius_m + kSightMargin_m;
    if (d >= least || d < 1e-6) continue;
    const Eigen::Vector3d on_line = X_WC.translation() + pair.s * (end_W - X_WC.translation());
    const Eigen::Vector3d out = (on_line - (capsule.a_W + pair.t * (capsule.b_W - capsule.a_W))) / d;
    const double w = std::sqrt(tuning_.sight) / kSightUnit_m;
    (*r)[row] = w * (least - d);
    if (J) {
      J->row(row) = -w * (1 - pair.s) * (out.transpose() * Jv);
      if (0.5 * far > 0.15)
        J->row(row) -= w * pair.s * 0.15 * (out.transpose() * Jc_unit);
      else
        J->row(row) -= w * pair.s * 0.5 * (out.transpose() * Jv);
    }
    ++row;
  }

  for (int i = 0; i < n; ++i) {
    const Joint& joint = arm.joints[static_cast<size_t>(i)];
    const double margin = LimitMargin(joint);
    const double low = joint.lower + margin - q[i], high = q[i] - joint.upper + margin;
    (*r)[row] = std::max({low, high, 0.0}) / kLimitUnit_rad;
    if (J && low > 0) (*J)(row, i) = -1 / kLimitUnit_rad;
    if (J && high > 0) (*J)(row, i) = 1 / kLimitUnit_rad;
    ++row;
    (*r)[row] = tuning_.posture * (q[i] - rest[i]);
    if (J) (*J)(row, i) = tuning_.posture;
    ++row;
    if (!joint.continuous) {
      const double ease = std::min(kEase_rad, 0.25 * (joint.upper - joint.lower));
      const double low_ease = joint.lower + ease - q[i], high_ease = q[i] - joint.upper + ease;
      (*r)[row] = tuning_.manner * std::max({low_ease, high_ease, 0.0}) / ease;
      if (J && low_ease > 0) (*J)(row, i) = -tuning_.manner / ease;
      if (J && high_ease > 0) (*J)(row, i) = tuning_.manner / ease;
      ++row;
    }
  }
  r->conservativeResize(row);
  if (J) J->conservativeResize(row, n);
  return counts;
}

ViewSolver::Result ViewSolver::Improve(const WantedPicture& wanted, const PersonGuess& person, const Eigen::VectorXd& start,
                                       const Eigen::VectorXd& rest, int steps) const {
  using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, 8, 8>;
  using Vector = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, 8, 1>;
  const int n = stage_->arm.dof();
  Result best;
  best.q = Clamped(start);
  Rows r;
  RowJacobian J;
  Counts counts = Residuals(wanted, person, best.q, rest, &r, &J);
  best.cost = r.squaredNorm();
  double damping = 0.1;
  for (int step = 0; step < steps; ++step) {
    const Matrix H = J.transpose() * J;
    const Vector g = J.transpose() * r;
    if (g.norm() < 1e-7) break;
    Matrix A = H;
    A.diagonal().array() += damping * (1 + H.diagonal().array() * 0.1);
    Vector move = -A.ldlt().solve(g);
    const double longest = move.cwiseAbs().maxCoeff();
    if (longest > kLongestStep_rad) move *= kLongestStep_rad / longest;
    const Eigen::VectorXd q = Clamped(best.q + move);
    Rows r_next;
    RowJacobian J_next;
    const Counts next = Residuals(wanted, person, q, rest, &r_next, &J_next);
    const double cost = r_next.squaredNorm();
    if (cost < best.cost) {
      const bool settled = best.cost - cost < 1e-5 * (1e-3 + best.cost);
      best.q = q;
      best.cost = cost;
      r = r_next;
      J = J_next;
      counts = next;
      damping = std::max(damping * 0.3, 1e-4);
      if (settled) break;
    } else {
      damping *= 8;
      if (damping > 1e6) break;
    }
  }
  best.framing = r.head(counts.framing).squaredNorm();
  best.too_near = r.segment(counts.framing, counts.too_near).squaredNorm();
  const Eigen::Isometry3d X = X_WC(best.q);
  best.focal_m = FocalFor(wanted, std::max(0.05, (wanted.centre_W - X.translation()).dot(X.linear().col(2))));
  static_cast<void>(n);
  return best;
}

ViewSolver::Result ViewSolver::Search(const WantedPicture& wanted, const PersonGuess& person, const Eigen::VectorXd& q,
                                      double per_s) const {
  constexpr int kSteps = 14;
  constexpr size_t kStarts = 9;
  const double here = TooNear(person, q);
  const auto price = [&](const Result& found) {
    const double on_the_way = std::max(0.0, TooNearOnPath(person, q, found.q) - here);
    return found.cost + per_s * std::max(0.0, Travel_s(q, found.q) - kFreeTravel_s) + 0.1 * std::min(on_the_way, 30.0);
  };
  Result best = Improve(wanted, person, q, q, kSteps);
  double best_price = price(best);

  // Postures whose camera already stands and looks about right.
  const double far = wanted.extent_m * heights_per_focal_ * stage_->camera.focal_min_m / wanted.frame_heights;
  const Eigen::Vector3d eye_W = wanted.centre_W + std::clamp(far, 0.3, 1.2) * wanted.to_camera_W;
  std::vector<std::pair<double, size_t>> order;
  for (size_t i = 0; i < postures_.size(); ++i) {
    const Eigen::Isometry3d X = X_WC(postures_[i]);
    const Eigen::Vector3d to_subject = (wanted.centre_W - X.translation()).normalized();
    order.emplace_back((X.translation() - eye_W).norm() + 0.5 * (1 - X.linear().col(2).dot(to_subject)) +
                           0.3 * (1 + X.linear().col(1).dot(wanted.up_W)) + 0.1 * Travel_s(q, postures_[i]),
                       i);
  }
  std::sort(order.begin(), order.end());
  for (size_t k = 0; k < std::min(kStarts, order.size()); ++k) {
    const Result found = Improve(wanted, person, postures_[order[k].second], q, kSteps);
    const double found_price = price(found);
    if (found_price < best_price) best = found, best_price = found_price;
  }
  return Improve(wanted, person, best.q, best.q, 4);
}

}  // namespace dryrig
