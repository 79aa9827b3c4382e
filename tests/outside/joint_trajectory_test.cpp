// Joint motion out against the message definitions' field lists: ros2/common_interfaces, trajectory_msgs/msg/JointTrajectory.msg
// (header, joint_names, points) and JointTrajectoryPoint.msg (positions, velocities, accelerations, effort, time_from_start; "all
// specified values are in the same order as the joint names"; rad and m), std_msgs/msg/Header.msg (stamp, frame_id),
// builtin_interfaces Time and Duration (sec, nanosec). The first two read at commits ba32be26 and 14c2783a; the others, and that
// controllers want strictly increasing times, from memory.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <nlohmann/json.hpp>
#include <set>

#include "bench/joint_export.h"
#include "tests/outside/listed.h"

namespace dryrig {
namespace {

using Fields = std::set<std::string>;

Fields KeysOf(const YAML::Node& node) {
  Fields out;
  for (const auto& entry : node) out.insert(entry.first.as<std::string>());
  return out;
}

/// What a reader of the message would say; empty: it is one. `joints`: how many there are to be.
std::string WrongWith(const YAML::Node& message, size_t joints) {
  if (KeysOf(message) != Fields{"header", "joint_names", "points"}) return "fields of JointTrajectory";
  if (KeysOf(message["header"]) != Fields{"stamp", "frame_id"}) return "fields of Header";
  if (KeysOf(message["header"]["stamp"]) != Fields{"sec", "nanosec"}) return "fields of Time";
  if (message["joint_names"].size() != joints) return "joint_names";
  int64_t last_ns = -1;
  for (const YAML::Node& point : message["points"]) {
    if (KeysOf(point) != Fields{"positions", "velocities", "accelerations", "effort", "time_from_start"})
      return "fields of JointTrajectoryPoint";
    for (const char* list : {"positions", "velocities", "accelerations"}) {
      if (point[list].size() != joints) return list;
      for (const YAML::Node& value : point[list]) value.as<double>();
    }
    if (point["effort"].size() != 0 && point["effort"].size() != joints) return "effort";
    if (KeysOf(point["time_from_start"]) != Fields{"sec", "nanosec"}) return "fields of Duration";
    const auto nanosec = point["time_from_start"]["nanosec"].as<int64_t>();
    if (nanosec < 0 || nanosec >= 1'000'000'000) return "nanosec";
    const int64_t ns = point["time_from_start"]["sec"].as<int64_t>() * 1'000'000'000 + nanosec;
    if (ns <= last_ns) return "time_from_start does not increase";
    last_ns = ns;
  }
  return "";
}

/// Two joints, three points at 300 a second, whose times are no whole milliseconds.
struct Small {
  ArmModel arm;
  JointPlan plan;
  Small() {
    for (const char* name : {"shoulder", "elbow: left"}) {
      arm.joints.emplace_back();
      arm.joints.back().name = name;
    }
    plan.rate_hz = 300;
    for (int i = 0; i < 3; ++i) {
      JointVector q(2);
      q << 0.1 * i, -1e-9 * i;
      plan.points.push_back({q, q, q});
    }
  }
  std::string Text(JointForm form) const { return JointText(arm, plan, {"first: line", "second # line"}, form); }
};

TEST(JointTrajectoryOutside, TheYamlHasTheMessagesFieldsAndNoOthers) {
  const YAML::Node message = YAML::Load(Small().Text(JointForm::kYaml));
  EXPECT_EQ(WrongWith(message, 2), "");
  EXPECT_EQ(message["joint_names"][1].as<std::string>(), "elbow: left");
  EXPECT_NEAR(message["points"][2]["positions"][1].as<double>(), -2e-9, 0);
  EXPECT_EQ(message["points"][1]["time_from_start"]["nanosec"].as<int64_t>(), 3'333'333);
}

TEST(JointTrajectoryOutside, TheJsonHasThemAndTheNoticeBefore) {
  nlohmann::json json = nlohmann::json::parse(Small().Text(JointForm::kJson));
  EXPECT_EQ(json["notice"][0], "first: line");
  EXPECT_EQ(WrongWith(YAML::Load(json.dump()), 2), "fields of JointTrajectory") << "the notice is one field more";
  json.erase("notice");
  EXPECT_EQ(WrongWith(YAML::Load(json.dump()), 2), "");
}

TEST(JointTrajectoryOutside, BrokenTwinsAreRefused) {
  const auto broken = [](void (*breaks)(YAML::Node)) {
    const YAML::Node message = YAML::Load(Small().Text(JointForm::kYaml));
    breaks(message);
    return WrongWith(message, 2);
  };
  EXPECT_EQ(broken([](YAML::Node m) { m.remove("header"); }), "fields of JointTrajectory");
  EXPECT_EQ(broken([](YAML::Node m) { m["points"][1]["position"] = 1; }), "fields of JointTrajectoryPoint");
  EXPECT_EQ(broken([](YAML::Node m) { m["points"][1]["velocities"].push_back(1); }), "velocities");
  EXPECT_EQ(broken([](YAML::Node m) { m["points"][1]["time_from_start"]["nanosec"] = 0; }), "time_from_start does not increase");
  EXPECT_EQ(broken([](YAML::Node m) { m["points"][1]["time_from_start"].remove("sec"); }), "fields of Duration");
  EXPECT_EQ(broken([](YAML::Node m) { m["joint_names"].push_back("third"); }), "joint_names");
}

}  // namespace
}  // namespace dryrig
