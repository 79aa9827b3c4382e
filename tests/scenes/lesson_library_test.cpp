// What the shipped lessons promise to those who write policies and metrics.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <set>

#include "scenes/bench.h"
#include "scenes/catalogue.h"
#include "scenes/error.h"
#include "scenes/lesson.h"
#include "scenes/person.h"

namespace dryrig {
namespace {

std::vector<Lesson> Shipped() {
  std::vector<Lesson> lessons;
  for (const std::string& name : ListScenes(SceneKind::kLesson))
    lessons.push_back(ReadLesson(FindScene(SceneKind::kLesson, name)));
  return lessons;
}

const Prop& PropOf(const Lesson& lesson, const std::string& name) {
  return *std::find_if(lesson.props.begin(), lesson.props.end(), [&](const Prop& p) { return p.name == name; });
}

TEST(LessonLibrary, EveryLessonHasThePartsThatTheMeasuresNeed) {
  for (const Lesson& lesson : Shipped()) {
    SCOPED_TRACE(lesson.name);
    EXPECT_THAT(lesson.text, testing::StartsWith("# Invented for this project."));
    EXPECT_GT(lesson.hard_for.size(), 20u);
    EXPECT_NO_THROW(RequireFits(lesson, ReadBench(FindScene(SceneKind::kBench, lesson.bench))));
    EXPECT_NO_THROW(ReadPerson(FindScene(SceneKind::kPerson, lesson.person)));
    EXPECT_THAT(lesson.props.size(), testing::AllOf(testing::Ge(4u), testing::Le(8u)));
    std::set<BeatKind> kinds;
    std::set<ShotSize> sizes;
    std::set<ShotAngle> angles;
    bool tool = false, both = false;
    int asked = 0;
    for (const Beat& beat : lesson.beats) {
      kinds.insert(beat.kind);
      tool = tool || !beat.with.empty();
      both = both || beat.hand == HandChoice::kBoth;
      if (!beat.intent) continue;
      ++asked;
      sizes.insert(beat.intent->shot.size);
      angles.insert(beat.intent->shot.angle);
    }
    for (const BeatKind kind : {BeatKind::kAddress, BeatKind::kReach, BeatKind::kWork, BeatKind::kPoint, BeatKind::kHoldUp,
                                BeatKind::kPutDown, BeatKind::kSay, BeatKind::kPause}) {
      EXPECT_TRUE(kinds.contains(kind)) << ToString(kind);
    }
    EXPECT_TRUE(tool);
    EXPECT_TRUE(both);
    EXPECT_GE(asked, 8);
    EXPECT_EQ(sizes.size(), 4u) << "every shot size is asked for";
    EXPECT_EQ(angles.size(), 3u) << "every angle is asked for";
    for (const Prop& prop : lesson.props) {  // so that the smallest person reaches them
      if (!prop.on.empty()) continue;
      EXPECT_LE(std::abs(prop.at_m.x()), 0.35) << prop.name;
      EXPECT_GE(prop.at_m.y(), 0.12) << prop.name;
      EXPECT_LE(prop.at_m.y(), 0.42) << prop.name;
    }
  }
}

TEST(LessonLibrary, EightCraftsAreForTrainingAndTwoOthersForTesting) {
  std::map<LessonSet, std::set<std::string>> crafts;
  int long_ones = 0, lessons = 0;
  for (const Lesson& lesson : Shipped()) {
    ++lessons;
    crafts[lesson.set].insert(lesson.craft);
    long_ones += lesson.set == LessonSet::kTrain && lesson.beats.size() >= 25;
    if (lesson.set == LessonSet::kTest) {
      EXPECT_THAT(lesson.text, testing::HasSubstr("nobody tunes a policy on it"));
    }
  }
  EXPECT_EQ(crafts[LessonSet::kTrain].size(), 8u);
  EXPECT_EQ(crafts[LessonSet::kTest].size(), 2u);
  EXPECT_EQ(lessons, 10) << "no two of one craft";
  EXPECT_GE(long_ones, 2);
}

/// What happens somewhere in the lessons that may be tuned on, each with how often at least.
TEST(LessonLibrary, TheTrainingLessonsTogetherHoldWhatRealOnesDo) {
  std::map<std::string, int> found;
  std::set<std::string> wishes;
  for (const Lesson& lesson : Shipped()) {
    if (lesson.set == LessonSet::kTest) continue;
    const Beat* before = nullptr;
    for (const Beat& beat : lesson.beats) {
      const auto count = [&](const char* what, bool here) { found[what] += here; };
      count("passed from hand to hand", beat.kind == BeatKind::kPass);
      count("glance at the crew", beat.kind == BeatKind::kGlance && beat.glance_at == GlanceAt::kCamera);
      count("glance aside", beat.kind == BeatKind::kGlance && beat.glance_at != GlanceAt::kCamera);
      count("away from the bench and back", beat.kind == BeatKind::kStepBack);
      count("fetched from a shelf", beat.kind == BeatKind::kReach && !PropOf(lesson, beat.prop).on.empty());
      count("turned to others", beat.kind == BeatKind::kTurn);
      count("pause", beat.kind == BeatKind::kPause);
      count("talk that asks for nothing", beat.kind == BeatKind::kSay && !beat.intent);
      count("laid elsewhere", beat.kind == BeatKind::kPutDown && beat.to_m);
      count("both hands busy", beat.kind == BeatKind::kWork && beat.hand == HandChoice::kBoth);
      count("a tool at work", !beat.with.empty());
      if (before && before->kind == BeatKind::kPoint && beat.kind == BeatKind::kPoint && before->prop != beat.prop) {
        const double apart = (PropOf(lesson, before->prop).at_m - PropOf(lesson, beat.prop).at_m).norm();
        count("pointing at things 10 cm apart", apart < 0.11);
        count("the other one, no", beat.say.find("No, ") == 0);
      }
      if (beat.intent) {
        const std::vector<Subject>& subjects = beat.intent->shot.subjects;
        const auto of = [&](SubjectKind kind) {
          return std::count_if(subjects.begin(), subjects.end(), [&](const Subject& s) { return s.kind == kind; });
        };
        count("two props as one picture", of(SubjectKind::kProp) == 2);
        count("a tool's tip", of(SubjectKind::kTip) == 1);
        count("off centre", beat.intent->shot.composition != Composition::kCentre);
        if (beat.kind == BeatKind::kSay) wishes.insert(beat.say);
      }
      before = &beat;
    }
    found["counted sequence"] += lesson.text.find("One. ") != std::string::npos ||
                                 lesson.text.find("\"One: ") != std::string::npos ||
                                 lesson.text.find("\"First of all") != std::string::npos;
  }
  const std::map<std::string, int> least{{"passed from hand to hand", 4},
                                         {"glance at the crew", 2},
                                         {"glance aside", 3},
                                         {"away from the bench and back", 3},
                                         {"fetched from a shelf", 4},
                                         {"turned to others", 6},
                                         {"pause", 10},
                                         {"talk that asks for nothing", 3},
                                         {"laid elsewhere", 2},
                                         {"both hands busy", 12},
                                         {"a tool at work", 12},
                                         {"pointing at things 10 cm apart", 3},
                                         {"the other one, no", 2},
                                         {"two props as one picture", 4},
                                         {"a tool's tip", 6},
                                         {"off centre", 3},
                                         {"counted sequence", 3}};
  for (const auto& [what, times] : least) EXPECT_GE(found[what], times) << what;
  EXPECT_GE(wishes.size(), 20u) << "wishes in many wordings";
}

}  // namespace
}  // namespace dryrig
