// `export --joints`: three forms of one motion that read back alike, and nothing written where a limit would be broken.
#include "bench/joint_export.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <nlohmann/json.hpp>
#include <sstream>

#include "tests/bench/child.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::StartsWith;

const std::vector<std::string> kWrist{"--built-together", "flange:wrist_tube"};

/// A folder with the short lesson filmed.
const Folder& Filmed() {
  static const Folder* const folder = [] {
    auto* made = new Folder;
    const std::string lesson = made->Write("short.yaml", kShortLesson);
    const Ran ran = RunDryrig({"take", lesson, "--policy", "planner", "--out", (*made / "take").string()});
    if (ran.code != 0) throw std::runtime_error(ran.err);
    return made;
  }();
  return *folder;
}
Ran Export(const std::string& file, std::vector<std::string> more = kWrist) {
  std::vector<std::string> line{"export", (Filmed() / "take").string(), "--joints", (Filmed() / file).string()};
  line.insert(line.end(), more.begin(), more.end());
  return RunDryrig(line);
}

TEST(JointExport, TheThreeFormsHoldTheSameNumbersAndStrictlyLaterTimes) {
  for (const char* file : {"j.yaml", "j.json", "j.csv"}) {
    const Ran ran = Export(file);
    ASSERT_EQ(ran.code, 0) << ran.err;
    EXPECT_THAT(ran.out, HasSubstr("will not move that way again"));
  }
  const YAML::Node yaml = YAML::LoadFile((Filmed() / "j.yaml").string());
  const nlohmann::json json = nlohmann::json::parse(ReadText(Filmed() / "j.json"));
  std::istringstream csv(ReadText(Filmed() / "j.csv"));
  std::string line;
  while (std::getline(csv, line) && line.starts_with("#")) {
  }
  EXPECT_THAT(line, StartsWith("t_s,turn_position_rad,shoulder_position_rad,"));
  ASSERT_EQ(yaml["points"].size(), json["points"].size());
  ASSERT_GT(json["points"].size(), 300u);
  double last_s = -1;
  for (size_t i = 0; i < json["points"].size(); ++i) {
    const nlohmann::json& point = json["points"][i];
    const double t_s = point["time_from_start"]["sec"].get<double>() + 1e-9 * point["time_from_start"]["nanosec"].get<double>();
    ASSERT_GT(t_s, last_s);
    last_s = t_s;
    ASSERT_TRUE(std::getline(csv, line));
    std::istringstream fields(line);
    std::string field;
    std::getline(fields, field, ',');
    ASSERT_NEAR(std::stod(field), t_s, 1e-12);
    for (const char* list : {"positions", "velocities", "accelerations"}) {
      ASSERT_EQ(point[list].size(), json["joint_names"].size());
      for (size_t j = 0; j < point[list].size(); ++j) {
        ASSERT_TRUE(std::getline(fields, field, ','));
        ASSERT_EQ(std::stod(field), point[list][j].get<double>());
        ASSERT_EQ(yaml["points"][i][list][j].as<double>(), point[list][j].get<double>());
      }
    }
    ASSERT_FALSE(std::getline(fields, field, ','));
  }
  EXPECT_FALSE(std::getline(csv, line));
}

TEST(JointExport, TheFirstLinesSayForWhomItWasPlannedAndTheCaution) {
  ASSERT_EQ(Export("first.yaml").code, 0);
  ASSERT_EQ(Export("first.csv").code, 0);
  ASSERT_EQ(Export("first.json").code, 0);
  for (const char* file : {"first.yaml", "first.csv"}) {
    const std::string text = ReadText(Filmed() / file);
    EXPECT_THAT(text, StartsWith("# Joint motion of arm heron, planned for ONE recorded performance: avery in lesson short"));
    EXPECT_THAT(text.substr(0, 500),
                AllOf(HasSubstr("# The person will not move that way again"), HasSubstr("# No risk assessment")));
  }
  const std::string json = ReadText(Filmed() / "first.json");
  EXPECT_THAT(json, StartsWith("{\n \"notice\": [\n  \"Joint motion of arm heron, planned for ONE recorded performance"));
}

TEST(JointExport, ABrokenLimitExitsOneNamesItAndWritesNothing) {
  const Ran near = Export("near.yaml", {"--built-together", "flange:wrist_tube", "--least-mm", "1900"});
  EXPECT_EQ(near.code, 1);
  EXPECT_THAT(near.err, AllOf(HasSubstr(" m at "), HasSubstr("limit 1.9 m"), HasSubstr("near.yaml is not written")));
  EXPECT_FALSE(fs::exists(Filmed() / "near.yaml"));
  const Ran bench = Export("bench.yaml", {"--built-together", "flange:wrist_tube", "--park", "0,109,0,125,0,21,0"});
  EXPECT_EQ(bench.code, 1) << bench.err;
  EXPECT_THAT(bench.err, AllOf(HasSubstr("– bench: distance -"), HasSubstr("limit 0 m")));
  EXPECT_FALSE(fs::exists(Filmed() / "bench.yaml"));
}

TEST(JointExport, BadInputExitsTwoAndWritesNothing) {
  struct Row {
    std::string file;
    std::vector<std::string> more;
    std::string says;
  };
  const std::vector<Row> rows{
      {"j.xml", {}, "the ending tells the form: .yaml, .json or .csv"},
      {"a.yaml", {"--rate-hz", "5"}, "--rate-hz 5 is outside [20, 1000] Hz"},
      {"a.yaml", {"--rate-hz", "nan"}, "--rate-hz"},
      {"a.yaml", {"--least-mm", "-1"}, "--least-mm -1 is outside"},
      {"a.yaml", {"--park", "0,0,0"}, "--park has 3 numbers, arm heron has 7 joints: turn [deg]"},
      {"a.yaml", {"--park", "0,0,0,x,0,0,0"}, "--park: expected a number, found \"x\""},
      {"a.yaml", {"--park", "0,900,0,0,0,0,0"}, "joint shoulder at 900 deg is outside its range"},
      {"a.yaml", {"--built-together", "flange"}, "expected BODY:BODY"},
      {"a.yaml", {"--built-together", "flange:wrist_tub"}, "no body \"wrist_tub\"; did you mean \"wrist_tube\"?"},
      {"a.yaml", {"--arm", "reed"}, "arm"},
      {"a.yaml", {"--edl", "x.edl"}, "need a command of their own"},
      {"none/a.yaml", {}, "no folder"},
  };
  for (const Row& row : rows) {
    const Ran ran = Export(row.file, row.more);
    EXPECT_EQ(ran.code, 2) << row.says << ran.err;
    EXPECT_THAT(ran.err, HasSubstr(row.says));
    EXPECT_FALSE(fs::exists(Filmed() / row.file)) << row.says;
  }
  ASSERT_EQ(Export("there.yaml").code, 0);
  const Ran again = Export("there.yaml");
  EXPECT_EQ(again.code, 2);
  EXPECT_THAT(again.err, HasSubstr("is there already"));
}

}  // namespace
}  // namespace dryrig
