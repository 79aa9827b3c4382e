// Views: the lens's is Project's own, the room's is an observer who stays upright.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "sim/rng.h"
#include "tests/sim/random_solids.h"
#include "viewer/render/view.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector2d;
using Eigen::Vector3d;

TEST(RenderView, LensViewAgreesWithProject) {
  RandomStream random(3, "views");
  CameraBody camera;
  camera.sensor_width_m = 0.0235, camera.sensor_height_m = 0.0156;  // wider pixels do not fit the height: bars are cut
  for (int i = 0; i < 200; ++i) {
    const LensState lens{random.Uniform(0.008, 0.05), 1};
    const Isometry3d X_WC = testing::RandomPose(&random, 1);
    const Vector3d p_W = testing::RandomPoint(&random, 2);
    const View view = LensView(camera, lens, X_WC);
    const auto seen = ToPixel(view, p_W, camera.width_px, camera.height_px);
    const auto wanted = ProjectPx(camera, lens, X_WC.inverse() * p_W);
    ASSERT_EQ(seen.has_value(), wanted.has_value());
    // Pixels' middles have whole numbers in ProjectPx and halves here. Images far outside the frame are large numbers.
    if (!seen) continue;
    EXPECT_LT((*seen - *wanted - Vector2d(0.5, 0.5)).norm(), 1e-9 * (1 + wanted->norm()));
  }
}

TEST(RenderView, AnObserverLooksAtTheTargetUpright) {
  for (const double azimuth : {-3.0, -1.0, 0.0, 0.6, 2.5}) {
    for (const double elevation : {-1.5, 0.0, 0.4, 1.5}) {
      const Orbit orbit{{0.1, 0.3, 0.8}, azimuth, elevation, 2};
      const View view = RoomView(orbit, 1.6);
      const auto at = ToPixel(view, orbit.p_WTarget, 160, 100);
      ASSERT_TRUE(at);
      EXPECT_LT((*at - Vector2d(80, 50)).norm(), 1e-9);
      EXPECT_NEAR((view.X_WC.translation() - orbit.p_WTarget).norm(), 2, 1e-12);
      EXPECT_NEAR(view.X_WC.linear().determinant(), 1, 1e-12);
      EXPECT_LT((*ToPixel(view, orbit.p_WTarget + Vector3d(0, 0, 0.1), 160, 100)).y(), 50) << "up is up";
      EXPECT_NEAR(view.X_WC.linear()(2, 0), 0, 1e-12) << "level";
    }
  }
}

TEST(RenderView, AzimuthZeroFacesTheInstructorAndGrowsToTheObserversRight) {
  const Vector3d before = RoomView({{0, 0, 1}, 0, 0, 2}, 1).X_WC.translation();
  EXPECT_LT((before - Vector3d(0, 2, 1)).norm(), 1e-12);
  // Facing the instructor, the observer's right is the instructor's left: -x.
  EXPECT_LT(RoomView({{0, 0, 1}, 0.3, 0, 2}, 1).X_WC.translation().x(), -0.5);
  Orbit orbit;
  orbit.Turn(2 * std::numbers::pi, 9);
  EXPECT_NEAR(orbit.azimuth_rad, Orbit{}.azimuth_rad, 1e-12);
  EXPECT_EQ(orbit.elevation_rad, 1.5);
}

TEST(RenderView, PanMovesWhatIsSeenWithTheHandAndZoomKeepsToItsRange) {
  Orbit orbit;
  const Vector3d target = orbit.p_WTarget;
  orbit.Pan(0.2, 0.1);
  const auto at = ToPixel(RoomView(orbit, 1), target, 100, 100);
  ASSERT_TRUE(at);
  EXPECT_LT((*at - Vector2d(70, 60)).norm(), 1e-9);
  orbit.Zoom(1e-9);
  EXPECT_EQ(orbit.distance_m, 0.2);
  orbit.Zoom(1e9);
  EXPECT_EQ(orbit.distance_m, 20);
}

}  // namespace
}  // namespace dryrig
