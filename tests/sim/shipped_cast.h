#pragma once

#include <fmt/format.h>

#include <string>
#include <vector>

#include "scenes/bench.h"
#include "scenes/catalogue.h"
#include "scenes/lesson.h"
#include "scenes/person.h"
#include "sim/performance.h"

namespace dryrig::testing {

/// A shipped lesson at its own bench, performed by a shipped person.
struct Cast {
  Lesson lesson;
  Bench bench;
  PersonSpec person;

  Performance Perform(uint64_t seed) const { return Performance(lesson, bench, person, seed); }
  std::string Name() const { return fmt::format("{} by {}", lesson.name, person.name); }
};

/// Every shipped lesson with every shipped person.
inline std::vector<Cast> ShippedCasts() {
  std::vector<Cast> casts;
  for (const std::string& lesson_name : ListScenes(SceneKind::kLesson)) {
    const Lesson lesson = ReadLesson(FindScene(SceneKind::kLesson, lesson_name));
    const Bench bench = ReadBench(FindScene(SceneKind::kBench, lesson.bench));
    for (const std::string& person_name : ListScenes(SceneKind::kPerson)) {
      casts.push_back({lesson, bench, ReadPerson(FindScene(SceneKind::kPerson, person_name))});
    }
  }
  return casts;
}

/// One cast a lesson, each with another person, one of them left-handed.
inline std::vector<Cast> FewCasts() {
  const std::vector<Cast> all = ShippedCasts();
  const size_t people = ListScenes(SceneKind::kPerson).size(), lessons = all.size() / people;
  std::vector<Cast> few;
  for (size_t i = 0; i < lessons; ++i) few.push_back(all[i * people + (i + 1) % people]);
  return few;
}

/// A woman of middle stature, standing, right-handed; every length from the ratios.
inline PersonSpec PlainPerson() {
  PersonSpec person;
  person.name = "plain";
  person.stature_m = 1.65;
  person.mass_kg = 62;
  return WithRatios(person);
}
inline Bench PlainBench() {
  Bench bench;
  bench.name = "plain-bench";
  bench.height_m = 0.95;
  return bench;
}
inline Prop BoxProp(const std::string& name, double x, double y, const Eigen::Vector3d& size) {
  Prop prop;
  prop.name = name;
  prop.shape = Shape::Box(0.5 * size);
  prop.at_m = {x, y};
  return prop;
}
inline Beat MakeBeat(BeatKind kind, const std::string& prop = "", double for_s = 0) {
  Beat beat;
  beat.kind = kind;
  beat.prop = prop;
  beat.for_s = for_s;
  beat.pos = {"plain.yaml", 7, 3};
  return beat;
}
/// A small cube to the right and one to the left; the beats are the caller's.
inline Lesson PlainLesson(std::vector<Beat> beats) {
  Lesson lesson;
  lesson.name = "plain";
  lesson.props = {BoxProp("cube", 0.2, 0.25, {0.03, 0.03, 0.04}), BoxProp("peg", -0.15, 0.3, {0.02, 0.02, 0.06})};
  lesson.beats = std::move(beats);
  return lesson;
}

}  // namespace dryrig::testing
