#pragma once

#include <string>
#include <string_view>

#include "policies/table.h"
#include "scenes/catalogue.h"
#include "sim/run.h"

namespace dryrig::testing {

/// A shipped lesson with its own bench and person.
inline TakeSetup ShippedSetup(const std::string& lesson, const std::string& arm = "heron", const std::string& camera = "zoom",
                              const std::string& sensing = "good") {
  TakeSetup setup;
  setup.lesson = ReadLesson(FindScene(SceneKind::kLesson, lesson));
  setup.stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, setup.lesson.bench)), ReadArm(FindScene(SceneKind::kArm, arm)),
                          ReadCamera(FindScene(SceneKind::kCamera, camera)));
  setup.person = ReadPerson(FindScene(SceneKind::kPerson, setup.lesson.person));
  setup.sensing = ReadSensing(FindScene(SceneKind::kSensing, sensing));
  return setup;
}

inline Take RunShipped(const TakeSetup& setup, std::string_view policy) {
  const auto made = FindPolicy(policy).make({});
  return RunTake(setup, *made);
}

}  // namespace dryrig::testing
