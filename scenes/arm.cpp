#include "scenes/arm.h"

#include <fmt/format.h>

#include <algorithm>
#include <numbers>
#include <optional>
#include <utility>

#include "scenes/inertia.h"
#include "scenes/shape_reader.h"
#include "scenes/urdf.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

constexpr size_t kMostUrdfBytes = size_t{32} << 20;
// What neither file says. Arms of this size reach their rated speed in about a quarter of a second, and their
// acceleration in a tenth.
constexpr double kAccelerationPerVelocity = 4, kJerkPerAcceleration = 10;
constexpr double kUsualPayload_kg = 5;
constexpr double kUsualMount_m = 0.14;  // the optical centre before the tip: room for the housing behind it

double Degrees(double rad) {
  return rad * 180 / std::numbers::pi;
}

std::string Shown(const Joint& joint, double q) {
  return joint.kind == JointKind::kRevolute ? fmt::format("{:.4g} deg", Degrees(q)) : fmt::format("{:.4g} mm", 1e3 * q);
}

ArmModel FromChain(UrdfChain chain, const fs::path& file, std::string text) {
  ArmModel arm;
  arm.name = arm.title = file.stem().string();
  arm.base = std::move(chain.base);
  arm.joints = std::move(chain.joints);
  arm.links = std::move(chain.links);
  arm.notes = std::move(chain.notes);
  arm.text = std::move(text) + chain.shapes_text;
  arm.X_EC = chain.X_LTip;
  return arm;
}

void MountAsUsual(ArmModel* arm) {
  arm->X_EC.translate(Eigen::Vector3d(0, 0, kUsualMount_m));
  arm->notes.push_back(
      fmt::format("camera: no mount given; {:.0f} mm before the tip on its z axis, looking along it, image right along its x",
                  1e3 * kUsualMount_m));
}

void HomeAsUsual(ArmModel* arm) {
  arm->home.resize(arm->dof());
  for (int i = 0; i < arm->dof(); ++i) arm->home[i] = 0.5 * (arm->joints[size_t(i)].lower + arm->joints[size_t(i)].upper);
  arm->notes.emplace_back("home: none given; every joint in the middle of its range");
}

void LimitsAsUsual(ArmModel* arm) {
  bool acceleration = false, jerk = false;
  for (Joint& joint : arm->joints) {
    acceleration = acceleration || joint.acceleration == 0;
    jerk = jerk || joint.jerk == 0;
    if (joint.acceleration == 0) joint.acceleration = kAccelerationPerVelocity * joint.velocity;
    if (joint.jerk == 0) joint.jerk = kJerkPerAcceleration * joint.acceleration;
  }
  if (acceleration) {
    arm->notes.push_back(fmt::format("limits: no acceleration given for some joints; {} times the velocity limit, per second",
                                     kAccelerationPerVelocity));
  }
  if (jerk) {
    arm->notes.push_back(
        fmt::format("limits: no jerk given for some joints; {} times the acceleration limit, per second", kJerkPerAcceleration));
  }
}

void PayloadAsUsual(ArmModel* arm) {
  arm->payload_kg = kUsualPayload_kg;
  arm->notes.push_back(fmt::format("payload: none given; {} kg", kUsualPayload_kg));
}

void ServoAsUsual(ArmModel* arm) {
  arm->notes.push_back(fmt::format("servo: none given; {} Hz, damping ratio {}, {:.0f} ms latency, payload known",
                                   arm->servo.bandwidth_hz, arm->servo.damping_ratio, 1e3 * arm->servo.latency_s));
}

/// The keys for one kind of joint, and what they may hold.
struct LimitKeys {
  std::string velocity, acceleration, jerk;
  Limits velocities, accelerations, jerks;
};
const LimitKeys& KeysFor(JointKind kind) {
  static const LimitKeys turning{
      "velocity_deg_per_s", "acceleration_deg_per_s2", "jerk_deg_per_s3", {0.1, 1e4}, {1, 1e5}, {10, 1e7}};
  static const LimitKeys sliding{"velocity_m_per_s", "acceleration_m_per_s2", "jerk_m_per_s3", {1e-4, 100}, {1e-3, 1e3},
                                 {1e-2, 1e5}};
  return kind == JointKind::kRevolute ? turning : sliding;
}

/// Values for all joints stand in `limits` itself, those for one joint under its name.
void ReadLimits(const YamlNode& node, ArmModel* arm) {
  std::vector<std::string> known;
  for (const JointKind kind : {JointKind::kRevolute, JointKind::kPrismatic}) {
    const LimitKeys& keys = KeysFor(kind);
    known.insert(known.end(), {keys.velocity, keys.acceleration, keys.jerk});
  }
  for (const Joint& joint : arm->joints) known.push_back(joint.name);
  const YamlMap all = node.In("limits").Map(known);
  for (Joint& joint : arm->joints) {
    const LimitKeys& keys = KeysFor(joint.kind);
    std::optional<YamlMap> own;
    if (all.Has(joint.name)) {
      own = all.At(joint.name)
                .In(fmt::format("limits: joint \"{}\"", joint.name))
                .Map({keys.velocity, keys.acceleration, keys.jerk});
    }
    const auto read = [&](const std::string& key, Limits limits, double fallback) {
      return own && own->Has(key) ? own->Number(key, limits) : all.Number(key, limits, fallback);
    };
    const double rated = joint.velocity, wanted = read(keys.velocity, keys.velocities, rated);
    if (own && own->Has(keys.velocity) && wanted > rated) {
      own->At(keys.velocity)
          .Fail(fmt::format("{}/s is above the {}/s of the URDF; an arm file may only lower it", Shown(joint, wanted),
                            Shown(joint, rated)));
    }
    joint.velocity = std::min(rated, wanted);
    joint.acceleration = read(keys.acceleration, keys.accelerations, 0);
    joint.jerk = read(keys.jerk, keys.jerks, 0);
  }
}

/// `home_deg: [..]` for arms that only turn; else `home_deg: {JOINT: ..}` and `home_mm: {JOINT: ..}`.
void ReadHome(const YamlMap& map, ArmModel* arm) {
  std::vector<std::string> turning, sliding;
  for (const Joint& joint : arm->joints) (joint.kind == JointKind::kRevolute ? turning : sliding).push_back(joint.name);
  const std::optional<YamlNode> deg = map.Find("home_deg"), mm = map.Find("home_mm");
  if (mm && sliding.empty()) mm->Fail("the arm has no sliding joint; leave it out");
  const auto place = [&](int i, const YamlNode& node, double q) {
    const Joint& joint = arm->joints[size_t(i)];
    if (q < joint.lower || q > joint.upper) {
      node.Fail(fmt::format("{} is outside the range of joint \"{}\", {} to {}", Shown(joint, q), joint.name,
                            Shown(joint, joint.lower), Shown(joint, joint.upper)));
    }
    arm->home[i] = q;
  };
  arm->home.resize(arm->dof());
  if (deg && deg->kind() == YamlNode::Kind::kList) {
    if (!sliding.empty())
      deg->Fail(fmt::format("the arm has sliding joints; write home_deg: {{JOINT: ..}} and home_mm: {{{}: ..}}", sliding[0]));
    const std::vector<YamlNode> nodes = deg->List(size_t(arm->dof()), size_t(arm->dof()));
    for (int i = 0; i < arm->dof(); ++i) place(i, nodes[size_t(i)], nodes[size_t(i)].Number({-1e4, 1e4}));
    return;
  }
  for (int i = 0; i < arm->dof(); ++i) {
    const Joint& joint = arm->joints[size_t(i)];
    const bool turns = joint.kind == JointKind::kRevolute;
    const std::string key = turns ? "home_deg" : "home_mm";
    // The joint's name must not be taken for a unit.
    const YamlNode node =
        map.At(key).Map(turns ? turning : sliding).At(joint.name).In(fmt::format("{}: joint \"{}\"", key, joint.name));
    place(i, node, node.Number({-1e5, 1e5}) * (turns ? std::numbers::pi / 180 : 1e-3));
  }
}

Servo ReadServo(const YamlNode& node) {
  const YamlMap map = node.In("servo").Map({"bandwidth_hz", "damping_ratio", "latency_ms", "payload_known"});
  Servo servo;
  servo.bandwidth_hz = map.Number("bandwidth_hz", {0.5, 30}, servo.bandwidth_hz);
  servo.damping_ratio = map.Number("damping_ratio", {0.3, 3}, servo.damping_ratio);
  servo.latency_s = map.Number("latency_ms", {0, 100}, servo.latency_s);
  servo.payload_known = map.Number("payload_known", {0, 1}, servo.payload_known);
  return servo;
}

/// The room that a cable takes along a link, its play included: a straight run between two points of that link.
void ReadCable(const YamlNode& node, ArmModel* arm) {
  std::vector<std::string> links;
  for (const Link& link : arm->links) links.push_back(link.name);
  const std::vector<YamlNode> runs = node.In("cable").List(1, 50);
  for (size_t i = 0; i < runs.size(); ++i) {
    const YamlMap map = runs[i].In(fmt::format("cable: run {}", i + 1)).Map({"link", "from_mm", "to_mm", "diameter_mm"});
    const YamlNode name = map.At("link");
    const auto at = std::find(links.begin(), links.end(), name.Text());
    if (at == links.end()) name.Fail(fmt::format("no moving link \"{0}\"{1}", name.Text(), Suggest(name.Text(), links)));
    const Eigen::Vector3d from = map.Vector<3>("from_mm", {-3000, 3000}), to = map.Vector<3>("to_mm", {-3000, 3000});
    if ((to - from).norm() < 1e-3) map.At("to_mm").Fail("the run is shorter than 1 mm; give two points apart");
    Body run;
    run.name = fmt::format("cable {}", i + 1);
    run.shape = Shape::Capsule(map.Number("diameter_mm", {1, 500}) / 2, 0.5 * (to - from).norm());
    run.X_LS.translation() = 0.5 * (from + to);
    run.X_LS.linear() = Eigen::Quaterniond::FromTwoVectors(Eigen::Vector3d::UnitZ(), to - from).toRotationMatrix();
    arm->links[static_cast<size_t>(at - links.begin())].bodies.push_back(std::move(run));
  }
}

ArmModel ReadBareUrdf(const fs::path& file, std::string text, const ArmReadOptions& options) {
  const UrdfTree tree = ParseUrdf(text, file.string());
  const std::string tip = ChooseTip(tree);
  ArmModel arm = FromChain(ReadUrdfChain(tree, tip, options.package_paths), file, std::move(text));
  arm.notes.push_back(fmt::format("tip: none given; link \"{}\", where the moving joints end", tip));
  MountAsUsual(&arm);
  HomeAsUsual(&arm);
  LimitsAsUsual(&arm);
  ServoAsUsual(&arm);
  PayloadAsUsual(&arm);
  return arm;
}

ArmModel ReadArmFile(const fs::path& file, const std::string& text, const ArmReadOptions& options) {
  const YamlMap map = YamlNode::Parse(text, file.string())
                          .Document("arm", {"title", "urdf", "tip", "camera_mount", "home_deg", "home_mm", "limits", "servo",
                                            "payload_kg", "cable"});
  const YamlNode urdf_node = map.At("urdf");
  const fs::path urdf = (file.parent_path() / urdf_node.Text(1000)).lexically_normal();
  std::error_code error;
  if (!fs::is_regular_file(urdf, error))
    urdf_node.Fail(fmt::format("there is no file {}; the path starts at the arm file's folder", urdf.string()));
  const std::string urdf_text = ReadTextFile(urdf, kMostUrdfBytes);
  const UrdfTree tree = ParseUrdf(urdf_text, urdf.string());
  std::string tip;
  if (const auto node = map.Find("tip")) {
    tip = node->Text();
    std::vector<std::string> links;
    for (const auto& [name, line] : tree.link_lines) links.push_back(name);
    if (!tree.link_lines.contains(tip)) node->Fail(fmt::format("the URDF has no link \"{}\"{}", tip, Suggest(tip, links)));
  } else {
    tip = ChooseTip(tree);
  }
  ArmModel arm = FromChain(ReadUrdfChain(tree, tip, options.package_paths), file, text + urdf_text);
  arm.title = map.Text("title");
  if (!map.Has("tip")) arm.notes.push_back(fmt::format("tip: none given; link \"{}\", where the moving joints end", tip));
  if (const auto node = map.Find("camera_mount")) {
    arm.X_EC = arm.X_EC * ReadPose(node->In("camera_mount").Map({"at_mm", "rpy_deg"}), {-1000, 1000});
  } else {
    MountAsUsual(&arm);
  }
  if (const auto node = map.Find("limits")) ReadLimits(*node, &arm);
  LimitsAsUsual(&arm);
  if (map.Has("home_deg") || map.Has("home_mm")) {
    ReadHome(map, &arm);
  } else {
    HomeAsUsual(&arm);
  }
  if (const auto node = map.Find("servo")) {
    arm.servo = ReadServo(*node);
  } else {
    ServoAsUsual(&arm);
  }
  if (const auto node = map.Find("payload_kg")) {
    arm.payload_kg = node->Number({0.01, 1000});
  } else {
    PayloadAsUsual(&arm);
  }
  if (const auto node = map.Find("cable")) ReadCable(*node, &arm);
  return arm;
}

}  // namespace

ArmModel ReadArm(const fs::path& file, const ArmReadOptions& options) {
  std::string text = ReadTextFile(file, kMostUrdfBytes);
  const size_t first = text.find_first_not_of(" \t\r\n\xEF\xBB\xBF");
  const bool xml = file.extension() == ".urdf" || (first != std::string::npos && text[first] == '<');
  return xml ? ReadBareUrdf(file, std::move(text), options) : ReadArmFile(file, text, options);
}

ArmModel WithCamera(ArmModel arm, const CameraBody& camera) {
  Body housing;
  housing.name = "camera";
  housing.shape = Shape::Box(camera.half_m);
  housing.X_LS = arm.X_EC * Eigen::Translation3d(camera.p_CHousing);
  const MassProperties unit = SolidOf(housing.shape, 1);
  MassProperties mass;
  mass.mass_kg = camera.mass_kg;
  mass.I_ACom = unit.I_ACom * (camera.mass_kg / unit.mass_kg);
  Link& last = arm.links.back();
  SetMass(&last, Sum(MassOf(last), SeenFrom(housing.X_LS, mass)));
  last.bodies.push_back(std::move(housing));
  return arm;
}

}  // namespace dryrig
