// What a set left behind becomes a take: scored like the rehearsal that it repeats, accepted by the other commands, and refused
// with what is wrong where its files do not fit together.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "metrics/metric.h"
#include "sim/store.h"
#include "tests/bench/child.h"
#include "tests/sim/real_set.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;
using testing::Hidden;
using testing::RealSet;
using testing::RecordSet;

constexpr const char* kLesson = R"(dryrig: lesson/1
title: A lesson for a made-up set
craft: testing
hard_for: nothing, it is short
bench: study-table
person: avery
props:
  - {name: cup, cylinder: {diameter_mm: 60, height_mm: 80}, at_mm: [80, 230], mass_g: 100, colour: [0.5, 0.5, 0.5]}
beats:
  - address: {for_s: 3, say: "Good morning."}
  - point: {at: cup, for_s: 3, say: "Look at this cup."}
  - reach: {to: cup, hand: dominant}
  - hold_up: {prop: cup, hand: dominant, for_s: 4}
  - put_down: {hand: dominant}
)";

/// One made-up set with a clock of its own, filmed once.
struct Set {
  Folder folder;
  std::string lesson = folder.Write("cup.yaml", kLesson);
  Take real;
  RealSet files;

  Set() {
    TakeSetup setup;
    setup.lesson = ReadLesson(lesson);
    setup.stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, "study-table")), ReadArm(FindScene(SceneKind::kArm, "heron")),
                            ReadCamera(FindScene(SceneKind::kCamera, "prime")));
    setup.person = ReadPerson(FindScene(SceneKind::kPerson, "avery"));
    setup.sensing = ReadSensing(FindScene(SceneKind::kSensing, "good"));
    Hidden hidden;
    hidden.X_EC = setup.stage.arm.X_EC;
    hidden.clock_s = 1234.5;
    hidden.person_noise_m = 0.0005;
    files = RecordSet(setup, "planner", hidden, &real);
    folder.Write("joints.csv", files.joints);
    folder.Write("person.csv", files.person);
    folder.Write("camera.csv", files.camera);
    std::string vtt = "WEBVTT\n";
    for (const Sentence& sentence : real.sentences)
      vtt += fmt::format("\n00:{:06.3f} --> 00:{:06.3f}\n{}\n", sentence.start_s, sentence.end_s, sentence.text);
    folder.Write("said.vtt", vtt);
  }
  std::string Path(const std::string& name) const { return (folder / name).string(); }
  /// `score --log` with these options set otherwise; an empty value leaves one out.
  Ran Score(const std::vector<std::pair<std::string, std::string>>& other, const std::string& out) const {
    std::vector<std::pair<std::string, std::string>> options{{"--log", Path("joints.csv")},
                                                             {"--track", Path("person.csv")},
                                                             {"--camera-track", Path("camera.csv")},
                                                             {"--captions", Path("said.vtt")},
                                                             {"--arm", "heron"},
                                                             {"--bench", "study-table"},
                                                             {"--camera", "prime"},
                                                             {"--lesson", lesson},
                                                             {"--out", Path(out)}};
    for (const auto& [key, value] : other) {
      for (auto& [have, now] : options) {
        if (have == key) now = value;
      }
    }
    std::vector<std::string> line{"score"};
    for (const auto& [key, value] : options) {
      if (!value.empty()) line.insert(line.end(), {key, value});
    }
    return RunDryrig(line);
  }
};
const Set& TheSet() {
  static const Set* const set = new Set;
  return *set;
}

TEST(ScoreLog, ARecordedSetScoresLikeTheTakeThatItIs) {
  const Set& set = TheSet();
  const Ran ran = set.Score({}, "real");
  ASSERT_EQ(ran.code, 0) << ran.err;
  EXPECT_THAT(ran.err,
              AllOf(HasSubstr("clocks: the log's is +1234."), HasSubstr("2 sentences are the lesson's: it begins at 0.000 s"),
                    HasSubstr("both brought to 240 Hz"), HasSubstr("scores of cues have nothing to measure")));
  const Store store(set.folder / "real/results.db", Store::Mode::kRead);
  const Take take = store.ReadTake(1);
  EXPECT_EQ(take.id.policy, "recorded");
  const Scorecard real = ScoreTake(set.real), recorded = ScoreTake(take);
  const auto value = [](const Scorecard& card, std::string_view name) {
    return card.scores[static_cast<size_t>(&FindMetric(name) - Metrics().data())].value;
  };
  // The tracked body is low-passed and its shape estimated from its bones: a hand's breadth of visibility, centimetres of
  // distance.
  EXPECT_NEAR(*value(recorded, "framing_error"), *value(real, "framing_error"), 0.15);
  EXPECT_NEAR(*value(recorded, "hand_visibility"), *value(real, "hand_visibility"), 0.1);
  EXPECT_NEAR(*value(recorded, "closest_approach"), *value(real, "closest_approach"), 0.03);
  EXPECT_NEAR(*value(recorded, "servo_error_deg"), *value(real, "servo_error_deg"), 0.02);
  for (const char* cue : {"cue_precision", "cue_recall", "cue_delay_s"}) EXPECT_FALSE(value(recorded, cue).has_value()) << cue;
  EXPECT_NEAR(*value(recorded, "in_focus"), *value(real, "in_focus"), 0.05);
  // Joints come back to the log's noise and the clock's error: a millisecond of 1 rad/s.
  double most = 0;
  for (size_t i = 0; i < take.ticks.size(); ++i)
    most = std::max(most, (take.ticks[i].q - set.real.ticks[2 * i].q).cwiseAbs().maxCoeff());
  EXPECT_LT(most, 0.003);
}

TEST(ScoreLog, OtherCommandsAcceptItAsATake) {
  const Set& set = TheSet();
  ASSERT_EQ(set.Score({}, "accepted").code, 0);
  const std::string take = set.Path("accepted");
  const Ran again = RunDryrig({"score", take});
  EXPECT_EQ(again.code, 0) << again.err;
  EXPECT_THAT(again.err, HasSubstr("equal to the stored scorecard to the last digit"));
  EXPECT_EQ(RunDryrig({"export", take, "--csv", set.Path("metrics.csv")}).code, 0);
  EXPECT_EQ(RunDryrig({"export", take, "--vtt", set.Path("out.vtt"), "--edl", set.Path("out.edl")}).code, 0);
  const Ran joints = RunDryrig({"export", take, "--joints", set.Path("again.csv"), "--built-together", "flange:wrist_tube"});
  EXPECT_LE(joints.code, 1) << joints.err;
  const Ran clearance = RunDryrig({"clearance", take});
  EXPECT_LE(clearance.code, 1) << clearance.err;
  EXPECT_THAT(clearance.out, HasSubstr("nearest"));
  EXPECT_EQ(RunDryrig({"export", take, "--frame", "2", "--png", set.Path("frame.png"), "--size", "320x180"}).code, 0);
}

std::string Replaced(std::string text, const std::string& from, const std::string& to) {
  const size_t at = text.find(from);
  if (at != std::string::npos) text.replace(at, from.size(), to);
  return text;
}

TEST(ScoreLog, SetsThatDoNotFitTogetherAreRefusedAndNothingIsWritten) {
  const Set& set = TheSet();
  const auto& folder = set.folder;
  std::string far = "t,joint,x,y,z\n", cut;
  for (size_t at = 0; at < set.files.person.size();) {
    const size_t end = set.files.person.find('\n', at);
    const std::string line = set.files.person.substr(at, end - at);
    at = end + 1;
    double t = 0, x = 0, y = 0, z = 0;
    char name[40];
    if (std::sscanf(line.c_str(), "%lf,%39[^,],%lf,%lf,%lf", &t, name, &x, &y, &z) != 5) continue;
    far += fmt::format("{},{},{},{},{}\n", t, name, x + 9, y, z);
  }
  struct Row {
    std::vector<std::pair<std::string, std::string>> options;
    std::string says;
  };
  const std::vector<Row> rows{
      {{{"--track", ""}}, "--log needs --track too"},
      {{{"--arm", ""}}, "--log needs --arm too"},
      {{{"--lesson", ""}}, "--log needs --lesson too"},
      {{{"--out", ""}}, "--log needs --out too"},
      {{{"--lesson", "bookelt"}}, "did you mean \"booklet\"?"},
      {{{"--arm", "reed"}}, "has not; is it another arm's log?"},
      {{{"--camera-track", ""}}, "5 s in common are needed. Two clocks? A --camera-track tells"},
      {{{"--track", folder.Write("far.csv", far)}}, "The track must be in the room's frame"},
      {{{"--track", folder.Write("cut.csv", set.files.person.substr(0, 3000))}}, "cut.csv"},
      {{{"--track", folder.Write("columns.csv", Replaced(set.files.person, "t,joint,x", "time,joint,x"))}}, "no column t"},
      {{{"--track", set.Path("none.csv")}}, "none.csv"},
      {{{"--captions", folder.Write("bad.vtt", "no captions\n")}}, "bad.vtt"},
      {{{"--camera-track", folder.Write("cam-columns.csv", Replaced(set.files.camera, "qw", "w"))}}, "no column qw"},
      {{{"--log", folder.Write("joint-name.csv", Replaced(set.files.joints, "elbow_position", "elbo_position"))}},
       "did you mean \"elbo_position_rad\"?"},
      {{{"--log", folder.Write("no-time.csv", Replaced(set.files.joints, "t_s", "clock"))}}, "no column t_s"},
  };
  for (const Row& row : rows) {
    const Ran ran = set.Score(row.options, "refused");
    EXPECT_EQ(ran.code, 2) << row.says << "\n" << ran.err;
    EXPECT_THAT(ran.err, HasSubstr(row.says));
    EXPECT_FALSE(fs::exists(set.folder / "refused/results.db")) << row.says;
  }
  EXPECT_EQ(RunDryrig({"score"}).code, 2);
  EXPECT_EQ(RunDryrig({"score", set.Path("real"), "--log", set.Path("joints.csv")}).code, 2);
}

}  // namespace
}  // namespace dryrig
