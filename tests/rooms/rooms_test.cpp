// The architecture's own test: which room may include which.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

namespace dryrig {
namespace {

namespace fs = std::filesystem;

const std::map<std::string, std::set<std::string>>& AllowedRooms() {
  static const std::map<std::string, std::set<std::string>> allowed{
      {"scenes", {"scenes"}},
      {"sim", {"scenes", "sim"}},
      {"policies", {"scenes", "sim", "policies"}},
      {"metrics", {"scenes", "sim", "metrics"}},
      {"viewer", {"scenes", "sim", "policies", "metrics", "viewer"}},
      {"bench", {"scenes", "sim", "policies", "metrics", "viewer", "bench"}},
  };
  return allowed;
}

/// Rooms that `text`, a file of `room`, includes against the arrows.
std::vector<std::string> BackArrows(const std::string& room, const std::string& text) {
  static const std::regex include(R"re(^\s*#\s*include\s*["<]([a-z]+)/)re");
  std::vector<std::string> wrong;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    std::smatch match;
    if (!std::regex_search(line, match, include)) continue;
    const std::string to = match[1];
    const bool a_room = AllowedRooms().contains(to) || to == "tests";
    if (a_room && !AllowedRooms().at(room).contains(to)) wrong.push_back(to);
  }
  return wrong;
}

std::string ReadAll(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

bool IsSource(const fs::path& file) {
  return file.extension() == ".h" || file.extension() == ".cpp";
}

TEST(Rooms, NoIncludePointsBack) {
  int files = 0;
  for (const auto& [room, allowed] : AllowedRooms()) {
    const fs::path folder = fs::path(DRYRIG_SOURCE_DIR) / room;
    if (!fs::exists(folder)) continue;
    for (const fs::directory_entry& entry : fs::recursive_directory_iterator(folder)) {
      if (!entry.is_regular_file() || !IsSource(entry.path())) continue;
      ++files;
      EXPECT_THAT(BackArrows(room, ReadAll(entry.path())), testing::IsEmpty()) << entry.path();
    }
  }
  EXPECT_GT(files, 30) << "the test must have seen the source tree";
}

TEST(Rooms, CheckerRejectsPlantedBackArrows) {
  EXPECT_THAT(BackArrows("scenes", "#include \"sim/take.h\"\n"), testing::ElementsAre("sim"));
  EXPECT_THAT(BackArrows("policies", "  # include <metrics/metric.h>\n"), testing::ElementsAre("metrics"));
  EXPECT_THAT(BackArrows("metrics", "#include \"policies/table.h\"\n"), testing::ElementsAre("policies"));
  EXPECT_THAT(BackArrows("sim", "#include \"tests/sim/test_arms.h\"\n"), testing::ElementsAre("tests"));
  EXPECT_THAT(BackArrows("bench", "#include \"scenes/lesson.h\"\n#include <string>\n"), testing::IsEmpty());
}

TEST(Rooms, FoldersAreAtMostTwoDeep) {
  const fs::path root(DRYRIG_SOURCE_DIR);
  for (const auto& [room, allowed] : AllowedRooms()) {
    if (!fs::exists(root / room)) continue;
    for (const fs::directory_entry& entry : fs::recursive_directory_iterator(root / room)) {
      const fs::path relative = entry.path().lexically_relative(root);
      EXPECT_LE(std::distance(relative.begin(), relative.end()), 3) << relative;
    }
  }
}

// The link libraries named for each room in the build file are the arrows, no more.
TEST(Rooms, TargetsLinkExactlyTheArrows) {
  const std::string build = ReadAll(fs::path(DRYRIG_SOURCE_DIR) / "CMakeLists.txt");
  EXPECT_THAT(build, testing::HasSubstr("add_room(scenes)\n"));
  EXPECT_THAT(build, testing::HasSubstr("add_room(sim dryrig_scenes)\n"));
  EXPECT_THAT(build, testing::HasSubstr("add_room(policies dryrig_sim)\n"));
  EXPECT_THAT(build, testing::HasSubstr("add_room(metrics dryrig_sim)\n"));
  const std::string bench = ReadAll(fs::path(DRYRIG_SOURCE_DIR) / "bench" / "CMakeLists.txt");
  EXPECT_THAT(bench, testing::HasSubstr("add_room(bench dryrig_policies dryrig_metrics dryrig_render dryrig_outside)\n"));
  const std::regex link(R"re(target_link_libraries\(dryrig_(scenes|sim|policies|metrics)[^)]*dryrig_(?!flags))re");
  EXPECT_FALSE(std::regex_search(build, link)) << "a room links another one beyond its add_room line";
}

}  // namespace
}  // namespace dryrig
