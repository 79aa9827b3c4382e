#include "bench/replay.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>

namespace dryrig {

namespace {

using Json = nlohmann::ordered_json;

constexpr double kRate_hz = 5;
constexpr double kSeen_m = 0.3;  // how far before the lens its corners are drawn

void Put(const Eigen::Vector3d& p_W, Json* flat) {
  for (int i = 0; i < 3; ++i) flat->push_back(std::lround(p_W[i] * 1000));
}

double Rounded(double value) {
  return std::round(value * 1000) / 1000;
}

/// Corners of the frame kSeen_m before the lens.
std::vector<Eigen::Vector3d> SeenCorners(const CameraBody& camera, const TakeFrame& frame) {
  const double x = camera.sensor_width_m / 2 / frame.lens.focal_m * kSeen_m,
               y = camera.sensor_height_m / 2 / frame.lens.focal_m * kSeen_m;
  std::vector<Eigen::Vector3d> out;
  for (const auto& [sx, sy] : {std::pair(-1, -1), {1, -1}, {1, 1}, {-1, 1}})
    out.push_back(frame.X_WC * Eigen::Vector3d(sx * x, sy * y, kSeen_m));
  return out;
}

/// Mean, or least, of each fifth of a second; null where a fifth has no value.
Json Coarse(const Series& series, bool least) {
  Json out = Json::array();
  const auto step = static_cast<size_t>(std::max(1.0, series.rate_hz / kRate_hz));
  for (size_t from = 0; from < series.values.size(); from += step) {
    std::optional<double> gathered;
    size_t count = 0;
    for (size_t i = from; i < std::min(from + step, series.values.size()); ++i) {
      const double value = series.values[i];
      if (std::isnan(value)) continue;
      gathered = !gathered ? value : least ? std::min(*gathered, value) : *gathered + value;
      ++count;
    }
    out.push_back(gathered ? Json(Rounded(least ? *gathered : *gathered / static_cast<double>(count))) : Json(nullptr));
  }
  return out;
}

}  // namespace

Json ReplayJson(const Take& take) {
  std::vector<int> points;  // of the body, in use
  Json bones = Json::array();
  const auto index_of = [&points](int point) {
    const auto at = std::find(points.begin(), points.end(), point);
    if (at != points.end()) return at - points.begin();
    points.push_back(point);
    return static_cast<std::ptrdiff_t>(points.size()) - 1;
  };
  for (const PersonCapsule& capsule : take.person.capsules) {
    const auto a = index_of(capsule.a), b = index_of(capsule.b);
    bones.push_back({a, b, std::lround(capsule.radius_m * 1000)});
  }
  Json out{{"rate_hz", kRate_hz},
           {"bones", bones},
           {"people", points.size()},
           {"links", take.frames.empty() ? 0 : take.frames[0].X_WL.size()}};
  out["props"] = Json::array();
  for (const TakeProp& prop : take.props) out["props"].push_back(prop.name);
  out["base"] = Json::array();
  Put(take.X_WB.translation(), &out["base"]);
  out["bench"] = Json::array();
  const Eigen::Vector3d& half = take.bench_top.shape.half_m;
  for (const auto& [sx, sy] : {std::pair(-1, -1), {1, -1}, {1, 1}, {-1, 1}})
    Put(take.bench_top.X_LS * Eigen::Vector3d(sx * half.x(), sy * half.y(), half.z()), &out["bench"]);
  out["frames"] = Json::array();
  const double step = std::max(1.0, take.id.frame_hz / kRate_hz);
  for (double at = 0; at < static_cast<double>(take.frames.size()); at += step) {
    const TakeFrame& frame = take.frames[static_cast<size_t>(at)];
    Json flat = Json::array();
    for (const int point : points) Put(frame.person.p_W[static_cast<size_t>(point)], &flat);
    for (const Eigen::Isometry3d& X_WL : frame.X_WL) Put(X_WL.translation(), &flat);
    Put(frame.X_WC.translation(), &flat);
    for (const Eigen::Vector3d& corner : SeenCorners(take.camera, frame)) Put(corner, &flat);
    for (const Eigen::Isometry3d& X_WP : frame.X_WP) Put(X_WP.translation(), &flat);
    out["frames"].push_back(std::move(flat));
  }
  return out;
}

Json CourseJson(const Take& take, const Scorecard& card) {
  Json out{{"duration_s", Rounded(take.duration_s)}, {"rate_hz", kRate_hz}};
  out["beats"] = out["intents"] = out["sentences"] = Json::array();
  for (const TimedBeat& beat : take.beats) out["beats"].push_back({Rounded(beat.start_s), Rounded(beat.end_s), beat.label});
  for (const TimedIntent& intent : take.intents)
    out["intents"].push_back({Rounded(intent.start_s), Rounded(intent.end_s), ToString(intent.shot)});
  for (const Sentence& sentence : take.sentences)
    out["sentences"].push_back({Rounded(sentence.start_s), Rounded(sentence.end_s), sentence.text});
  for (const char* name : {"framing_error", "hand_visibility", "closest_approach"}) {
    const Metric& metric = FindMetric(name);
    const auto m = static_cast<size_t>(&metric - Metrics().data());
    out["series"].push_back(
        {{"name", name}, {"unit", metric.unit}, {"values", Coarse(card.scores.at(m).series, metric.name == "closest_approach")}});
  }
  return out;
}

}  // namespace dryrig
