#include "sim/lens.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "tests/outside/listed.h"

namespace dryrig {
namespace {

constexpr double kDegree = std::numbers::pi / 180;

// 36 x 24 mm with 3:2 pixels: the format that the printed tables are for.
CameraBody FullFrame(double f_number = 8, double circle_m = 3e-5) {
  CameraBody camera;
  camera.sensor_width_m = 0.036;
  camera.sensor_height_m = 0.024;
  camera.width_px = 3600;
  camera.height_px = 2400;
  camera.f_number = f_number;
  camera.circle_of_confusion_m = circle_m;
  return camera;
}

// Field of View Values, photonstophotos.net: degrees, printed to 0.1.
TEST(PublishedLens, FieldOfViewTable) {
  struct Row {
    double f_mm, h_deg, v_deg;
  };
  for (const Row& row : {Row{24, 73.7, 53.1}, Row{35, 54.4, 37.8}, Row{50, 39.6, 27.0}, Row{85, 23.9, 16.1}}) {
    EXPECT_NEAR(HorizontalFov_rad(FullFrame(), row.f_mm / 1000) / kDegree, row.h_deg, 0.051) << row.f_mm;
    EXPECT_NEAR(VerticalFov_rad(FullFrame(), row.f_mm / 1000) / kDegree, row.v_deg, 0.051) << row.f_mm;
  }
  // Halving 50 mm's field gives 19.8 at 100 mm, as some tables do; the printed value is 20.4.
  EXPECT_NEAR(HorizontalFov_rad(FullFrame(), 0.1) / kDegree, 20.4, 0.051);
}

// Hyperfocal distance f²/(N c) + f. 35 mm f/11, c = 0.03 mm: 3.75 m (hpmuseum.org, thread 10631).
// 50 mm f/8, c = 0.033 mm: 9.47 m without the trailing f (sedlacekphoto.com).
TEST(PublishedLens, HyperfocalDistances) {
  EXPECT_NEAR(Hyperfocal_m(0.035, 11, 3e-5), 3.75, 0.005);
  EXPECT_NEAR(Hyperfocal_m(0.035, 11, 3e-5), 3.74712, 1e-5);
  EXPECT_NEAR(Hyperfocal_m(0.05, 8, 3.3e-5) - 0.05, 9.47, 0.005);
}

// Thin-lens depth of field, worked by hand from near = s(H-f)/(H+s-2f), far = s(H-f)/(H-s); c = 0.03 mm. Millimetres.
TEST(PublishedLens, DepthOfFieldTable) {
  struct Row {
    double f_mm, f_number, s_mm, near_mm, far_mm;
  };
  for (const Row& row : {Row{50, 8, 3000, 2337.91, 4185.27}, Row{35, 4, 1500, 1311.75, 1751.33},
                         Row{50, 2.8, 1000, 969.07, 1032.97}, Row{85, 2.8, 1000, 989.47, 1010.75}}) {
    const DepthOfField field = FieldInFocus(FullFrame(row.f_number), {row.f_mm / 1000, row.s_mm / 1000});
    EXPECT_NEAR(field.near_m * 1000, row.near_mm, 0.006) << row.f_mm;
    EXPECT_NEAR(field.far_m * 1000, row.far_mm, 0.006) << row.f_mm;
  }
}

// Focused at the hyperfocal distance all is sharp from half of it to infinity (any textbook of photography).
TEST(PublishedLens, FocusAtTheHyperfocalDistance) {
  const double H = Hyperfocal_m(0.05, 8, 3e-5);
  const DepthOfField field = FieldInFocus(FullFrame(8), {0.05, H});
  EXPECT_NEAR(field.near_m, 5.23333, 1e-5);
  EXPECT_NEAR(field.near_m, H / 2, 1e-12);
  EXPECT_EQ(field.far_m, std::numeric_limits<double>::infinity());
}

// u = fx X/Z + cx, v = fy Y/Z + cy (OpenCV, calib3d.hpp). fx = 1866.6667 at 1920 px and (0.2, -0.1, 1.5) give offsets of
// 248.8889 and -124.4444 px from the principal point, which for a symmetric image of 1920 x 1080 is (959.5, 539.5).
TEST(PublishedLens, OpenCvProjection) {
  CameraBody camera;
  camera.sensor_width_m = 0.036;
  camera.sensor_height_m = 0.02025;
  camera.width_px = 1920;
  camera.height_px = 1080;
  const auto px = ProjectPx(camera, {0.035, 1}, {0.2, -0.1, 1.5});  // 0.035 / 0.036 * 1920 = 1866.6667
  ASSERT_TRUE(px);
  EXPECT_NEAR(px->x(), 1208.8889 - 0.5, 1e-4);
  EXPECT_NEAR(px->y(), 415.5556 - 0.5, 1e-4);
}

// Solid angle of the frame, 4 asin(sin(a/2) sin(b/2)) over the full angles a, b: 0.5955138 sr for 35 mm (three closed forms
// agree).
TEST(PublishedLens, SolidAngleOfTheFrame) {
  const double a = HorizontalFov_rad(FullFrame(), 0.035), b = VerticalFov_rad(FullFrame(), 0.035);
  EXPECT_NEAR(4 * std::asin(std::sin(a / 2) * std::sin(b / 2)), 0.5955138, 5e-8);
  EXPECT_NEAR(2 * std::numbers::pi - 4 * std::acos(std::sin(a / 2) * std::sin(b / 2)), 0.5955138, 5e-8);

  // The same by adding up the solid angles of the picture's pixels.
  const double f = 0.035, side = 0.036 / 360;
  double sum = 0;
  for (int x = 0; x < 360; ++x) {
    for (int y = 0; y < 240; ++y) {
      const double px = (x + 0.5) * side - 0.018, py = (y + 0.5) * side - 0.012;
      sum += side * side * f / std::pow(f * f + px * px + py * py, 1.5);
    }
  }
  EXPECT_NEAR(sum, 0.5955138, 1e-5);  // midpoint rule, error of order (pixel / f)²
}

// The eye measures 2 atan(h / 2d); a thing of the field's height at that distance fills the frame: 24 mm at 50 mm.
TEST(PublishedLens, PinholeMagnification) {
  EXPECT_NEAR(FrameHeights(FullFrame(), {0.05, 1}, 0.48, 1), 1, 1e-14);
}

}  // namespace
}  // namespace dryrig
