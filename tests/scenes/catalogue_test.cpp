#include "scenes/catalogue.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>

#include "scenes/bench.h"
#include "scenes/camera.h"
#include "scenes/error.h"
#include "scenes/lesson.h"
#include "scenes/person.h"
#include "scenes/sensing.h"

namespace dryrig {
namespace {

using testing::HasSubstr;
using testing::ThrowsMessage;

/// $DRYRIG_SCENES for the length of a test.
class ScenesVariable {
 public:
  explicit ScenesVariable(const std::string& value) {
    if (const char* set = std::getenv("DRYRIG_SCENES")) before_ = set;
    setenv("DRYRIG_SCENES", value.c_str(), 1);
  }
  ~ScenesVariable() { before_.empty() ? unsetenv("DRYRIG_SCENES") : setenv("DRYRIG_SCENES", before_.c_str(), 1); }
  ScenesVariable(const ScenesVariable&) = delete;
  ScenesVariable& operator=(const ScenesVariable&) = delete;

 private:
  std::string before_;
};

TEST(Catalogue, EveryShippedFileOfEveryKindReads) {
  const auto each = [](SceneKind kind, size_t least, auto read) {
    const std::vector<std::string> names = ListScenes(kind);
    EXPECT_GE(names.size(), least) << ToString(kind);
    EXPECT_TRUE(std::is_sorted(names.begin(), names.end()));
    for (const std::string& name : names) {
      SCOPED_TRACE(name);
      const std::filesystem::path file = FindScene(kind, name);
      const auto scene = read(file);
      EXPECT_EQ(scene.name, name);
      EXPECT_FALSE(scene.title.empty());
      std::ifstream in(file, std::ios::binary);
      const std::string bytes{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
      EXPECT_EQ(scene.text, bytes) << "the text is the file, byte for byte";
      EXPECT_THAT(bytes, testing::AnyOf(HasSubstr("nvented"), HasSubstr("ommon practice"), HasSubstr("The truth")))
          << "says where it is from";
    }
  };
  each(SceneKind::kBench, 2, [](const auto& file) { return ReadBench(file); });
  each(SceneKind::kCamera, 2, [](const auto& file) { return ReadCamera(file); });
  each(SceneKind::kLesson, 3, [](const auto& file) { return ReadLesson(file); });
  each(SceneKind::kPerson, 5, [](const auto& file) { return ReadPerson(file); });
  each(SceneKind::kSensing, 3, [](const auto& file) { return ReadSensing(file); });
}

TEST(Catalogue, SuggestsTheNearestName) {
  EXPECT_THAT([] { FindScene(SceneKind::kBench, "studdy-table"); },
              ThrowsMessage<InputError>(HasSubstr("no bench \"studdy-table\"; did you mean \"study-table\"?")));
  EXPECT_THAT([] { FindScene(SceneKind::kPerson, "nobody-at-all"); },
              ThrowsMessage<InputError>(HasSubstr("no person \"nobody-at-all\"; known: avery, ")));
  EXPECT_THAT([] { FindScene(SceneKind::kLesson, "my/bookle.yaml"); },
              ThrowsMessage<InputError>(HasSubstr("my/bookle.yaml: no such lesson file; did you mean \"booklet\"?")));
  EXPECT_THROW(FindScene(SceneKind::kLesson, ""), InputError);
  EXPECT_THROW(FindScene(SceneKind::kLesson, ".."), InputError);
  EXPECT_THROW(FindScene(SceneKind::kLesson, "/"), InputError);
}

TEST(Catalogue, APathThatExistsIsTakenAsGiven) {
  const std::filesystem::path file = std::filesystem::path(testing::TempDir()) / "dryrig_own_bench.yaml";
  std::ofstream(file) << "x";
  EXPECT_EQ(FindScene(SceneKind::kBench, file.string()), file);
  std::filesystem::remove(file);
}

TEST(Catalogue, TheVariableOverridesTheShippedFolder) {
  const std::filesystem::path folder = std::filesystem::path(testing::TempDir()) / "dryrig_own_scenes";
  std::filesystem::create_directories(folder / "benches" / "folder.yaml");
  for (const char* name : {"zinc.yaml", "ash.yaml", "notes.txt"}) std::ofstream(folder / "benches" / name) << "x";
  {
    const ScenesVariable set(folder.string());
    EXPECT_EQ(ScenesFolder(), folder);
    EXPECT_THAT(ListScenes(SceneKind::kBench), testing::ElementsAre("ash", "zinc"));
    EXPECT_THAT(ListScenes(SceneKind::kPerson), testing::IsEmpty());
    EXPECT_EQ(FindScene(SceneKind::kBench, "zinc"), folder / "benches" / "zinc.yaml");
  }
  {
    const ScenesVariable set((folder / "nowhere").string());
    EXPECT_THAT([] { ScenesFolder(); },
                ThrowsMessage<InputError>(testing::AllOf(HasSubstr("DRYRIG_SCENES is \""), HasSubstr("no folder"))));
  }
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace dryrig
