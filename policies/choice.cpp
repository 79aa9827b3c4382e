#include "policies/choice.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "policies/params.h"
#include "scenes/recorded_lesson.h"
#include "sim/rng.h"

namespace dryrig {

namespace {

std::string QuotedForShell(const std::string& text) {
  const bool plain = !text.empty() && std::all_of(text.begin(), text.end(), [](unsigned char c) {
    return std::isalnum(c) || std::string_view("-_./:=,+").find(static_cast<char>(c)) != std::string_view::npos;
  });
  if (plain) return text;
  std::string out = "'";
  for (const char c : text) out += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return out + "'";
}

std::string DefaultArm() {
  const std::vector<std::string> arms = ListScenes(SceneKind::kArm);
  if (arms.empty()) throw InputError("no arm is shipped in " + ScenesFolder().string() + "; name one with --arm");
  return arms.front();
}

std::string DefaultCamera(SceneShelf& shelf) {
  for (const std::string& name : ListScenes(SceneKind::kCamera)) {
    const CameraBody& camera = shelf.GetCamera(name);
    if (camera.focal_min_m == camera.focal_max_m) return name;
  }
  throw InputError("no camera with a prime lens is shipped in " + ScenesFolder().string() + "; name one with --camera");
}

/// Who lends a recording what it does not tell: how heavily one of that stature is built, which hand is the better one.
std::string NearestPerson(double stature_m, SceneShelf& shelf) {
  std::string nearest;
  double least = 1e9;
  for (const std::string& name : ListScenes(SceneKind::kPerson)) {
    const double off = std::abs(shelf.GetPerson(name).stature_m - stature_m);
    if (off >= least) continue;
    least = off;
    nearest = name;
  }
  return nearest;
}

}  // namespace

void ParseParam(const std::string& text, ParamValues* values) {
  const size_t equals = text.find('=');
  double value = 0;
  const char* end = text.data() + text.size();
  const auto parsed = equals == std::string::npos ? std::from_chars_result{end, std::errc::invalid_argument}
                                                  : std::from_chars(text.data() + equals + 1, end, value);
  if (equals == 0 || parsed.ec != std::errc() || parsed.ptr != end || !std::isfinite(value)) {
    throw InputError(fmt::format("parameter \"{}\": expected key=value with a number, such as dead_band=0.05", text));
  }
  const std::string key = text.substr(0, equals);
  if (!values->emplace(key, value).second) throw InputError(fmt::format("parameter {} is set twice", key));
}

PolicyChoice ParsePolicyChoice(const std::string& text) {
  size_t colon = text.find(':');
  if (text.starts_with(kPythonPrefix)) {
    const size_t file = text.find(".py:", colon);
    colon = file == std::string::npos ? file : text.find(':', file + 4);
  }
  PolicyChoice choice{text.substr(0, colon), {}};
  if (choice.name.empty()) throw InputError(fmt::format("policy \"{}\" has no name", text));
  for (size_t at = colon; at != std::string::npos;) {
    const size_t next = text.find(',', at + 1);
    ParseParam(text.substr(at + 1, next == std::string::npos ? next : next - at - 1), &choice.values);
    at = next;
  }
  return choice;
}

template <class T, class Read>
const T& SceneShelf::Get(Shelf<T>* shelf, SceneKind kind, const std::string& name, Read&& read) {
  const std::lock_guard lock(mutex_);
  auto it = shelf->find(name);
  if (it == shelf->end()) it = shelf->emplace(name, read(FindScene(kind, name))).first;
  return it->second;
}

const Lesson& SceneShelf::GetLesson(const std::string& name, const std::string& captions) {
  const std::lock_guard lock(mutex_);
  auto it = lessons_.find({name, captions});
  if (it == lessons_.end()) {
    const std::filesystem::path file = FindScene(SceneKind::kLesson, name);
    if (!captions.empty() && !IsBareRecording(file)) {
      throw InputError(fmt::format("--captions {} goes with a bare recording (.bvh, .csv); a lesson names its own", captions));
    }
    it = lessons_.emplace(std::pair(name, captions), captions.empty() ? ReadLesson(file) : LessonOfRecording(file, captions))
             .first;
  }
  return it->second;
}
const ArmModel& SceneShelf::GetArm(const std::string& name) {
  return Get(&arms_, SceneKind::kArm, name, [this](const auto& file) { return ReadArm(file, options_); });
}
const Bench& SceneShelf::GetBench(const std::string& name) {
  return Get(&benches_, SceneKind::kBench, name, ReadBench);
}
const PersonSpec& SceneShelf::GetPerson(const std::string& name) {
  return Get(&people_, SceneKind::kPerson, name, ReadPerson);
}
const CameraBody& SceneShelf::GetCamera(const std::string& name) {
  return Get(&cameras_, SceneKind::kCamera, name, ReadCamera);
}
const Sensing& SceneShelf::GetSensing(const std::string& name) {
  const std::lock_guard lock(mutex_);
  auto it = sensings_.find(name);
  if (it == sensings_.end()) it = sensings_.emplace(name, FindSensing(name)).first;
  return it->second;
}

TakeChoice WithDefaults(TakeChoice choice, SceneShelf& shelf) {
  const Lesson& lesson = shelf.GetLesson(choice.lesson, choice.captions);
  if (choice.bench.empty()) choice.bench = lesson.bench;
  if (choice.person.empty()) choice.person = lesson.person;
  if (choice.person.empty() && lesson.recorded) choice.person = NearestPerson(lesson.recorded->motion.stature_m, shelf);
  if (choice.bench.empty()) throw InputError(fmt::format("lesson {} names no bench; name one with --bench", lesson.name));
  if (choice.person.empty()) throw InputError(fmt::format("lesson {} names no person; name one with --person", lesson.name));
  if (choice.arm.empty()) choice.arm = DefaultArm();
  if (choice.camera.empty()) choice.camera = DefaultCamera(shelf);
  if (choice.sensing.empty()) choice.sensing = "good";
  return choice;
}

PreparedTake Prepare(const TakeChoice& choice, SceneShelf& shelf) {
  PreparedTake out;
  out.policy = &FindPolicy(choice.policy.name);
  out.values = choice.policy.values;
  TakeSetup& setup = out.setup;
  TakeSetupParams(&out.values, &setup);
  out.RequireParams();
  setup.lesson = shelf.GetLesson(choice.lesson, choice.captions);
  setup.stage = MakeStage(shelf.GetBench(choice.bench), shelf.GetArm(choice.arm), shelf.GetCamera(choice.camera));
  setup.person = shelf.GetPerson(choice.person);
  setup.sensing = shelf.GetSensing(choice.sensing);
  setup.seed = choice.seed;
  setup.physics_hz = choice.physics_hz;
  setup.policy = std::string(out.policy->name);
  setup.params = AllParams(*out.policy, out.values, setup);
  RequireFits(setup.lesson, setup.stage.bench);
  RequireFits(setup.faults, setup.stage.arm);
  RequireRates(setup);
  return out;
}

std::unique_ptr<Policy> PreparedTake::MakePolicy() const {
  if (policy == nullptr) throw InputError("the take was recorded on a set: no policy can film it again");
  return policy->make(values);
}

void PreparedTake::RequireParams() const {
  if (policy == nullptr) return;
  if (policy->file.empty())
    MakePolicy();
  else
    RequireKnown(policy->params(), values);  // to make one starts a process
}

std::vector<StoredInput> InputsOf(const TakeSetup& setup) {
  std::vector<StoredInput> out;
  const auto add = [&out](SceneKind kind, const auto& scene) {
    out.push_back({fmt::format("{:016x}", HashText(scene.text)), std::string(ToString(kind)), scene.name, scene.text});
  };
  add(SceneKind::kLesson, setup.lesson);
  if (setup.lesson.recorded) {
    for (const RecordedFile& file : setup.lesson.recorded->files) {
      out.push_back({fmt::format("{:016x}", HashText(file.text)), file.kind, file.name, file.text});
    }
  }
  add(SceneKind::kArm, setup.stage.arm);
  add(SceneKind::kBench, setup.stage.bench);
  add(SceneKind::kPerson, setup.person);
  add(SceneKind::kCamera, setup.stage.camera);
  add(SceneKind::kSensing, setup.sensing);
  return out;
}

std::string CommandFor(const TakeChoice& choice, const std::string& out) {
  std::string command = "dryrig take " + QuotedForShell(choice.lesson) + " --policy " + QuotedForShell(choice.policy.name);
  const PolicyEntry* policy = FindPolicyIfKnown(choice.policy.name);
  if (policy != nullptr && !policy->file.empty() && !policy->name.starts_with(kPythonPrefix))
    command += " --policy-library " + QuotedForShell(policy->file);
  if (!choice.captions.empty()) command += " --captions " + QuotedForShell(choice.captions);
  for (const auto& [key, value] : choice.policy.values) command += fmt::format(" --set {}={}", key, value);
  for (const auto& [option, value] :
       {std::pair("--arm", &choice.arm), std::pair("--bench", &choice.bench), std::pair("--person", &choice.person),
        std::pair("--camera", &choice.camera), std::pair("--sensing", &choice.sensing)}) {
    command += fmt::format(" {} {}", option, QuotedForShell(*value));
  }
  return command + fmt::format(" --seed {} --physics-hz {} --out {}", choice.seed, choice.physics_hz, QuotedForShell(out));
}

}  // namespace dryrig
