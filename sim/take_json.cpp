#include "sim/take_json.h"

#include <fmt/format.h>

#include <cmath>
#include <concepts>
#include <nlohmann/json.hpp>

#include "scenes/error.h"

namespace dryrig {

namespace {

using Json = nlohmann::json;

// One Describe a struct serves both directions: `ar` is a Writer with a const value or a Reader with a mutable one.
template <class T, class U>
concept Is = std::same_as<std::remove_const_t<T>, U>;

void Describe(auto& ar, Is<TakeIdentity> auto& v) {
  auto& [lesson, policy, arm, bench, person, camera, sensing, params, seed, physics_hz, control_hz, frame_hz, inputs_hash] = v;
  ar("lesson", lesson), ar("policy", policy), ar("arm", arm), ar("bench", bench), ar("person", person), ar("camera", camera);
  ar("sensing", sensing), ar("params", params), ar("seed", seed), ar("physics_hz", physics_hz), ar("control_hz", control_hz);
  ar("frame_hz", frame_hz), ar("inputs_hash", inputs_hash);
}
void Describe(auto& ar, Is<Subject> auto& v) {
  auto& [kind, prop] = v;
  ar("kind", kind), ar("prop", prop);
}
void Describe(auto& ar, Is<Shot> auto& v) {
  auto& [subjects, size, angle, composition] = v;
  ar("subjects", subjects), ar("size", size), ar("angle", angle), ar("composition", composition);
}
void Describe(auto& ar, Is<TimedBeat> auto& v) {
  auto& [start_s, ready_s, end_s, beat, label] = v;
  ar("start_s", start_s), ar("ready_s", ready_s), ar("end_s", end_s), ar("beat", beat), ar("label", label);
}
void Describe(auto& ar, Is<TimedIntent> auto& v) {
  auto& [start_s, end_s, shot, beat] = v;
  ar("start_s", start_s), ar("end_s", end_s), ar("shot", shot), ar("beat", beat);
}
void Describe(auto& ar, Is<Sentence> auto& v) {
  auto& [start_s, end_s, text] = v;
  ar("start_s", start_s), ar("end_s", end_s), ar("text", text);
}
void Describe(auto& ar, Is<Startle> auto& v) {
  auto& [start_s, away_W, lean] = v;
  ar("start_s", start_s), ar("away", away_W), ar("lean", lean);
}
void Describe(auto& ar, Is<Shape> auto& v) {
  auto& [kind, radius_m, half_length_m, half_m, points] = v;
  ar("kind", kind), ar("radius_m", radius_m), ar("half_length_m", half_length_m), ar("half_m", half_m), ar("points", points);
}
void Describe(auto& ar, Is<Body> auto& v) {
  auto& [name, shape, X_LS] = v;
  ar("name", name), ar("shape", shape), ar("pose", X_LS);
}
void Describe(auto& ar, Is<CameraBody> auto& v) {
  auto& [name, title, sensor_width_m, sensor_height_m, width_px, height_px, focal_min_m, focal_max_m, zoom, focus_nearest_m,
         focus_speed, f_number, circle_m, frame_rate_hz, mass_kg, half_m, p_CHousing, text] = v;
  ar("name", name), ar("title", title), ar("sensor_width_m", sensor_width_m), ar("sensor_height_m", sensor_height_m);
  ar("width_px", width_px), ar("height_px", height_px), ar("focal_min_m", focal_min_m), ar("focal_max_m", focal_max_m);
  ar("zoom_octaves_per_s", zoom), ar("focus_nearest_m", focus_nearest_m), ar("focus_dioptres_per_s", focus_speed);
  ar("f_number", f_number), ar("circle_of_confusion_m", circle_m), ar("frame_rate_hz", frame_rate_hz), ar("mass_kg", mass_kg);
  ar("half_m", half_m), ar("housing_m", p_CHousing), ar("text", text);
}
void Describe(auto& ar, Is<PersonCapsule> auto& v) {
  auto& [name, a, b, radius_m, region] = v;
  ar("name", name), ar("a", a), ar("b", b), ar("radius_m", radius_m), ar("region", region);
}
void Describe(auto& ar, Is<PersonBody> auto& v) {
  auto& [capsules, face_points, head_height_m, hand_length_m] = v;
  ar("capsules", capsules), ar("face_points", face_points), ar("head_height_m", head_height_m),
      ar("hand_length_m", hand_length_m);
}
void Describe(auto& ar, Is<ArmBody> auto& v) {
  auto& [link, body] = v;
  ar("link", link), ar("body", body);
}
void Describe(auto& ar, Is<JointLimit> auto& v) {
  auto& [name, lower, upper, velocity, acceleration, effort, prismatic] = v;
  ar("name", name), ar("lower", lower), ar("upper", upper), ar("velocity", velocity), ar("acceleration", acceleration);
  ar("effort", effort), ar("prismatic", prismatic);
}
void Describe(auto& ar, Is<GovernedSpell> auto& v) {
  auto& [state, start_s, end_s] = v;
  ar("state", state), ar("start_s", start_s), ar("end_s", end_s);
}
void Describe(auto& ar, Is<Lunge> auto& v) {
  auto& [start_s, way_W, speed_mps, travel_m] = v;
  ar("start_s", start_s), ar("way", way_W), ar("speed_mps", speed_mps), ar("travel_m", travel_m);
}
void Describe(auto& ar, Is<Faults> auto& v) {
  auto& [at_s, stuck_joint, frozen_s, payload_kg, power_lost, brake_delay_s, brake_share, bench_m, lunges] = v;
  ar("at_s", at_s), ar("stuck_joint", stuck_joint), ar("tracker_frozen_s", frozen_s), ar("payload_kg", payload_kg);
  ar("power_lost", power_lost), ar("brake_delay_s", brake_delay_s), ar("brake_share", brake_share);
  ar("bench_x_m", bench_m.x()), ar("bench_y_m", bench_m.y()), ar("lunges", lunges);
}
void Describe(auto& ar, Is<TakeProp> auto& v) {
  auto& [name, shape, colour, tip_m] = v;
  ar("name", name), ar("shape", shape), ar("colour", colour);
  ar.Newer("tip_m", tip_m);
}

void DescribeTimeline(auto& ar, Is<Take> auto& take) {
  ar("duration_s", take.duration_s), ar("beats", take.beats), ar("intents", take.intents), ar("sentences", take.sentences);
  ar.Newer("startles", take.startles);
  ar.Newer("governed", take.governed), ar.Newer("faults", take.faults);
}
void DescribeStage(auto& ar, Is<Take> auto& take) {
  ar("camera", take.camera), ar("person", take.person), ar("bench_top", take.bench_top), ar("keep_out", take.keep_out);
  ar("arm_base", take.X_WB), ar("arm_bodies", take.arm_bodies), ar("joints", take.joints);
  ar("moving_mass_kg", take.moving_mass_kg), ar("payload_kg", take.payload_kg), ar("props", take.props);
}

// JSON has no infinity: what is not finite stands as a text.
Json ToJson(double value) {
  if (std::isfinite(value)) return value;
  return std::isnan(value) ? "nan" : value > 0 ? "inf" : "-inf";
}
void FromJson(const Json& json, double& value) {
  if (json.is_string()) {
    const auto text = json.get<std::string>();
    value = text == "inf" ? HUGE_VAL : text == "-inf" ? -HUGE_VAL : std::nan("");
  } else {
    value = json.get<double>();
  }
}

struct Writer;
struct Reader;
template <class T>
Json ToJson(const T& value);
template <class T>
Json ToJson(const std::vector<T>& values);
template <int N>
Json ToJson(const Eigen::Matrix<double, N, 1>& values);
Json ToJson(const Eigen::Isometry3d& X);
template <class T>
void FromJson(const Json& json, T& value);
template <class T>
void FromJson(const Json& json, std::vector<T>& values);
template <int N>
void FromJson(const Json& json, Eigen::Matrix<double, N, 1>& values);
void FromJson(const Json& json, Eigen::Isometry3d& X);

struct Writer {
  Json json = Json::object();
  template <class T>
  void operator()(const char* key, const T& value) {
    json[key] = ToJson(value);
  }
  template <class T>
  void Newer(const char* key, const T& value) {
    (*this)(key, value);
  }
};
struct Reader {
  const Json& json;
  template <class T>
  void operator()(const char* key, T& value) {
    FromJson(json.at(key), value);
  }
  /// What older files lack keeps its default.
  template <class T>
  void Newer(const char* key, T& value) {
    if (json.contains(key)) FromJson(json.at(key), value);
  }
};

template <class T>
Json ToJson(const T& value) {
  if constexpr (std::is_enum_v<T>) {
    return static_cast<int>(value);
  } else if constexpr (std::is_arithmetic_v<T> || std::is_same_v<T, std::string>) {
    return value;
  } else {
    Writer writer;
    Describe(writer, value);
    return writer.json;
  }
}
template <class T>
Json ToJson(const std::vector<T>& values) {
  Json out = Json::array();
  for (const T& value : values) out.push_back(ToJson(value));
  return out;
}
template <int N>
Json ToJson(const Eigen::Matrix<double, N, 1>& values) {
  Json out = Json::array();
  for (const double value : values) out.push_back(ToJson(value));
  return out;
}
Json ToJson(const Eigen::Isometry3d& X) {
  Json out = Json::array();
  for (int i = 0; i < 12; ++i) out.push_back(ToJson(X(i / 4, i % 4)));
  return out;
}

template <class T>
void FromJson(const Json& json, T& value) {
  if constexpr (std::is_enum_v<T>) {
    value = static_cast<T>(json.get<int>());
  } else if constexpr (std::is_arithmetic_v<T> || std::is_same_v<T, std::string>) {
    value = json.get<T>();
  } else {
    Reader reader{json};
    Describe(reader, value);
  }
}
template <class T>
void FromJson(const Json& json, std::vector<T>& values) {
  values.assign(json.size(), T());
  for (size_t i = 0; i < values.size(); ++i) FromJson(json.at(i), values[i]);
}
template <int N>
void FromJson(const Json& json, Eigen::Matrix<double, N, 1>& values) {
  for (int i = 0; i < N; ++i) FromJson(json.at(static_cast<size_t>(i)), values[i]);
}
void FromJson(const Json& json, Eigen::Isometry3d& X) {
  X.setIdentity();
  for (int i = 0; i < 12; ++i) FromJson(json.at(static_cast<size_t>(i)), X(i / 4, i % 4));
}

template <class F>
auto Reading(const char* what, const std::string& text, F&& read) {
  try {
    return read(Json::parse(text));
  } catch (const Json::exception& error) {
    throw InputError(fmt::format("the stored {} is damaged: {}", what, error.what()));
  }
}

}  // namespace

std::string IdentityJson(const TakeIdentity& id) {
  return ToJson(id).dump();
}

TakeIdentity ReadIdentityJson(const std::string& json) {
  return Reading("identity", json, [](const Json& parsed) {
    TakeIdentity id;
    FromJson(parsed, id);
    return id;
  });
}

std::string TimelineJson(const Take& take) {
  Writer writer;
  DescribeTimeline(writer, take);
  return writer.json.dump();
}

void ReadTimelineJson(const std::string& json, Take* take) {
  Reading("time line", json, [take](const Json& parsed) {
    Reader reader{parsed};
    DescribeTimeline(reader, *take);
  });
}

std::string StageJson(const Take& take, const std::vector<Shot>& shots) {
  Writer writer;
  DescribeStage(writer, take);
  writer("shots", shots);
  return writer.json.dump();
}

void ReadStageJson(const std::string& json, Take* take, std::vector<Shot>* shots) {
  Reading("stage", json, [take, shots](const Json& parsed) {
    Reader reader{parsed};
    DescribeStage(reader, *take);
    reader("shots", *shots);
  });
}

std::string StringsJson(const std::vector<std::string>& texts) {
  return ToJson(texts).dump();
}

std::vector<std::string> ReadStringsJson(const std::string& json) {
  return Reading("list of columns", json, [](const Json& parsed) {
    std::vector<std::string> out;
    FromJson(parsed, out);
    return out;
  });
}

}  // namespace dryrig
