// What a performance costs: to make one from a lesson of seven minutes, and to ask it for a pose.
#include <benchmark/benchmark.h>

#include "scenes/catalogue.h"
#include "scenes/lesson.h"
#include "sim/performance.h"
#include "tests/scenes/bvh_files.h"

namespace dryrig {
namespace {

constexpr double kLesson_s = 7 * 60;

Bench BenchOf(const Lesson& lesson) {
  return ReadBench(FindScene(SceneKind::kBench, lesson.bench));
}
PersonSpec Person() {
  return ReadPerson(FindScene(SceneKind::kPerson, "devon"));
}

/// A shipped lesson's beats over and over.
Lesson Scripted() {
  Lesson lesson = ReadLesson(FindScene(SceneKind::kLesson, "booklet"));
  const std::vector<Beat> once = lesson.beats;
  while (Performance(lesson, BenchOf(lesson), Person(), 1).duration_s() < kLesson_s) {
    lesson.beats.insert(lesson.beats.end(), once.begin(), once.end());
  }
  return lesson;
}

/// A motion at 120 frames a second.
Lesson Recorded() {
  BvhStyle style;
  style.frame_time_s = 1.0 / 120;
  style.frames = static_cast<size_t>(kLesson_s * 120) + 1;
  const std::string motion = WriteBvh(style);
  return ParseLesson(
      "dryrig: lesson/1\ntitle: Seven minutes\ncraft: none\nhard_for: the clock\nbench: workshop-bench\nrecorded: {motion: "
      "a.bvh}\n",
      "a.yaml", [&](const std::string&, const std::string&) { return motion; });
}

void MakePerformance(benchmark::State& state, const Lesson& lesson) {
  const Bench bench = BenchOf(lesson);
  const PersonSpec person = Person();
  for (auto _ : state) benchmark::DoNotOptimize(Performance(lesson, bench, person, 1));
}

void PoseAt(benchmark::State& state, const Lesson& lesson) {
  const Performance performance(lesson, BenchOf(lesson), Person(), 1);
  double t_s = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(performance.PoseAt(t_s));
    t_s += 1.0 / 240;
    if (t_s > performance.duration_s()) t_s = 0;
  }
}

}  // namespace
}  // namespace dryrig

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  const dryrig::Lesson scripted = dryrig::Scripted(), recorded = dryrig::Recorded();
  for (const auto& [name, lesson] : {std::pair{"scripted", &scripted}, {"recorded", &recorded}}) {
    benchmark::RegisterBenchmark((std::string("make_") + name).c_str(), dryrig::MakePerformance, *lesson)
        ->Unit(benchmark::kMillisecond);
    benchmark::RegisterBenchmark((std::string("pose_at_") + name).c_str(), dryrig::PoseAt, *lesson)
        ->Unit(benchmark::kMicrosecond);
  }
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
