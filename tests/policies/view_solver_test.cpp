#include "policies/view_solver.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "scenes/catalogue.h"
#include "sim/rng.h"

namespace dryrig {
namespace {

Stage ShippedStage(const std::string& arm, const std::string& bench, const std::string& camera) {
  return MakeStage(ReadBench(FindScene(SceneKind::kBench, bench)), ReadArm(FindScene(SceneKind::kArm, arm)),
                   ReadCamera(FindScene(SceneKind::kCamera, camera)));
}

Eigen::VectorXd RandomPosture(const ArmModel& arm, RandomStream* draws) {
  Eigen::VectorXd q(arm.dof());
  for (int i = 0; i < arm.dof(); ++i) {
    const Joint& joint = arm.joints[static_cast<size_t>(i)];
    q[i] = draws->Uniform(joint.lower, joint.upper);
  }
  return q;
}

PersonGuess SomebodyAt(const Stage& stage) {
  SceneFilter scene;
  scene.Reset(stage);
  PersonGuess person;
  GuessPerson(scene, 0, &person);
  return person;
}

WantedPicture HandsFromAbove(const Stage& stage) {
  WantedPicture picture;
  picture.centre_W = {0, 0.25, stage.bench.height_m + 0.03};
  picture.extent_m = 0.22;
  picture.frame_heights = 0.5;
  picture.to_camera_W = Eigen::Vector3d(0, 1, 1).normalized();
  picture.up_W = Eigen::Vector3d(0, -1, 1).normalized();
  return picture;
}

class EveryStage : public testing::Test {
 protected:
  template <class Check>
  void ForEach(Check check) {
    for (const std::string& arm : ListScenes(SceneKind::kArm)) {
      for (const std::string& bench : ListScenes(SceneKind::kBench)) {
        for (const std::string& camera : ListScenes(SceneKind::kCamera)) {
          SCOPED_TRACE(arm + " " + bench + " " + camera);
          check(ShippedStage(arm, bench, camera));
        }
      }
    }
  }
};
using ViewSolverTest = EveryStage;

TEST_F(ViewSolverTest, TheJacobianIsTheDerivativeOfTheResiduals) {
  ForEach([](const Stage& stage) {
    const ViewSolver solver(stage, ViewTuning{});
    const WantedPicture picture = HandsFromAbove(stage);
    const PersonGuess person = SomebodyAt(stage);
    RandomStream draws(7, "postures");
    int compared = 0;
    for (int k = 0; k < 60; ++k) {
      const Eigen::VectorXd q = RandomPosture(stage.arm, &draws), rest = RandomPosture(stage.arm, &draws);
      ViewSolver::Rows r, r_plus, r_minus;
      ViewSolver::RowJacobian J;
      solver.Residuals(picture, person, q, rest, &r, &J);
      for (int i = 0; i < stage.arm.dof(); ++i) {
        // Central difference of step h: error about h² times the third derivative, and 1e-16 / h of rounding.
        const double h = 1e-5;
        Eigen::VectorXd plus = q, minus = q;
        plus[i] += h, minus[i] -= h;
        solver.Residuals(picture, person, plus, rest, &r_plus, nullptr);
        solver.Residuals(picture, person, minus, rest, &r_minus, nullptr);
        if (r_plus.size() != r.size() || r_minus.size() != r.size()) continue;  // a guard begins or ends here: no derivative
        const Eigen::VectorXd slope = (r_plus - r_minus) / (2 * h);
        // Where the zoom follows the distance the composition row leaves that out on purpose (see the solver).
        const int first = stage.camera.focal_max_m > stage.camera.focal_min_m ? 3 : 0;
        // Image-up has no direction where the view is along it: there the solver damps the roll row, row 7, on purpose.
        const Eigen::Isometry3d X_WC = solver.X_WC(q);
        const bool roll_is_damped =
            std::pow(X_WC.linear().col(0).dot(picture.up_W), 2) + std::pow(X_WC.linear().col(1).dot(picture.up_W), 2) < 0.05;
        for (int row = first; row < r.size(); ++row) {
          if (row == 7 && roll_is_damped) continue;
          const double scale = std::max(1.0, J.row(row).norm());
          // A row that leaves zero within the step has half its slope: passed over, but counted.
          if ((r_plus[row] == 0) != (r_minus[row] == 0)) continue;
          EXPECT_NEAR(J(row, i), slope[row], 2e-4 * scale) << "row " << row << " joint " << i;
          ++compared;
        }
      }
    }
    EXPECT_GT(compared, 3000);
  });
}

TEST_F(ViewSolverTest, AReachableViewIsFoundToAFractionOfItsTolerance) {
  ForEach([](const Stage& stage) {
    // A view that is reachable because the arm stands in it: what its own camera sees from home.
    ViewTuning tuning;
    tuning.posture = tuning.manner = 0;
    const ViewSolver solver(stage, tuning);
    const PersonGuess nobody;
    int reached = 0;
    for (const Eigen::VectorXd& posture : solver.postures()) {
      const Eigen::Isometry3d X_WC = solver.X_WC(posture);
      WantedPicture picture;
      const double far = 0.5;
      picture.centre_W = X_WC * Eigen::Vector3d(0, 0, far);
      picture.to_camera_W = -X_WC.linear().col(2);
      picture.up_W = -X_WC.linear().col(1);
      picture.extent_m = 0.2;
      picture.frame_heights = FrameHeights(stage.camera, LensState{stage.camera.focal_min_m, far}, picture.extent_m, far);
      const auto found = solver.Search(picture, nobody, stage.arm.home, 0.0);
      if (found.framing < 0.01) ++reached;  // a tenth of a tolerance in all parts together
    }
    // Damped least squares may end in another fold of the arm now and then; not often.
    EXPECT_GE(reached, static_cast<int>(0.9 * static_cast<double>(solver.postures().size())));
  });
}

TEST_F(ViewSolverTest, NeverLeavesTheJointLimits) {
  ForEach([](const Stage& stage) {
    const ViewSolver solver(stage, ViewTuning{});
    WantedPicture picture = HandsFromAbove(stage);
    picture.centre_W = {5, -5, 3};  // far out of reach: the arm stretches as far as it may
    const auto found = solver.Search(picture, SomebodyAt(stage), stage.arm.home, 0.1);
    for (int i = 0; i < stage.arm.dof(); ++i) {
      EXPECT_GT(found.q[i], stage.arm.joints[static_cast<size_t>(i)].lower);
      EXPECT_LT(found.q[i], stage.arm.joints[static_cast<size_t>(i)].upper);
    }
  });
}

TEST_F(ViewSolverTest, BacksAwayFromThePersonRatherThanFillTheFrame) {
  ForEach([](const Stage& stage) {
    ViewTuning tuning;
    const PersonGuess person = SomebodyAt(stage);
    WantedPicture picture = HandsFromAbove(stage);
    picture.centre_W = person.capsules.back().b_W;  // a hand
    picture.extent_m = 0.04;
    picture.frame_heights = 0.8;  // asks for a camera well inside the clearance
    const auto found = ViewSolver(stage, tuning).Search(picture, person, stage.arm.home, 0.1);
    const Eigen::Vector3d p_WC = ViewSolver(stage, tuning).X_WC(found.q).translation();
    EXPECT_GT((p_WC - picture.centre_W).norm(), 0.25);
    // The broken twin, without a guard, goes there.
    tuning.clearance_m = 0;
    const auto careless = ViewSolver(stage, tuning).Search(picture, person, stage.arm.home, 0.1);
    EXPECT_LT((ViewSolver(stage, tuning).X_WC(careless.q).translation() - picture.centre_W).norm(),
              (p_WC - picture.centre_W).norm());
  });
}

TEST(ViewSolverLens, TheZoomMakesUpForTheDistanceInsideItsRange) {
  const Stage stage = ShippedStage(ListScenes(SceneKind::kArm).front(), "study-table", "zoom");
  const ViewSolver solver(stage, ViewTuning{});
  WantedPicture picture;
  picture.extent_m = 0.2;
  picture.frame_heights = 0.5;
  const double focal_m = 0.5 * (stage.camera.focal_min_m + stage.camera.focal_max_m);
  const double far = FrameHeights(stage.camera, LensState{focal_m, 1}, picture.extent_m, 1) / picture.frame_heights;
  EXPECT_NEAR(solver.FocalFor(picture, far), focal_m, 1e-12);
  EXPECT_EQ(solver.FocalFor(picture, 100 * far), stage.camera.focal_max_m);
  EXPECT_EQ(solver.FocalFor(picture, far / 100), stage.camera.focal_min_m);
}

}  // namespace
}  // namespace dryrig
