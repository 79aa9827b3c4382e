#include "scenes/camera_track.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "scenes/error.h"
#include "scenes/number_table.h"

namespace dryrig {

namespace {

constexpr double kFarthest_m = 20;  // no arm carries its camera so far from the bench
constexpr double kNormSlack = 0.02, kMostMissing = 0.5, kLeast_s = 1;
constexpr double kLeastRate_hz = 10, kMostRate_hz = 2000;

}  // namespace

CameraTrack ParseCameraTrack(std::string_view text, const std::string& file_name) {
  const NumberTable table = ParseNumberTable(text, file_name);
  const auto fail = [&](const std::string& message, int line = 0) { throw InputError({file_name, line}, message); };
  const bool ms = table.Find("t_s") < 0 && table.Find("t_ms") >= 0, mm = table.Find("x_m") < 0 && table.Find("x_mm") >= 0;
  int columns[8];
  const std::string names[8] = {
      ms ? "t_ms" : "t_s", mm ? "x_mm" : "x_m", mm ? "y_mm" : "y_m", mm ? "z_mm" : "z_m", "qx", "qy", "qz", "qw"};
  for (int i = 0; i < 8; ++i) {
    columns[i] = table.Find(names[i]);
    if (columns[i] < 0) fail(fmt::format("no column {}{}", names[i], Suggest(names[i], table.columns)));
  }
  CameraTrack out;
  out.name = std::filesystem::path(file_name).stem().string();
  size_t missing = 0;
  for (size_t row = 0; row < table.rows.size(); ++row) {
    double v[8];
    for (int i = 0; i < 8; ++i) v[i] = table.rows[row][static_cast<size_t>(columns[i])];
    if (std::isnan(v[0])) fail("a row without a time", table.lines[row]);
    if (std::any_of(v, v + 8, [](double x) { return std::isnan(x); })) {
      ++missing;
      continue;
    }
    const double t_s = v[0] * (ms ? 1e-3 : 1);
    if (!out.t_s.empty() && t_s <= out.t_s.back())
      fail(fmt::format("the time goes from {:.6f} s to {:.6f} s; two clocks, "
                       "or rows out of order",
                       out.t_s.back(), t_s),
           table.lines[row]);
    const Eigen::Vector3d p = Eigen::Vector3d(v[1], v[2], v[3]) * (mm ? 1e-3 : 1);
    if (p.norm() > kFarthest_m) {
      fail(fmt::format("the camera is {:.4g} m from the room's origin{}", p.norm(),
                       mm ? ""
                          : "; are these millimetres? Name the columns x_mm, "
                            "y_mm, z_mm"),
           table.lines[row]);
    }
    const Eigen::Quaterniond q(v[7], v[4], v[5], v[6]);
    if (std::abs(q.norm() - 1) > kNormSlack)
      fail(fmt::format("qx, qy, qz, qw: a length of {:.4g} is no rotation", q.norm()), table.lines[row]);
    Eigen::Isometry3d X = Eigen::Isometry3d::Identity();
    X.linear() = q.normalized().toRotationMatrix();
    X.translation() = p;
    out.t_s.push_back(t_s);
    out.X_WC.push_back(X);
  }
  if (static_cast<double>(missing) > kMostMissing * static_cast<double>(table.rows.size()))
    fail(fmt::format("{} of {} rows have no whole pose", missing, table.rows.size()));
  if (missing > 0) out.notes.push_back(fmt::format("{} rows have no whole pose: left out", missing));
  if (out.t_s.size() < 10 || out.t_s.back() - out.t_s.front() < kLeast_s)
    fail(fmt::format("{} poses; {} s of them at least", out.t_s.size(), kLeast_s));
  out.rate_hz = static_cast<double>(out.t_s.size() - 1) / (out.t_s.back() - out.t_s.front());
  if (!(out.rate_hz >= kLeastRate_hz && out.rate_hz <= kMostRate_hz))
    fail(fmt::format("{:.4g} poses a second; {} to {} are read. Is the time in {}?", out.rate_hz, kLeastRate_hz, kMostRate_hz,
                     names[0]));
  return out;
}

Eigen::Isometry3d TrackedAt(const CameraTrack& track, double t_s) {
  const auto next = std::clamp<std::ptrdiff_t>(std::upper_bound(track.t_s.begin(), track.t_s.end(), t_s) - track.t_s.begin(), 1,
                                               static_cast<std::ptrdiff_t>(track.t_s.size()) - 1);
  const auto b = static_cast<size_t>(next), a = b - 1;
  const double s = std::clamp((t_s - track.t_s[a]) / (track.t_s[b] - track.t_s[a]), 0.0, 1.0);
  Eigen::Isometry3d X = Eigen::Isometry3d::Identity();
  X.linear() = Eigen::Quaterniond(track.X_WC[a].linear()).slerp(s, Eigen::Quaterniond(track.X_WC[b].linear())).toRotationMatrix();
  X.translation() = (1 - s) * track.X_WC[a].translation() + s * track.X_WC[b].translation();
  return X;
}

}  // namespace dryrig
