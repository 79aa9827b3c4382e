#include "viewer/render/pair_picture.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "viewer/render/ink.h"
#include "viewer/render/studio.h"

namespace dryrig {

namespace {

constexpr int kWidth = 960, kHeight = 540, kIdWidth = 240, kIdHeight = 135;
constexpr int kAround = 12;
constexpr double kElevations[] = {0.15, 0.5, 0.95};
constexpr Colour kMark{0.85, 0.05, 0.05}, kPale{1, 1, 1};

/// Pixels of a body in a picture.
int Seen(const IdPicture& ids, int body) {
  return static_cast<int>(std::count(ids.body.begin(), ids.body.end(), body));
}

int BodyNamed(const DrawnScene& scene, const std::string& name) {
  for (int body = 0; body < scene.bodies(); ++body) {
    if (scene.NameOf(body) == name) return body;
  }
  return -1;
}

/// How well an observer sees the pair: 2 for each body that shows, 1 for the line seen from aside, a little for being upright and
/// before the person.
double Worth(const IdPicture& ids, const View& view, int arm, int limb, const Eigen::Vector3d& line_W, const Orbit& orbit) {
  constexpr int kShows = 12;  // pixels
  double worth = 0;
  for (const int body : {arm, limb}) worth += 2 * std::min(1.0, static_cast<double>(Seen(ids, body)) / kShows);
  const Eigen::Vector3d forward_W = view.X_WC.linear().col(2);
  if (line_W.norm() > 1e-6) worth += line_W.normalized().cross(forward_W).norm();
  return worth - 0.1 * std::abs(orbit.elevation_rad - 0.35) - 0.05 * std::abs(orbit.azimuth_rad);
}

}  // namespace

Picture DrawPair(const Take& take, const DrawnPair& pair, const std::string& caption) {
  Studio studio;
  DrawnScene scene(take);
  scene.SetFrame(take.frames[FilmFrame(take, pair.t_s)]);
  const int arm = BodyNamed(scene, take.arm_bodies[static_cast<size_t>(pair.arm_body)].body.name);
  const int limb = BodyNamed(scene, take.person.capsules[static_cast<size_t>(pair.capsule)].name);
  const Eigen::Vector3d line_W = pair.p_WPerson - pair.p_WArm;
  Orbit best;
  double most = -1e9;
  for (const double elevation_rad : kElevations) {
    for (int i = 0; i < kAround; ++i) {
      Orbit orbit;
      orbit.p_WTarget = 0.5 * (pair.p_WArm + pair.p_WPerson);
      orbit.azimuth_rad = std::remainder(2 * std::numbers::pi * i / kAround, 2 * std::numbers::pi);
      orbit.elevation_rad = elevation_rad;
      orbit.distance_m = std::max(1.5, 3 * line_W.norm());
      const View view = RoomView(orbit, static_cast<double>(kWidth) / kHeight);
      const double worth = Worth(studio.DrawIds(scene, view, kIdWidth, kIdHeight), view, arm, limb, line_W, orbit);
      if (worth > most) most = worth, best = orbit;
    }
  }
  const View view = RoomView(best, static_cast<double>(kWidth) / kHeight);
  Paper paper(kWidth, kHeight, kPale);
  paper.Paste(studio.DrawFrom(scene, view, {kWidth, kHeight}), 0, 0);
  constexpr int kDots = 24;
  for (int i = 0; i <= kDots; ++i) {
    const auto at = ToPixel(view, pair.p_WArm + (static_cast<double>(i) / kDots) * line_W, kWidth, kHeight);
    if (!at) continue;
    const double half = i == 0 || i == kDots ? 5 : 2;
    paper.Fill(at->x() - half - 1, at->y() - half - 1, 2 * half + 2, 2 * half + 2, kPale);
    paper.Fill(at->x() - half, at->y() - half, 2 * half, 2 * half, kMark);
  }
  Picture out = paper.Done();
  Caption(caption, &out);
  return out;
}

}  // namespace dryrig
