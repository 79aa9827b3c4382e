#include "policies/stored_take.h"

#include <fmt/format.h>

#include <sstream>

#include "scenes/error.h"
#include "sim/logged_take.h"

namespace dryrig {

namespace {

std::string TextOf(const std::vector<StoredInput>& inputs, std::string_view kind) {
  for (const StoredInput& input : inputs) {
    if (input.kind == kind) return input.text;
  }
  throw InputError(fmt::format("the store has no {} for this take", kind));
}

}  // namespace

PreparedTake PrepareStored(const Store& store, int64_t id, const std::string& arm_file) {
  const TakeIdentity identity = store.ReadIdentity(id);
  const std::vector<StoredInput> inputs = store.ReadInputs(id);
  const auto text = [&](SceneKind kind) { return TextOf(inputs, ToString(kind)); };
  PreparedTake out;
  if (identity.policy != kLoggedPolicy) {
    out.policy = &FindPolicy(identity.policy);
    std::istringstream params(identity.params);
    for (std::string param; params >> param;) ParseParam(param, &out.values);
  }
  TakeSetup& setup = out.setup;
  TakeSetupParams(&out.values, &setup);
  setup.lesson = ParseLesson(text(SceneKind::kLesson), identity.lesson + ".yaml",
                             [&](const std::string& kind, const std::string&) { return TextOf(inputs, kind); });
  const Bench bench = ParseBench(text(SceneKind::kBench), identity.bench + ".yaml");
  const CameraBody camera = ParseCamera(text(SceneKind::kCamera), identity.camera + ".yaml");
  setup.person = ParsePerson(text(SceneKind::kPerson), identity.person + ".yaml");
  setup.sensing = ParseSensing(text(SceneKind::kSensing), identity.sensing + ".yaml");
  const ArmModel arm = ReadArm(FindScene(SceneKind::kArm, arm_file.empty() ? identity.arm : arm_file));
  if (arm.text != text(SceneKind::kArm)) {
    throw InputError(fmt::format("arm {} is no longer the one that this take was filmed with", identity.arm));
  }
  setup.stage = MakeStage(bench, arm, camera);
  setup.seed = identity.seed;
  setup.physics_hz = identity.physics_hz;
  setup.control_hz = identity.control_hz;
  setup.policy = identity.policy;
  setup.params = identity.params;
  if (IdentityOf(setup).inputs_hash != identity.inputs_hash) {
    throw InputError("its stored inputs do not add up to the take that was filmed (thinking time or length differ)");
  }
  out.RequireParams();
  return out;
}

}  // namespace dryrig
