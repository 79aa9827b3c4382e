#include "scenes/camera.h"

#include <fmt/format.h>

#include <cmath>

#include "scenes/yaml_node.h"

namespace dryrig {

CameraBody ParseCamera(const std::string& text, const std::string& file_name) {
  const YamlMap map = YamlNode::Parse(text, file_name)
                          .Document("camera", {"title", "sensor_mm", "resolution_px", "focal_mm", "zoom_octaves_per_s",
                                               "focus_nearest_mm", "focus_dioptres_per_s", "f_number", "circle_of_confusion_um",
                                               "frame_rate_hz", "mass_kg", "housing"});
  CameraBody camera;
  camera.name = std::filesystem::path(file_name).stem().string();
  camera.title = map.Text("title");

  const Eigen::Vector2d sensor = map.Vector<2>("sensor_mm", {1, 60});
  camera.sensor_width_m = sensor.x();
  camera.sensor_height_m = sensor.y();
  const std::vector<YamlNode> pixels = map.At("resolution_px").List(2, 2);
  camera.width_px = pixels[0].Integer(64, 8192);
  camera.height_px = pixels[1].Integer(64, 8192);
  const double sensor_aspect = sensor.x() / sensor.y();
  if (std::abs(sensor_aspect / camera.aspect() - 1) > 0.02) {
    map.At("resolution_px")
        .Fail(fmt::format("{} x {} is {:.3f} times as wide as high, the sensor {:.3f}; pixels are square here, so match the two",
                          camera.width_px, camera.height_px, camera.aspect(), sensor_aspect));
  }

  const YamlNode focal = map.At("focal_mm");
  const Limits focal_mm{2, 300};
  if (focal.kind() == YamlNode::Kind::kList) {
    const std::vector<double> range = focal.Numbers(2, 2, focal_mm);
    camera.focal_min_m = range[0];
    camera.focal_max_m = range[1];
    if (range[0] >= range[1]) {
      focal.Fail(fmt::format("{} mm to {} mm is no zoom range; give the shorter first, or one number for a prime",
                             range[0] * 1000, range[1] * 1000));
    }
    camera.zoom_octaves_per_s = map.Number("zoom_octaves_per_s", {0.01, 20});
  } else {
    camera.focal_min_m = camera.focal_max_m = focal.Number(focal_mm);
    if (const auto zoom = map.Find("zoom_octaves_per_s")) {
      zoom->Fail(
          fmt::format("a prime of {} mm does not zoom; give focal_mm as a range or leave this out", camera.focal_min_m * 1000));
    }
  }

  camera.focus_nearest_m = map.Number("focus_nearest_mm", {10, 5000}, camera.focus_nearest_m);
  if (camera.focus_nearest_m <= camera.focal_max_m) {
    map.At(map.Has("focus_nearest_mm") ? "focus_nearest_mm" : "focal_mm")
        .FailPlain(fmt::format("focus_nearest_mm: {} mm is not beyond the focal length of {} mm; no lens focuses there",
                               camera.focus_nearest_m * 1000, camera.focal_max_m * 1000));
  }
  camera.focus_dioptres_per_s = map.Number("focus_dioptres_per_s", {0.01, 1000}, camera.focus_dioptres_per_s);
  camera.f_number = map.Number("f_number", {0.7, 64});
  camera.circle_of_confusion_m = map.Number("circle_of_confusion_um", {0.5, 200}, camera.circle_of_confusion_m);
  camera.frame_rate_hz = map.Number("frame_rate_hz", {1, 240});
  camera.mass_kg = map.Number("mass_kg", {0.01, 20});
  const YamlMap housing = map.At("housing").In("housing").Map({"size_mm", "centre_mm"});
  camera.half_m = housing.Vector<3>("size_mm", {5, 600}) / 2;
  camera.p_CHousing = housing.Vector<3>("centre_mm", {-500, 500});
  camera.text = text;
  return camera;
}

CameraBody ReadCamera(const std::filesystem::path& file) {
  return ParseCamera(ReadTextFile(file), file.string());
}

}  // namespace dryrig
