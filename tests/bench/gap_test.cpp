// The closed loop: one lesson rehearsed, exported, recorded on a made-up set that is not as rehearsed, scored, fitted, rehearsed
// again. `ctest -R ClosedLoop -V` prints the gap before and after.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <numbers>

#include "sim/store.h"
#include "tests/bench/child.h"
#include "tests/sim/real_set.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using testing::Hidden;
using testing::RealSet;
using testing::RecordSet;
using Json = nlohmann::json;

class Loop {
 public:
  Loop() {
    const ArmModel arm = ReadArm(FindScene(SceneKind::kArm, "heron"));
    hidden_.latency_s = 0.045;
    hidden_.bandwidth_hz = 4;
    hidden_.damping_ratio = 0.8;
    hidden_.friction_rad_s2 = 0.5;
    hidden_.other_form = true;
    hidden_.tracker_s = 0.17;
    hidden_.clock_s = -12.25;
    hidden_.clock_rate = 1 + 8e-5;
    Eigen::Isometry3d off = Eigen::Isometry3d::Identity();
    off.translation() = Eigen::Vector3d(0.006, -0.009, 0.004);
    off.linear() = Eigen::AngleAxisd(1.5 * std::numbers::pi / 180, Eigen::Vector3d(1, 2, -1).normalized()).toRotationMatrix();
    hidden_.X_EC = arm.X_EC * off;
  }

  /// Rehearses with these files, records, scores and compares, all under `name`; answers the gap as JSON.
  Json Round(const std::string& name, const std::string& arm, const std::string& sensing, bool live) {
    const std::string rehearsed = Path(name + "-rehearsed"), real = Path(name + "-real"), out = Path(name + "-gap");
    Must({"take", "booklet", "--policy", "planner", "--arm", arm, "--camera", "prime", "--sensing", sensing, "--out", rehearsed});
    TakeSetup setup;
    setup.lesson = ReadLesson(FindScene(SceneKind::kLesson, "booklet"));
    setup.stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, setup.lesson.bench)), ReadArm(FindScene(SceneKind::kArm, arm)),
                            ReadCamera(FindScene(SceneKind::kCamera, "prime")));
    setup.person = ReadPerson(FindScene(SceneKind::kPerson, setup.lesson.person));
    setup.sensing = ReadSensing(FindScene(SceneKind::kSensing, sensing));
    const RealSet set = RecordSet(setup, "planner", hidden_);
    const std::string joints = folder.Write(name + "-joints.csv", set.joints),
                      person = folder.Write(name + "-person.csv", set.person);
    const std::string camera = folder.Write(name + "-camera.csv", set.camera),
                      seen = folder.Write(name + "-seen.csv", set.live_person);
    Must({"score", "--log", joints, "--track", person, "--camera-track", camera, "--arm", arm, "--bench", setup.lesson.bench,
          "--camera", "prime", "--lesson", "booklet", "--out", real});
    std::vector<std::string> line{"gap", rehearsed, real, "--arm", arm, "--fit", "--out", out};
    if (live) line.insert(line.end(), {"--live-track", seen});
    last = Must(line);
    return Json::parse(ReadText(out + "/gap.json"));
  }
  std::string Path(const std::string& name) const { return (folder / name).string(); }
  Ran Must(const std::vector<std::string>& line) {
    const Ran ran = RunDryrig(line);
    if (ran.code != 0) throw std::runtime_error(line[0] + ": " + ran.err + ran.out);
    return ran;
  }

  Folder folder;
  Ran last;

 private:
  Hidden hidden_;
};

TEST(ClosedLoop, TheRehearsalWithTheFittedFilesHalvesTheGapAtLeast) {
  Loop loop;
  const Json before = loop.Round("first", "heron", "good", true);
  fmt::print("{}", loop.last.out);
  loop.Must(
      {"export", loop.Path("first-rehearsed"), "--joints", loop.Path("joints.yaml"), "--built-together", "flange:wrist_tube"});
  loop.Must({"export", loop.Path("first-rehearsed"), "--edl", loop.Path("edit.edl"), "--otio", loop.Path("edit.otio"), "--vtt",
             loop.Path("said.vtt")});
  const Json after =
      loop.Round("second", loop.Path("first-gap/heron-fitted.yaml"), loop.Path("first-gap/sensing-fitted.yaml"), true);
  fmt::print("{:<34}{:>12}{:>12}\n", "gap", "before", "after");
  const auto behind = [](const Json& gap) {
    return std::abs(gap["lag_recorded_deg"].get<double>() - gap["lag_rehearsed_deg"].get<double>());
  };
  for (const char* key : {"camera_mm", "camera_deg", "commanded_deg", "calibration_mm"})
    fmt::print("{:<34}{:>12.3f}{:>12.3f}\n", key, before[key].get<double>(), after[key].get<double>());
  fmt::print("{:<34}{:>12.3f}{:>12.3f}\n", "arm behind, recorded - rehearsed", behind(before), behind(after));
  EXPECT_LT(after["camera_mm"].get<double>(), 0.5 * before["camera_mm"].get<double>());
  EXPECT_LT(after["camera_deg"].get<double>(), 0.5 * before["camera_deg"].get<double>());
  EXPECT_LT(after["calibration_mm"].get<double>(), 0.5 * before["calibration_mm"].get<double>());
  EXPECT_LT(behind(after), 0.5 * behind(before));
  // The parts add up.
  for (const Json& row : before["metrics"]) {
    if (row["person"].is_null() || row["commanded"].is_null() || row["followed"].is_null()) continue;
    const double sum = row["person"].get<double>() + row["commanded"].get<double>() + row["followed"].get<double>();
    const double difference = row["recorded"].get<double>() - row["rehearsed"].get<double>();
    EXPECT_NEAR(sum, difference, 1e-9 * (1 + std::abs(row["recorded"].get<double>()))) << row["metric"];
  }
  EXPECT_THAT(ReadText(loop.folder / "first-gap/gap.svg"),
              AllOf(HasSubstr("<svg"), HasSubstr("camera apart"), HasSubstr("polyline")));
}

TEST(Gap, WhatCannotBeIdentifiedIsSaidAndBadUseRefused) {
  const Folder folder;
  const std::string lesson = folder.Write("short.yaml", kShortLesson), take = (folder / "take").string();
  ASSERT_EQ(RunDryrig({"take", lesson, "--policy", "follow", "--out", take}).code, 0);
  // A take against itself: no gap.
  const Ran same = RunDryrig({"gap", take, take, "--json"});
  ASSERT_EQ(same.code, 0) << same.err;
  const Json gap = Json::parse(same.out);
  EXPECT_EQ(gap["camera_mm"], 0);
  EXPECT_EQ(gap["commanded_deg"], 0);
  for (const Json& row : gap["metrics"]) EXPECT_EQ(row["rehearsed"], row["recorded"]) << row["metric"];
  const Ran fit = RunDryrig({"gap", take, take, "--fit", "--out", (folder / "gap").string()});
  EXPECT_EQ(fit.code, 2);
  EXPECT_THAT(fit.err, HasSubstr("this one has no joint log"));
  EXPECT_THAT(RunDryrig({"gap", take, take, "--fit"}).err, HasSubstr("name a folder with --out"));
  EXPECT_EQ(RunDryrig({"gap", take}).code, 2);
  EXPECT_EQ(RunDryrig({"gap", take, (folder / "none").string()}).code, 2);
}

}  // namespace
}  // namespace dryrig
