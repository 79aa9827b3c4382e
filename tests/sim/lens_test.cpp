#include "sim/lens.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace dryrig {
namespace {

CameraBody Zoom() {
  CameraBody camera;
  camera.sensor_width_m = 0.016;
  camera.sensor_height_m = 0.009;
  camera.width_px = 1600;
  camera.height_px = 900;
  camera.focal_min_m = 0.018;
  camera.focal_max_m = 0.072;
  camera.zoom_octaves_per_s = 2;
  camera.focus_nearest_m = 0.2;
  camera.focus_dioptres_per_s = 4;
  return camera;
}

TEST(Lens, ThingsOnTheAxisAreInTheMiddle) {
  const auto at = Project(Zoom(), {0.02, 1}, {0, 0, 3});
  ASSERT_TRUE(at);
  EXPECT_EQ(*at, ImagePoint(0, 0));
  EXPECT_EQ(*ProjectPx(Zoom(), {0.02, 1}, {0, 0, 3}), Eigen::Vector2d(799.5, 449.5));
}

// f = 18 mm on a 9 mm high sensor: a thing one metre off the axis at two metres is one frame height from the middle.
TEST(Lens, XGoesRightAndYGoesDown) {
  const LensState lens{0.018, 1};
  EXPECT_NEAR(Project(Zoom(), lens, {1, 0, 2})->x(), 1, 1e-15);
  EXPECT_NEAR(Project(Zoom(), lens, {0, 1, 2})->y(), 1, 1e-15);
  EXPECT_NEAR(ProjectPx(Zoom(), lens, {0.25, 0, 2})->x(), 799.5 + 225, 1e-9);
  EXPECT_NEAR(ProjectPx(Zoom(), lens, {0, -0.25, 2})->y(), 449.5 - 225, 1e-9);
}

TEST(Lens, NothingBehindTheCameraHasAnImage) {
  for (const double z : {0.0, -0.0, -1e-9, -2.0, std::numeric_limits<double>::quiet_NaN()}) {
    EXPECT_FALSE(Project(Zoom(), {0.02, 1}, {0.1, 0.1, z})) << z;
    EXPECT_FALSE(ProjectPx(Zoom(), {0.02, 1}, {0.1, 0.1, z})) << z;
  }
}

TEST(Lens, TheFrameEndsAtItsEdges) {
  const CameraBody camera = Zoom();
  EXPECT_TRUE(InFrame(camera, {8.0 / 9, 0.5}));
  EXPECT_TRUE(InFrame(camera, {-8.0 / 9, -0.5}));
  EXPECT_FALSE(InFrame(camera, {8.0 / 9 + 1e-9, 0}));
  EXPECT_FALSE(InFrame(camera, {0, -0.5 - 1e-9}));
  EXPECT_FALSE(InFrame(camera, {std::numeric_limits<double>::quiet_NaN(), 0}));
}

// What fills the field of view fills the frame.
TEST(Lens, FieldOfViewAndFrameHeightsAgree) {
  const CameraBody camera = Zoom();
  for (const double f : {0.018, 0.03, 0.072}) {
    const LensState lens{f, 1};
    const double half_v = std::tan(0.5 * VerticalFov_rad(camera, f)), half_h = std::tan(0.5 * HorizontalFov_rad(camera, f));
    EXPECT_NEAR(FrameHeights(camera, lens, 2 * half_v * 1.7, 1.7), 1, 1e-14);
    EXPECT_NEAR(Project(camera, lens, {half_h, half_v, 1})->x(), 0.5 * camera.aspect(), 1e-14);
    EXPECT_NEAR(Project(camera, lens, {half_h, half_v, 1})->y(), 0.5, 1e-14);
  }
}

TEST(Lens, DoublingTheFocalLengthDoublesTheImage) {
  const Eigen::Vector3d p(0.1, -0.05, 1.3);
  EXPECT_TRUE(Project(Zoom(), {0.04, 1}, p)->isApprox(2 * *Project(Zoom(), {0.02, 1}, p), 1e-15));
}

// A 36 x 24 sensor read as 16:9 keeps its width and loses height; pixels stay square.
TEST(Lens, AWiderPictureCropsTheSensorsHeight) {
  CameraBody camera = Zoom();
  camera.sensor_width_m = 0.036;
  camera.sensor_height_m = 0.024;
  EXPECT_NEAR(HorizontalFov_rad(camera, 0.036), 2 * std::atan(0.5), 1e-15);
  EXPECT_NEAR(VerticalFov_rad(camera, 0.036), 2 * std::atan(0.5 * 9 / 16), 1e-15);
  const Eigen::Vector2d middle(799.5, 449.5);
  const Eigen::Vector2d right = *ProjectPx(camera, {0.036, 1}, {0.1, 0, 1}) - middle,
                        down = *ProjectPx(camera, {0.036, 1}, {0, 0.1, 1}) - middle;
  EXPECT_NEAR(right.x(), down.y(), 1e-9);
}

TEST(Lens, WhatIsInFocusHoldsTheFocusDistance) {
  const CameraBody camera = Zoom();
  for (const double s : {0.2, 0.5, 1.0, 3.0}) {
    const DepthOfField field = FieldInFocus(camera, {0.072, s});
    EXPECT_LT(field.near_m, s);
    EXPECT_GT(field.far_m, s);
    EXPECT_GT(field.near_m, 0);
  }
}

TEST(Lens, FarFocusReachesInfinityWithoutNaN) {
  const CameraBody camera = Zoom();
  const double H = Hyperfocal_m(0.018, camera.f_number, camera.circle_of_confusion_m);
  for (const double s : {H, 2 * H, kFocusFarthest_m, std::numeric_limits<double>::infinity()}) {
    const DepthOfField field = FieldInFocus(camera, {0.018, s});
    EXPECT_EQ(field.far_m, std::numeric_limits<double>::infinity()) << s;
    EXPECT_GT(field.near_m, 0) << s;
    EXPECT_LE(field.near_m, H) << s;
  }
  EXPECT_LT(FieldInFocus(camera, {0.018, 0.99 * H}).far_m, std::numeric_limits<double>::infinity());
}

TEST(LensStep, ZoomsByOctavesASecond) {
  // Two octaves a second: a quarter of a second is half an octave.
  const LensState next = StepLens(Zoom(), {0.018, 1}, 0.072, 1, 0.25);
  EXPECT_NEAR(next.focal_m, 0.018 * std::sqrt(2.0), 1e-15);
  EXPECT_NEAR(StepLens(Zoom(), {0.072, 1}, 0.018, 1, 0.25).focal_m, 0.072 / std::sqrt(2.0), 1e-15);
}

TEST(LensStep, FocusesByDioptresASecond) {
  // From 1 m (1 dioptre) nearer by 4 dioptres a second for a quarter second: 2 dioptres, 0.5 m.
  EXPECT_NEAR(StepLens(Zoom(), {0.018, 1}, 0.018, 0.2, 0.25).focus_m, 0.5, 1e-15);
  // From 0.25 m (4 dioptres) farther: 3 dioptres.
  EXPECT_NEAR(StepLens(Zoom(), {0.018, 0.25}, 0.018, 10, 0.25).focus_m, 1.0 / 3, 1e-15);
}

TEST(LensStep, AWishInReachIsMetExactlyAndKept) {
  LensState lens{0.018, 1};
  for (int i = 0; i < 1000; ++i) lens = StepLens(Zoom(), lens, 0.0333, 0.777, 1.0 / 240);
  EXPECT_EQ(lens.focal_m, 0.0333);
  EXPECT_EQ(lens.focus_m, 0.777);
}

TEST(LensStep, NeverPassesTheWish) {
  LensState lens{0.018, 1};
  for (int i = 0; i < 1000; ++i) {
    const LensState next = StepLens(Zoom(), lens, 0.05, 0.3, 1.0 / 240);
    EXPECT_GE(next.focal_m, lens.focal_m);
    EXPECT_LE(next.focal_m, 0.05);
    EXPECT_LE(next.focus_m, lens.focus_m);
    EXPECT_GE(next.focus_m, 0.3);
    lens = next;
  }
}

TEST(LensStep, DoesNotDependOnTheStep) {
  LensState coarse{0.018, 1}, fine{0.018, 1};
  for (int i = 0; i < 24; ++i) coarse = StepLens(Zoom(), coarse, 0.07, 0.3, 1.0 / 240);
  for (int i = 0; i < 96; ++i) fine = StepLens(Zoom(), fine, 0.07, 0.3, 1.0 / 960);
  EXPECT_NEAR(coarse.focal_m, fine.focal_m, 1e-14);  // rounding of 96 steps
  EXPECT_NEAR(coarse.focus_m, fine.focus_m, 1e-13);
}

TEST(LensStep, StaysInsideItsRanges) {
  const double infinity = std::numeric_limits<double>::infinity();
  LensState low{0.018, 1}, high{0.018, 1};
  for (int i = 0; i < 2000; ++i) {
    low = StepLens(Zoom(), low, 0, 0.001, 0.01);
    high = StepLens(Zoom(), high, 5, infinity, 0.01);
  }
  EXPECT_EQ(low.focal_m, 0.018);
  EXPECT_EQ(low.focus_m, 0.2);
  EXPECT_EQ(high.focal_m, 0.072);
  EXPECT_EQ(high.focus_m, kFocusFarthest_m);
  const LensState unset = StepLens(Zoom(), LensState{}, 0.03, 1, 0.01);  // a lens not set yet starts at its short end
  EXPECT_GE(unset.focal_m, 0.018);
}

TEST(LensStep, APrimeStays) {
  CameraBody prime = Zoom();
  prime.focal_max_m = prime.focal_min_m;
  prime.zoom_octaves_per_s = 0;
  EXPECT_EQ(StepLens(prime, {prime.focal_min_m, 1}, 0.05, 1, 1).focal_m, prime.focal_min_m);
}

}  // namespace
}  // namespace dryrig
