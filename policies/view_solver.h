#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "policies/picture.h"
#include "policies/scene_filter.h"
#include "scenes/stage.h"
#include "sim/kinematics.h"

namespace dryrig {

/// What each part of a view costs; framing parts in the scorecard's tolerances, the rest in its own unit.
struct ViewTuning {
  double composition = 1, size = 1, angle = 1;  // weights of squared tolerances
  double level = 4;                             // of image-up, times the angle's
  double sight = 1;                             // line of sight past head and trunk, of 50 mm
  double clearance_m = 0.5;                     // from person to arm or camera, from which on they are pushed apart
  double posture = 0.05;                        // of a radian (or 0.5 m) away from the posture it starts from
  double manner = 0.4;                          // of a joint at its limit; nothing from half a radian off

  void Visit(auto&& v) {
    v("composition", "1", composition, 0, 10, "weight of the subject's place in the frame");
    v("size", "1", size, 0, 10, "weight of the subject's size in the frame");
    v("angle", "1", angle, 0, 10, "weight of the direction of view and of image-up");
    v("level", "1", level, 0, 100, "weight of image-up, times that of the angle");
    v("sight", "1", sight, 0, 10, "weight of a line of sight clear of head and trunk");
    v("clearance_m", "m", clearance_m, 0, 1, "distance from a person at which arm and camera begin to give way");
    v("posture", "1/rad", posture, 0, 2, "cost of moving joints while a shot is held");
    v("manner", "1", manner, 0, 5, "cost of a joint at its limit; nothing from half a radian off");
  }
};

/// The person's volume guessed from tracked joints: few capsules, a little too large.
struct PersonGuess {
  struct Capsule {
    Eigen::Vector3d a_W, b_W;
    double radius_m;
    bool blocks;  // stands in the way of sight lines (head and trunk)
  };
  std::vector<Capsule> capsules;
  std::vector<Capsule> things;  // props, a ball each: the arm keeps off them, but need not keep its distance
};
/// With it the room that head and hands will go through within `foresight_s` at their present speed.
void GuessPerson(const SceneFilter& scene, double foresight_s, PersonGuess* out);

/// Finds joint positions that film a wanted picture: damped least squares over the residuals of one cost, analytic Jacobian,
/// inside the joint limits. Immutable after construction; cost of one step about 10 µs.
class ViewSolver {
 public:
  static constexpr int kMaxRows = 96;
  using Rows = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, kMaxRows, 1>;
  using RowJacobian = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, kMaxRows, 8>;
  struct Result {
    Eigen::VectorXd q;
    double focal_m = 0;
    double cost = 0;      // all residuals, squared
    double framing = 0;   // framing residuals alone
    double too_near = 0;  // clearance, bench and keep-out residuals alone
  };

  ViewSolver(const Stage& stage, const ViewTuning& tuning);

  /// A few damped steps from q; `rest` is the posture that leaving costs.
  Result Improve(const WantedPicture& wanted, const PersonGuess& person, const Eigen::VectorXd& q, const Eigen::VectorXd& rest,
                 int steps) const;
  /// From q and from the most promising of the built-in postures; travel from q counts as `per_s` cost for each second.
  Result Search(const WantedPicture& wanted, const PersonGuess& person, const Eigen::VectorXd& q, double per_s) const;

  /// Residuals and their Jacobian at q; J may be null. WantedPicture rows come first, then clearance rows, then the rest.
  struct Counts {
    int framing = 0, too_near = 0;
  };
  Counts Residuals(const WantedPicture& wanted, const PersonGuess& person, const Eigen::VectorXd& q, const Eigen::VectorXd& rest,
                   Rows* r, RowJacobian* J) const;

  /// Least distance from arm or camera to the person, negative inside, and its derivative by q; head and trunk count as so much
  /// nearer.
  struct Nearness {
    double gap_m = 1e9;
    Eigen::VectorXd opening;
  };
  Nearness NearestTo(const PersonGuess& person, const Eigen::VectorXd& q, double trunk_nearer_m = 0) const;
  /// Clearance, bench and keep-out residuals alone, squared.
  double TooNear(const PersonGuess& person, const Eigen::VectorXd& q) const;
  /// Its derivative by q.
  Eigen::VectorXd TooNearSlope(const PersonGuess& person, const Eigen::VectorXd& q) const;
  /// The greatest TooNear on the straight joint path, ends left out.
  double TooNearOnPath(const PersonGuess& person, const Eigen::VectorXd& from, const Eigen::VectorXd& to) const;
  /// Least time for the slowest joint.
  double Travel_s(const Eigen::VectorXd& from, const Eigen::VectorXd& to) const;
  /// Focal length that gives the wanted size from this depth, inside the lens's range.
  double FocalFor(const WantedPicture& wanted, double depth_m) const;
  Eigen::Isometry3d X_WC(const Eigen::VectorXd& q) const { return stage_->bench.X_WB * CameraPose(stage_->arm, q); }
  Eigen::VectorXd Clamped(Eigen::VectorXd q) const;
  const std::vector<Eigen::VectorXd>& postures() const { return postures_; }

 private:
  struct Ball {
    int link;
    Eigen::Vector3d p_L;
    double radius_m;
  };  // link -1: fixed to the base
  void AddGuards(const PersonGuess& person, const std::vector<Eigen::Isometry3d>& X_BL, Rows* r, RowJacobian* J, int* row) const;
  void MakeBalls();
  void MakePostures();

  const Stage* stage_;
  ViewTuning tuning_;
  double heights_per_focal_;  // frame heights of 1 m at 1 m for a focal length of 1 m
  std::vector<Ball> balls_;   // the arm's outside, for guards
  std::vector<Eigen::VectorXd> postures_;
};

}  // namespace dryrig
