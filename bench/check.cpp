#include <fmt/format.h>

#include <fstream>
#include <map>

#include "bench/param_file.h"
#include "bench/program.h"
#include "bench/suite_text.h"
#include "bench/tell_recording.h"
#include "policies/choice.h"
#include "scenes/error.h"
#include "scenes/profile.h"
#include "scenes/recorded_lesson.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

constexpr double kDegPerRad = 180 / M_PI;

struct CheckOptions {
  std::vector<std::string> files, package_paths;
};

/// The word KIND of the line `dryrig: KIND/1`. @throws InputError if the file cannot be read or has no such line.
std::string KindOf(const fs::path& file) {
  if (!fs::exists(file)) throw InputError(fmt::format("{}: no such file", file.string()));
  if (fs::is_directory(file)) throw InputError(fmt::format("{} is a folder; name files", file.string()));
  if (file.extension() == ".urdf") return "arm";
  if (IsBareRecording(file)) return "lesson";
  if (file.extension() == ".vtt" || file.extension() == ".srt") return "captions";
  std::ifstream in(file, std::ios::binary);
  if (!in) throw InputError(fmt::format("{} cannot be read", file.string()));
  constexpr int kLinesRead = 200;  // it stands at the top, after comments at most
  std::string line;
  for (int i = 0; i < kLinesRead && std::getline(in, line); ++i) {
    if (!line.starts_with("dryrig:")) continue;
    const size_t begin = line.find_first_not_of(" \t\"'", 7), slash = line.find('/');
    if (begin == std::string::npos || slash == std::string::npos || slash <= begin) break;
    return line.substr(begin, slash - begin);
  }
  throw InputError(
      fmt::format("{}: no line `dryrig: KIND/1` says what kind of file this is; KIND is lesson, arm, bench, camera, person, "
                  "sensing, mapping, suite, profile or params",
                  file.string()));
}

std::string InJointUnits(const Joint& joint, double value) {
  return joint.kind == JointKind::kRevolute ? fmt::format("{:.1f}", value * kDegPerRad) : fmt::format("{:.3f}", value);
}

void TellArm(const ArmModel& arm) {
  fmt::print("arm {}: {}\n  {} moving joints, payload {} kg, links {:.1f} kg\n", arm.name, arm.title, arm.dof(), arm.payload_kg,
             [&] {
               double mass_kg = 0;
               for (const Link& link : arm.links) mass_kg += link.mass_kg;
               return mass_kg;
             }());
  for (size_t i = 0; i < arm.joints.size(); ++i) {
    const Joint& joint = arm.joints[i];
    const bool turns = joint.kind == JointKind::kRevolute;
    const char* unit = turns ? "deg" : "m";
    fmt::print("  joint {}: {}{} to {} {}, {} {}/s, {} {}/s², {} {}\n", joint.name,
               joint.continuous ? "continuous, used in " : "", InJointUnits(joint, joint.lower), InJointUnits(joint, joint.upper),
               unit, InJointUnits(joint, joint.velocity), unit, InJointUnits(joint, joint.acceleration), unit, joint.effort,
               turns ? "N·m" : "N");
    const Link& link = arm.links[i];
    std::vector<std::string> bodies;
    for (const Body& body : link.bodies) bodies.push_back(body.name);
    fmt::print("    link {}: {:.3f} kg, {}\n", link.name, link.mass_kg,
               bodies.empty() ? "no body" : fmt::format("bodies {}", fmt::join(bodies, ", ")));
  }
  for (const std::string& note : arm.notes) fmt::print("  note: {}\n", note);
}

/// Reads more than the file: its bench and person must exist, its props fit, and the person reach everything.
void CheckLesson(const fs::path& file, SceneShelf& shelf) {
  const Lesson& lesson = shelf.GetLesson(file.string());
  TakeChoice choice;
  choice.lesson = file.string();
  choice = WithDefaults(choice, shelf);
  const Bench& bench = shelf.GetBench(choice.bench);
  const PersonSpec& person = shelf.GetPerson(choice.person);
  RequireFits(lesson, bench);
  const Performance performance(lesson, bench, person, 1);
  fmt::print("lesson {}: {}\n  {:.1f} s with {} at {}, seed 1\n", lesson.name, lesson.title, performance.duration_s(),
             person.name, bench.name);
  for (const TimedBeat& beat : performance.beats()) {
    fmt::print("  {:6.1f} s  {}\n", beat.start_s, beat.label);
    for (const TimedIntent& intent : performance.intents()) {
      if (intent.beat == beat.beat)
        fmt::print("    from {:.1f} to {:.1f} s show {}\n", intent.start_s, intent.end_s, ToString(intent.shot));
    }
  }
  std::vector<std::string> props;
  for (const Prop& prop : lesson.props) props.push_back(prop.name);
  fmt::print("  props: {}\n", props.empty() ? "none" : fmt::format("{}", fmt::join(props, ", ")));
  if (lesson.recorded) fmt::print("{}", TellRecorded(*lesson.recorded, performance));
}

void CheckBench(const fs::path& file) {
  const Bench bench = ReadBench(file);
  const Eigen::Vector3d mount = bench.X_WB.translation();
  fmt::print(
      "bench {}: {}\n  top {} m wide, {} m deep, {} m high; arm base at ({:.3f}, {:.3f}, {:.3f}) m; {} bodies to keep out of\n",
      bench.name, bench.title, bench.width_m, bench.depth_m, bench.height_m, mount.x(), mount.y(), mount.z(),
      bench.keep_out.size());
}

void CheckCamera(const fs::path& file) {
  const CameraBody camera = ReadCamera(file);
  fmt::print("camera {}: {}\n  {} to {} mm, f/{}, {}x{} at {} Hz, {} kg\n", camera.name, camera.title, camera.focal_min_m * 1e3,
             camera.focal_max_m * 1e3, camera.f_number, camera.width_px, camera.height_px, camera.frame_rate_hz, camera.mass_kg);
}

void CheckPerson(const fs::path& file) {
  const PersonSpec person = WithRatios(ReadPerson(file));
  fmt::print("person {}: {}\n  {} m, {} kg, {}-handed, {}; upper arm {:.3f} m, forearm {:.3f} m, hand {:.3f} m\n", person.name,
             person.title, person.stature_m, person.mass_kg, person.left_handed ? "left" : "right",
             person.seated ? "seated" : "standing", person.upper_arm_m, person.forearm_m, person.hand_m);
}

void CheckProfile(const fs::path& file) {
  const Profile profile = ReadProfile(file);
  std::vector<std::string> rules;
  for (const ClearanceRule rule : profile.enforced) rules.emplace_back(ToString(rule));
  fmt::print("profile {}: {}\n  enforces {}; person {} m/s{}, reaction {} s, watched from {} m on\n", profile.name, profile.title,
             fmt::join(rules, ", "), profile.human_speed.value, profile.measured ? " where not measured" : "",
             profile.reaction.value, profile.watch.value);
}

void CheckSensing(const fs::path& file) {
  const Sensing sensing = ReadSensing(file);
  fmt::print("sensing {}: {}\n  {} Hz, {} s late, noise {} mm, bias {} mm, sentences {} s late, {} % of words wrong\n",
             sensing.name, sensing.title, sensing.rate_hz, sensing.latency_s, sensing.noise_m * 1e3, sensing.bias_m * 1e3,
             sensing.heard_delay_s, sensing.word_error_rate * 100);
}

void CheckMapping(const fs::path& file) {
  const JointMapping mapping = ParseJointMapping(ReadTextFile(file), file.string());
  fmt::print("mapping {}: {} points\n", file.stem().string(), mapping.names.size());
  for (const auto& [point, name] : mapping.names) fmt::print("  {} = {}\n", ToString(point), name.empty() ? "none" : name);
}

void CheckFile(const fs::path& named, const ArmReadOptions& arm_options, SceneShelf& shelf) {
  const std::vector<std::string> suites = ListScenes(SceneKind::kSuite);
  const bool shipped = !fs::exists(named) && std::find(suites.begin(), suites.end(), named.string()) != suites.end();
  const fs::path file = shipped ? FindScene(SceneKind::kSuite, named.string()) : named;
  const std::string kind = KindOf(file);
  if (kind == "lesson")
    CheckLesson(file, shelf);
  else if (kind == "arm")
    TellArm(ReadArm(file, arm_options));
  else if (kind == "bench")
    CheckBench(file);
  else if (kind == "camera")
    CheckCamera(file);
  else if (kind == "person")
    CheckPerson(file);
  else if (kind == "sensing")
    CheckSensing(file);
  else if (kind == "captions")
    fmt::print("{}",
               TellCaptions(ParseCaptions(ReadTextFile(file, kMostRecordedBytes), file.string()), file.filename().string()));
  else if (kind == "mapping")
    CheckMapping(file);
  else if (kind == "profile")
    CheckProfile(file);
  else if (kind == "params") {
    const PolicyChoice choice = ReadParamFile(file);
    fmt::print("params {}: {} of policy {}\n", file.stem().string(), choice.values.size(), choice.name);
    for (const auto& [key, value] : choice.values) fmt::print("  {} = {}\n", key, value);
  } else if (kind == "suite")
    fmt::print("{}", TellSuite(ReadSuite(file), shelf));
  else
    throw InputError(fmt::format(
        "{}: no kind \"{}\"{}", file.string(), kind.substr(0, 64),
        Suggest(kind, {"lesson", "arm", "bench", "camera", "person", "sensing", "mapping", "suite", "profile", "params"})));
}

int RunCheck(const CheckOptions& options) {
  const ArmReadOptions arm_options{{options.package_paths.begin(), options.package_paths.end()}};
  SceneShelf shelf(arm_options);
  int bad = 0;
  for (const std::string& file : options.files) {
    try {
      CheckFile(file, arm_options, shelf);
    } catch (const InputError& error) {
      std::fflush(stdout);
      fmt::print(stderr, "dryrig: {}\n", error.what());
      ++bad;
    }
  }
  return bad == 0 ? kFine : kBadInput;
}

}  // namespace

void AddCheck(CommandTable& program) {
  auto options = std::make_shared<CheckOptions>();
  const Command command = program.Add("check", "Read scene files, tell what was understood and every file that is bad.");
  command
      .Add("files", options->files,
           "Lesson, arm, bench, camera, person, sensing, mapping, suite, profile or params files; .urdf, .bvh, .csv, .vtt and "
           ".srt files")
      .Required();
  command.Add("--package-path", options->package_paths, "Folder that package:// meshes are searched in; may be repeated");
  command.Footer("Examples:\n  dryrig check my-lesson.yaml\n  dryrig check arm.urdf --package-path ~/robots");
  command.Run([options] { return RunCheck(*options); });
}

}  // namespace dryrig
