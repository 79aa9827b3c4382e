// What is told of a body that was pressed.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>

#include "tests/bench/child.h"
#include "viewer/body_facts.h"
#include "viewer/filmed.h"
#include "viewer/render/scene.h"

namespace dryrig {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

class BodyOfTake : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    const Folder folder;
    TakeChoice choice;
    choice.lesson = folder.Write("short.yaml", kShortLesson);
    choice.policy.name = "tripod";
    filmed_ = new FilmedTake(Film(std::make_shared<const Recipe>(MakeRecipe(choice)), 0, {}));
  }
  static void TearDownTestSuite() {
    delete filmed_;
    filmed_ = nullptr;
  }
  static std::map<std::string, std::string> Facts(const std::string& name) {
    const DrawnScene scene(filmed_->take);
    for (int body = 0; body < scene.bodies(); ++body) {
      if (scene.NameOf(body) != name) continue;
      const BodyFacts facts = FactsOf(filmed_->take, kFrame, body, name);
      return {facts.lines.begin(), facts.lines.end()};
    }
    ADD_FAILURE() << "no body " << name;
    return {};
  }

  static constexpr size_t kFrame = 60;
  static FilmedTake* filmed_;
};
FilmedTake* BodyOfTake::filmed_ = nullptr;

TEST_F(BodyOfTake, EveryBodyThatIsDrawnTellsSomething) {
  const DrawnScene scene(filmed_->take);
  ASSERT_GT(scene.bodies(), 60);
  for (int body = 0; body < scene.bodies(); ++body) {
    const BodyFacts facts = FactsOf(filmed_->take, kFrame, body, scene.NameOf(body));
    EXPECT_EQ(facts.name, scene.NameOf(body));
    EXPECT_THAT(facts.lines, Not(IsEmpty())) << facts.name;
    for (const auto& [name, value] : facts.lines) EXPECT_THAT(value, Not(HasSubstr("nan"))) << facts.name << ", " << name;
  }
}

TEST_F(BodyOfTake, ThePropsPlaceAndSizeAreTheLessons) {
  const auto cup = Facts("cup");
  EXPECT_EQ(cup.at("place"), "80, 230, 780 mm") << "at [80, 230], its middle 40 mm over a top at 740 mm";
  EXPECT_EQ(cup.at("size"), "cylinder, 60 mm wide, 80 high");
  EXPECT_EQ(cup.at("carried by"), "nobody");
}

TEST_F(BodyOfTake, TheNearestPairsBodyTellsTheTakesOwnDistance) {
  const TakeTick& tick = filmed_->take.ticks[kFrame * 8];
  const std::string name = filmed_->take.person.capsules[static_cast<size_t>(tick.clearance.capsule)].name;
  EXPECT_THAT(Facts(name).at("to the robot"), HasSubstr(fmt::format("{:.0f} mm", tick.clearance.distance_m * 1000)));
}

TEST_F(BodyOfTake, TheCameraTellsItsLens) {
  const auto camera = Facts("camera");
  EXPECT_THAT(camera.at("focal length"), HasSubstr(fmt::format("{:.1f} mm", filmed_->take.frames[kFrame].lens.focal_m * 1000)));
  EXPECT_THAT(camera.at("sharp"), HasSubstr("mm"));
  EXPECT_TRUE(camera.contains("to the person"));
}

}  // namespace
}  // namespace dryrig
