#pragma once

#include <cstdint>
#include <map>
#include <mutex>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "policies/setup_params.h"
#include "policies/table.h"
#include "scenes/arm.h"
#include "scenes/bench.h"
#include "scenes/camera.h"
#include "scenes/catalogue.h"
#include "scenes/lesson.h"
#include "scenes/person.h"
#include "scenes/sensing.h"
#include "sim/run.h"
#include "sim/store.h"

namespace dryrig {

/// A policy with the parameters that differ from their defaults.
struct PolicyChoice {
  std::string name;
  ParamValues values;
};
/// `NAME` or `NAME:key=value,key=value`, NAME also of the form `python:FILE.py:CLASS`. @throws InputError for a text of another
/// form; the name is not looked up.
PolicyChoice ParsePolicyChoice(const std::string& text);
/// Adds `key=value` to `values`. @throws InputError.
void ParseParam(const std::string& text, ParamValues* values);

/// A take as a command line names it. Scenes are paths or shipped names; empty: the default.
struct TakeChoice {
  std::string lesson;
  PolicyChoice policy;
  std::string arm, bench, person, camera, sensing;
  uint64_t seed = 1;
  double physics_hz = 240;
  std::string captions;  // of a bare recording; empty: none
};

/// Scene files, each read once. May be used by several threads.
class SceneShelf {
 public:
  explicit SceneShelf(ArmReadOptions options = {}) : options_(std::move(options)) {}
  /// @throws InputError, for a name with a suggestion.
  const Lesson& GetLesson(const std::string& name, const std::string& captions = {});
  const ArmModel& GetArm(const std::string& name);
  const Bench& GetBench(const std::string& name);
  const PersonSpec& GetPerson(const std::string& name);
  const CameraBody& GetCamera(const std::string& name);
  const Sensing& GetSensing(const std::string& name);  // also NAME:key=value,...

 private:
  template <class T>
  using Shelf = std::map<std::string, T>;
  template <class T, class Read>
  const T& Get(Shelf<T>* shelf, SceneKind kind, const std::string& name, Read&& read);

  ArmReadOptions options_;
  std::mutex mutex_;
  std::map<std::pair<std::string, std::string>, Lesson> lessons_;  // by name and captions
  Shelf<ArmModel> arms_;
  Shelf<Bench> benches_;
  Shelf<PersonSpec> people_;
  Shelf<CameraBody> cameras_;
  Shelf<Sensing> sensings_;
};

/// The same choice with nothing left empty: bench and person from the lesson (a recorded one that names no person: the
/// shipped one nearest in stature), the first shipped arm, the first shipped prime,
/// sensing `good`. @throws InputError.
TakeChoice WithDefaults(TakeChoice choice, SceneShelf& shelf);

/// Everything that one run needs.
struct PreparedTake {
  TakeSetup setup;
  const PolicyEntry* policy = nullptr;  // null: it was recorded
  ParamValues values;  // the policy's own

  /// @throws InputError for a take that was recorded on a set, which no policy made.
  std::unique_ptr<Policy> MakePolicy() const;
  /// @throws InputError for an unknown key (with the nearest) or a value out of its range.
  void RequireParams() const;
};
/// @pre nothing in `choice` is empty. @throws InputError for names, parameters, rates or parts that do not fit together.
PreparedTake Prepare(const TakeChoice& choice, SceneShelf& shelf);

/// The texts that a take is made from, for the store.
std::vector<StoredInput> InputsOf(const TakeSetup& setup);

/// The command that runs this take alone, quoted for a shell.
std::string CommandFor(const TakeChoice& choice, const std::string& out);

}  // namespace dryrig
