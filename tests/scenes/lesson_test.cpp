#include "scenes/lesson.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>

#include "scenes/bench.h"
#include "scenes/error.h"
#include "scenes/lesson_reader.h"

namespace dryrig {
namespace {

using testing::HasSubstr;
using testing::ThrowsMessage;

std::string WithBeats(const std::string& beats) {
  return "dryrig: lesson/1\ntitle: Holes\ncraft: bookbinding\nhard_for: nothing\nbench: study-table\nperson: avery\nprops:\n"
         "  - {name: awl, box: {size_mm: [120, 20, 18]}, at_mm: [200, 240], yaw_deg: 90, mass_g: 40, colour: [1, 0.5, 0]}\n"
         "  - {name: pot, cylinder: {diameter_mm: 110, height_mm: 100}, at_mm: [0, 220], mass_g: 350}\n"
         "  - {name: bud, capsule: {diameter_mm: 30, length_mm: 90}, at_mm: [-200, 220], mass_g: 20}\n"
         "  - {name: ball, sphere: {diameter_mm: 60}, at_mm: [-100, 320], mass_g: 20}\n"
         "beats:\n" +
         beats;
}
Lesson Parse(const std::string& beats) {
  return ParseLesson(WithBeats(beats), "shelf/holes.yaml");
}

TEST(Lesson, EveryFieldOfEveryActionIsRead) {
  const Lesson lesson = Parse(
      "  - address: {for_s: 4, say: Hello.}\n"
      "  - reach: {hand: other, to: pot, take: false, say: Here.}\n"
      "  - reach: {to: awl}\n"
      "  - work: {on: pot, with: awl, motion: stitch, hands: both, for_s: 12, rate_hz: 1.1, span_mm: 30, say: So.}\n"
      "  - point: {hand: other, at: bud, say: This.}\n"
      "  - hold_up: {prop: awl, for_s: 3}\n"
      "  - put_down: {at_mm: [150, 300], say: There.}\n"
      "  - hold_up: {hand: other, prop: ball, for_s: 2.5}\n"
      "  - put_down: {hand: other}\n"
      "  - turn: {to_deg: -30, for_s: 2}\n"
      "  - say: Only talk.\n"
      "  - say: {text: More talk.}\n"
      "  - pause: {for_s: 1.5}\n"
      "  - glance: {at: bud, for_s: 1, say: Hm.}\n"
      "  - glance: {at: right, for_s: 1}\n"
      "  - reach: {to: ball}\n"
      "  - pass: {say: Over.}\n"
      "  - put_down: {hand: other, on: rack, at_mm: [700, 200]}\n"
      "  - step_back: {by_mm: 500, for_s: 3}\n");
  EXPECT_EQ(lesson.name, "holes");
  EXPECT_EQ(lesson.set, LessonSet::kTrain);
  EXPECT_EQ(lesson.title, "Holes");
  EXPECT_EQ(lesson.craft, "bookbinding");
  EXPECT_EQ(lesson.hard_for, "nothing");
  EXPECT_EQ(lesson.bench, "study-table");
  EXPECT_EQ(lesson.person, "avery");
  const std::vector<Beat>& b = lesson.beats;
  ASSERT_EQ(b.size(), 19u);
  EXPECT_EQ(b[0].kind, BeatKind::kAddress);
  EXPECT_EQ(b[0].for_s, 4);
  EXPECT_EQ(b[0].say, "Hello.");
  EXPECT_EQ(b[1].kind, BeatKind::kReach);
  EXPECT_EQ(b[1].hand, HandChoice::kOther);
  EXPECT_EQ(b[1].prop, "pot");
  EXPECT_FALSE(b[1].take);
  EXPECT_TRUE(b[2].take);
  EXPECT_EQ(b[2].hand, HandChoice::kDominant);
  EXPECT_EQ(b[3].kind, BeatKind::kWork);
  EXPECT_EQ(b[3].hand, HandChoice::kBoth);
  EXPECT_EQ(b[3].prop, "pot");
  EXPECT_EQ(b[3].with, "awl");
  EXPECT_EQ(b[3].motion, WorkMotion::kStitch);
  EXPECT_EQ(b[3].for_s, 12);
  EXPECT_EQ(b[3].rate_hz, 1.1);
  EXPECT_EQ(b[3].span_m, 0.03);
  EXPECT_EQ(b[4].kind, BeatKind::kPoint);
  EXPECT_EQ(b[4].for_s, 2);  // the default
  EXPECT_EQ(b[5].kind, BeatKind::kHoldUp);
  EXPECT_EQ(b[6].kind, BeatKind::kPutDown);
  EXPECT_EQ(b[6].prop, "awl");
  EXPECT_EQ(b[6].to_m, Eigen::Vector2d(0.15, 0.3));
  EXPECT_EQ(b[8].prop, "ball");
  EXPECT_FALSE(b[8].to_m.has_value());
  EXPECT_EQ(b[9].kind, BeatKind::kTurn);
  EXPECT_DOUBLE_EQ(b[9].turn_rad, -std::numbers::pi / 6);
  EXPECT_EQ(b[10].say, "Only talk.");
  EXPECT_EQ(b[11].say, "More talk.");
  EXPECT_EQ(b[12].kind, BeatKind::kPause);
  EXPECT_EQ(ToString(b[12].pos), "shelf/holes.yaml:25:5");
  EXPECT_EQ(b[13].kind, BeatKind::kGlance);
  EXPECT_EQ(b[13].glance_at, GlanceAt::kProp);
  EXPECT_EQ(b[13].prop, "bud");
  EXPECT_EQ(b[13].say, "Hm.");
  EXPECT_EQ(b[14].glance_at, GlanceAt::kRight);
  EXPECT_TRUE(b[14].prop.empty());
  EXPECT_EQ(b[16].kind, BeatKind::kPass);
  EXPECT_EQ(b[16].hand, HandChoice::kDominant);
  EXPECT_EQ(b[16].prop, "ball");
  EXPECT_EQ(b[17].hand, HandChoice::kOther);
  EXPECT_EQ(b[17].prop, "ball");  // the other hand has it now
  EXPECT_EQ(b[17].on, "rack");
  EXPECT_EQ(b[18].kind, BeatKind::kStepBack);
  EXPECT_EQ(b[18].back_m, 0.5);
  EXPECT_EQ(b[18].for_s, 3);
}

TEST(Lesson, PropsHaveTheirShapesInMetres) {
  const std::vector<Prop> props = Parse("  - pause: {for_s: 1}\n").props;
  ASSERT_EQ(props.size(), 4u);
  EXPECT_EQ(props[0].shape.kind, ShapeKind::kBox);
  EXPECT_EQ(props[0].shape.half_m, Eigen::Vector3d(0.06, 0.01, 0.009));
  EXPECT_EQ(props[0].at_m, Eigen::Vector2d(0.2, 0.24));
  EXPECT_EQ(props[0].yaw_rad, std::numbers::pi / 2);
  EXPECT_EQ(props[0].mass_kg, 0.04);
  EXPECT_EQ(props[0].colour, Eigen::Vector3d(1, 0.5, 0));
  EXPECT_EQ(props[1].shape.kind, ShapeKind::kCylinder);
  EXPECT_EQ(props[1].shape.radius_m, 0.055);
  EXPECT_EQ(props[1].shape.half_length_m, 0.05);
  // A capsule's length includes its two round ends: 90 = 30 + core of 60.
  EXPECT_EQ(props[2].shape.kind, ShapeKind::kCapsule);
  EXPECT_DOUBLE_EQ(props[2].shape.half_length_m, 0.03);
  EXPECT_EQ(props[3].shape.kind, ShapeKind::kSphere);
  EXPECT_EQ(props[3].shape.radius_m, 0.03);
}

TEST(Lesson, IntentsAreDerivedFromTheActionWhereTheAuthorGivesNone) {
  const Lesson lesson = Parse(
      "  - address: {for_s: 4, say: Hello.}\n"
      "  - work: {on: pot, motion: press, for_s: 3}\n"
      "  - point: {at: bud}\n"
      "  - hold_up: {prop: bud, for_s: 3}\n"
      "  - put_down: {}\n"
      "  - reach: {to: awl}\n"
      "  - turn: {to_deg: 10, for_s: 1}\n"
      "  - say: Talk.\n"
      "  - pause: {for_s: 1}\n"
      "  - work: {on: pot, motion: press, for_s: 3}\n"
      "    intent: none\n");
  const std::vector<std::string> wanted{"medium of face, eye-level",
                                        "close-up of hands, high-angle",
                                        "close-up of prop:bud, high-angle",
                                        "close-up of prop:bud, eye-level",
                                        "",
                                        "",
                                        "",
                                        "",
                                        "",
                                        ""};
  ASSERT_EQ(lesson.beats.size(), wanted.size());
  for (size_t i = 0; i < wanted.size(); ++i) {
    SCOPED_TRACE(i);
    ASSERT_EQ(lesson.beats[i].intent.has_value(), !wanted[i].empty());
    if (wanted[i].empty()) continue;
    EXPECT_EQ(ToString(lesson.beats[i].intent->shot), wanted[i]);
    EXPECT_EQ(lesson.beats[i].intent->cue, CueEnd::kAction);
  }
}

TEST(Lesson, GivenIntentsHaveTheirWordsAndDefaults) {
  const Lesson lesson = Parse(
      "  - say: Closer.\n"
      "    intent: {subject: [hands, prop:pot], size: extreme-close-up, angle: overhead, composition: upper-left, cue: "
      "sentence}\n"
      "  - point: {at: bud, say: Look.}\n"
      "    intent: {subject: prop:bud, size: medium}\n"
      "  - pause: {for_s: 1}\n"
      "    intent: {subject: face, size: wide}\n");
  const Intent& first = *lesson.beats[0].intent;
  EXPECT_EQ(first.shot.subjects, (std::vector<Subject>{{SubjectKind::kHands, ""}, {SubjectKind::kProp, "pot"}}));
  EXPECT_EQ(first.shot.size, ShotSize::kExtremeCloseUp);
  EXPECT_EQ(first.shot.angle, ShotAngle::kOverhead);
  EXPECT_EQ(first.shot.composition, Composition::kUpperLeft);
  EXPECT_EQ(first.cue, CueEnd::kSentence);
  EXPECT_EQ(lesson.beats[1].intent->shot.angle, ShotAngle::kHighAngle);
  EXPECT_EQ(lesson.beats[1].intent->shot.composition, Composition::kCentre);
  EXPECT_EQ(lesson.beats[1].intent->cue, CueEnd::kLater);
  EXPECT_EQ(lesson.beats[2].intent->shot.angle, ShotAngle::kEyeLevel);  // a face
  EXPECT_EQ(lesson.beats[2].intent->cue, CueEnd::kAction);              // nothing is said
}

TEST(Lesson, AHandMayPutDownAndTakeAgain) {
  EXPECT_NO_THROW(
      Parse("  - reach: {to: awl}\n  - put_down: {}\n  - reach: {hand: other, to: awl}\n  - put_down: {hand: other}\n"
            "  - hold_up: {prop: awl, for_s: 1}\n  - hold_up: {prop: awl, for_s: 1}\n"));
  // Touching without taking leaves the hand empty.
  EXPECT_THAT([] { Parse("  - reach: {to: awl, take: false}\n  - put_down: {}\n"); },
              ThrowsMessage<InputError>(HasSubstr("holds nothing")));
}

TEST(Lesson, BothHandsWorkWithAToolThatEitherHolds) {
  EXPECT_NO_THROW(
      Parse("  - reach: {hand: other, to: awl}\n  - work: {on: pot, with: awl, motion: tap, hands: both, for_s: 1}\n"));
  EXPECT_THROW(Parse("  - reach: {hand: other, to: awl}\n  - work: {on: pot, with: awl, motion: tap, for_s: 1}\n"), InputError);
}

TEST(Lesson, APlaceIsFreeOnceItsPropIsTaken) {
  // The other hand holds the pot; the awl may now lie where it stood.
  const std::string common = "  - reach: {to: awl}\n  - reach: {hand: other, to: pot}\n";
  EXPECT_NO_THROW(Parse(common + "  - put_down: {at_mm: [0, 220]}\n"));
  EXPECT_THAT([&] { Parse(common + "  - put_down: {at_mm: [0, 220]}\n  - put_down: {hand: other}\n"); },
              ThrowsMessage<InputError>(HasSubstr("\"pot\" at [0, 220] mm would lie on \"awl\"")));
}

TEST(Lesson, ShelvesTipsAndTheTestSetAreRead) {
  std::string text = WithBeats("  - pause: {for_s: 1}\n    intent: {subject: [tip:awl, prop:pot], size: close-up}\n");
  text.replace(text.find("mass_g: 40"), 10, "mass_g: 40, tip_mm: [60, 0, -4]");
  text.replace(text.find("at_mm: [0, 220]"), 15, "at_mm: [200, 240], on: rack");  // below the awl, were they on one ground
  text.insert(text.find("craft:"), "set: test\n");
  const Lesson lesson = ParseLesson(text, "holes.yaml");
  EXPECT_EQ(lesson.set, LessonSet::kTest);
  EXPECT_EQ(lesson.props[0].on, "");
  EXPECT_EQ(*lesson.props[0].tip_m, Eigen::Vector3d(0.06, 0, -0.004));
  EXPECT_EQ(lesson.props[1].on, "rack");
  EXPECT_FALSE(lesson.props[1].tip_m.has_value());
  EXPECT_EQ(ToString(lesson.beats[0].intent->shot), "close-up of tip:awl + prop:pot, high-angle");

  Bench bench;
  bench.name = "plank";
  EXPECT_THAT([&] { RequireFits(lesson, bench); },
              ThrowsMessage<InputError>(testing::AllOf(HasSubstr("prop \"pot\" at [200, 240] mm lies on shelf \"rack\""),
                                                       HasSubstr("bench plank has no shelves"))));
  Body rack{"rack", Shape::Box({0.1, 0.1, 0.05}), Eigen::Isometry3d::Identity()};
  rack.X_LS.translation() = Eigen::Vector3d(0.2, 0.24, bench.height_m + 0.05);
  bench.shelves = {rack};
  EXPECT_THAT([&] { RequireFits(lesson, bench); },
              ThrowsMessage<InputError>(HasSubstr("prop \"awl\" at [200, 240] mm stands in shelf rack of bench plank")));
  bench.shelves[0].X_LS.translation().z() += 0.1;  // now high enough to reach under
  EXPECT_NO_THROW(RequireFits(lesson, bench));
  bench.shelves[0].X_LS.translation().x() += 0.06;  // the pot's radius of 55 mm does not fit on what is left
  EXPECT_THAT([&] { RequireFits(lesson, bench); },
              ThrowsMessage<InputError>(HasSubstr("15.0 mm over the left edge of shelf rack of bench plank (200 x 200 mm)")));
}

TEST(Footprints, TouchingIsNotOverlapping) {
  Prop box, other, disc;
  box.shape = Shape::Box({0.1, 0.05, 0.01});
  other.shape = Shape::Box({0.1, 0.05, 0.01});
  disc.shape = Shape::Cylinder(0.05, 0.1);
  const Eigen::Vector2d o(0, 0);
  const double gap_m = 1e-4;  // well above the 1e-6 m that counts as touching
  EXPECT_FALSE(FootprintsOverlap(box, o, other, {0.2, 0}));
  EXPECT_TRUE(FootprintsOverlap(box, o, other, {0.2 - gap_m, 0}));
  EXPECT_FALSE(FootprintsOverlap(box, o, disc, {0, 0.1}));
  EXPECT_TRUE(FootprintsOverlap(disc, {0, 0.1 - gap_m}, box, o));
  EXPECT_FALSE(FootprintsOverlap(disc, o, disc, {0.06, 0.08}));  // 3-4-5: exactly two radii apart
  EXPECT_TRUE(FootprintsOverlap(disc, o, disc, {0.06, 0.08 - gap_m}));
  // At a box's corner the disc clears the corner, not the two sides: 0.05 m along the diagonal.
  const double diagonal = 0.05 / std::numbers::sqrt2;
  EXPECT_FALSE(FootprintsOverlap(box, o, disc, {0.1 + diagonal, 0.05 + diagonal}));
  EXPECT_TRUE(FootprintsOverlap(box, o, disc, {0.1 + diagonal - gap_m, 0.05 + diagonal}));
  // A quarter turn swaps the sides: now 0.05 + 0.1 apart along x is just clear.
  other.yaw_rad = std::numbers::pi / 2;
  EXPECT_FALSE(FootprintsOverlap(box, o, other, {0.15, 0}));
  EXPECT_TRUE(FootprintsOverlap(box, o, other, {0.15 - gap_m, 0}));
  // Two boxes whose bounding rectangles overlap although they do not: a diagonal stick beside a corner.
  Prop stick;
  stick.shape = Shape::Box({0.1, 0.001, 0.01});
  stick.yaw_rad = -std::numbers::pi / 4;
  EXPECT_FALSE(FootprintsOverlap(box, o, stick, {0.14, 0.09}));
}

TEST(Lesson, RequireFitsNamesPropEdgeAndBench) {
  Bench bench;
  bench.name = "plank";
  bench.width_m = 0.6;
  bench.depth_m = 0.4;
  EXPECT_NO_THROW(RequireFits(Parse("  - pause: {for_s: 1}\n"), bench));
  bench.width_m = 0.419;  // the awl, turned by 90 degrees, reaches to x = 210 mm
  EXPECT_THAT([&] { RequireFits(Parse("  - pause: {for_s: 1}\n"), bench); },
              ThrowsMessage<InputError>(testing::AllOf(HasSubstr("shelf/holes.yaml:8:5: prop \"awl\" at [200, 240] mm"),
                                                       HasSubstr("0.5 mm over the right edge of bench plank (419 x 400 mm)"))));
  bench.width_m = 0.6;
  bench.depth_m = 0.345;  // the ball reaches to y = 350 mm
  EXPECT_THAT([&] { RequireFits(Parse("  - pause: {for_s: 1}\n"), bench); },
              ThrowsMessage<InputError>(testing::AllOf(HasSubstr("prop \"ball\""), HasSubstr("5.0 mm over the far edge"))));
  bench.depth_m = 0.4;
  EXPECT_THAT([&] { RequireFits(Parse("  - reach: {to: awl}\n  - put_down: {at_mm: [200, 40]}\n"), bench); },
              ThrowsMessage<InputError>(
                  testing::AllOf(HasSubstr(":14:5: prop \"awl\" at [200, 40] mm"), HasSubstr("20.0 mm over the front edge"))));
}

}  // namespace
}  // namespace dryrig
