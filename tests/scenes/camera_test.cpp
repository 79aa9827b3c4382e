#include "scenes/camera.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "scenes/catalogue.h"
#include "scenes/error.h"
#include "scenes/stage.h"

namespace dryrig {
namespace {

TEST(Camera, ZoomIsReadInMetres) {
  const CameraBody camera = ParseCamera(
      "dryrig: camera/1\ntitle: Zoom\nsensor_mm: [12, 6.75]\nresolution_px: [1280, 720]\nfocal_mm: [8, 32]\nzoom_octaves_per_s: "
      "0.5\n"
      "focus_nearest_mm: 150\nfocus_dioptres_per_s: 3\nf_number: 2.8\ncircle_of_confusion_um: 9\nframe_rate_hz: 24\nmass_kg: "
      "0.9\n"
      "housing: {size_mm: [110, 90, 150], centre_mm: [0, 1, -60]}\n",
      "zoom.yaml");
  EXPECT_EQ(camera.sensor_width_m, 0.012);
  EXPECT_EQ(camera.sensor_height_m, 0.00675);
  EXPECT_EQ(camera.width_px, 1280);
  EXPECT_EQ(camera.height_px, 720);
  EXPECT_EQ(camera.focal_min_m, 0.008);
  EXPECT_EQ(camera.focal_max_m, 0.032);
  EXPECT_EQ(camera.zoom_octaves_per_s, 0.5);
  EXPECT_EQ(camera.focus_nearest_m, 0.15);
  EXPECT_EQ(camera.focus_dioptres_per_s, 3);
  EXPECT_EQ(camera.f_number, 2.8);
  EXPECT_EQ(camera.circle_of_confusion_m, 9e-6);
  EXPECT_EQ(camera.frame_rate_hz, 24);
  EXPECT_EQ(camera.mass_kg, 0.9);
  EXPECT_EQ(camera.half_m, Eigen::Vector3d(0.055, 0.045, 0.075));
  EXPECT_EQ(camera.p_CHousing, Eigen::Vector3d(0, 0.001, -0.06));
}

TEST(ShippedCameras, AreAPrimeAndAZoomWithSquarePixels) {
  int primes = 0, zooms = 0;
  for (const std::string& name : ListScenes(SceneKind::kCamera)) {
    SCOPED_TRACE(name);
    const CameraBody camera = ReadCamera(FindScene(SceneKind::kCamera, name));
    (camera.focal_min_m == camera.focal_max_m ? primes : zooms) += 1;
    // Sensors are printed to a tenth of a millimetre: 1 % of the shape.
    EXPECT_NEAR(camera.sensor_width_m / camera.sensor_height_m / camera.aspect(), 1, 0.01);
    // The optical centre lies within the housing, near its front face.
    const Eigen::Vector3d front = camera.p_CHousing + camera.half_m;
    EXPECT_GE(front.z(), 0);
    EXPECT_LE(front.z(), 0.05);
  }
  EXPECT_GE(primes, 1);
  EXPECT_GE(zooms, 1);
}

TEST(Stage, RefusesACameraAboveThePayloadWithBothWeights) {
  ArmModel arm;
  arm.name = "twig";
  arm.payload_kg = 0.5;
  CameraBody camera;
  camera.name = "brick";
  camera.mass_kg = 0.75;
  EXPECT_THAT([&] { MakeStage(Bench{}, arm, camera); },
              testing::ThrowsMessage<InputError>(
                  testing::HasSubstr("camera brick: 0.75 kg, but arm twig carries at most 0.5 kg; choose")));
}

}  // namespace
}  // namespace dryrig
