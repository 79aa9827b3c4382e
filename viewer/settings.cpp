#include "viewer/settings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace dryrig {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

constexpr const char* kFormat = "viewer/1";
constexpr size_t kMostRecent = 12, kMostPlotted = 8;

/// One list for reading and writing: name, place and, for numbers, range.
template <class V, class S>
void Visit(S& s, V&& v) {
  v.Number("width", s.width, 640, 16384);
  v.Number("height", s.height, 400, 16384);
  v.Number("text_scale", s.text_scale, 0.75, 3);
  v.Value("thirds", s.thirds);
  v.Value("safe_area", s.safe_area);
  v.Value("sight_lines", s.sight_lines);
  v.Value("clearance", s.clearance);
  v.Value("shadows", s.shadows);
  v.Number("orbit_x_m", s.orbit.p_WTarget.x(), -20, 20);
  v.Number("orbit_y_m", s.orbit.p_WTarget.y(), -20, 20);
  v.Number("orbit_z_m", s.orbit.p_WTarget.z(), -20, 20);
  v.Number("orbit_azimuth_rad", s.orbit.azimuth_rad, -M_PI, M_PI);
  v.Number("orbit_elevation_rad", s.orbit.elevation_rad, -1.5, 1.5);
  v.Number("orbit_distance_m", s.orbit.distance_m, 0.2, 20);
  v.Value("plotted", s.plotted);
  v.Value("recent", s.recent);
}

struct Writer {
  Json& json;
  template <class T>
  void Number(const char* name, const T& value, double, double) {
    json[name] = value;
  }
  template <class T>
  void Value(const char* name, const T& value) {
    json[name] = value;
  }
};

struct Reader {
  const Json& json;
  template <class T>
  void Number(const char* name, T& value, double lo, double hi) {
    double read = json.value(name, static_cast<double>(value));
    if (!std::isfinite(read)) return;
    value = static_cast<T>(std::clamp(read, lo, hi));
  }
  template <class T>
  void Value(const char* name, T& value) {
    value = json.value(name, value);
  }
};

}  // namespace

void Remember(Settings* settings, const std::string& what) {
  if (what.empty()) return;
  auto& recent = settings->recent;
  recent.erase(std::remove(recent.begin(), recent.end(), what), recent.end());
  recent.insert(recent.begin(), what);
  if (recent.size() > kMostRecent) recent.resize(kMostRecent);
}

fs::path SettingsFile() {
  const auto folder = [](const char* variable) -> fs::path {
    const char* set = std::getenv(variable);
    return set != nullptr && *set == '/' ? fs::path(set) : fs::path();  // relative ones count as unset (XDG base directories)
  };
  if (const fs::path config = folder("XDG_CONFIG_HOME"); !config.empty()) return config / "dryrig" / "viewer.json";
  if (const fs::path home = folder("HOME"); !home.empty()) return home / ".config" / "dryrig" / "viewer.json";
  return {};
}

LoadedSettings LoadSettings(const fs::path& file) {
  std::error_code error;
  if (file.empty() || !fs::exists(file, error)) return {};
  LoadedSettings out;
  try {
    std::ifstream in(file, std::ios::binary);
    const Json json = Json::parse(in);
    if (json.value("dryrig", "") != kFormat) throw std::runtime_error(fmt::format("it is no {} file", kFormat));
    Visit(out.settings, Reader{json});
    if (out.settings.recent.size() > kMostRecent) out.settings.recent.resize(kMostRecent);
    if (out.settings.plotted.size() > kMostPlotted) out.settings.plotted.resize(kMostPlotted);
    return out;
  } catch (const std::exception& wrong) {
    return {Settings{}, fmt::format("{} is not used, the settings are the defaults: {}", file.string(), wrong.what())};
  }
}

std::string SaveSettings(const Settings& settings, const fs::path& file) {
  if (file.empty()) return "there is no home folder to keep the settings in";
  Json json{{"dryrig", kFormat}};
  Visit(settings, Writer{json});
  const auto failed = [&](const std::string& why) { return fmt::format("{} is not written: {}", file.string(), why); };
  std::error_code error;
  fs::create_directories(file.parent_path(), error);
  if (error) return failed(error.message());
  const fs::path part = file.string() + ".part";
  {
    std::ofstream out(part, std::ios::binary);
    // A path may hold bytes that are no UTF-8.
    out << json.dump(2, ' ', false, Json::error_handler_t::replace) << '\n';
    out.flush();
    if (!out) return failed("the folder cannot be written");
  }
  fs::rename(part, file, error);
  return error ? failed(error.message()) : "";
}

}  // namespace dryrig
