#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>

#include "bench/mount_run.h"
#include "scenes/catalogue.h"
#include "scenes/error.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

Bench ShippedBench(const std::string& name) {
  return ReadBench(FindScene(SceneKind::kBench, name));
}

TEST(MountGrid, PlacesStandFreeAndLookAtTheWork) {
  const Bench bench = ShippedBench("corner-table");
  const std::vector<MountPlace> places = MountGrid(bench, 0.2);
  EXPECT_GT(places.size(), 80u);
  for (const char* side : {"back", "left", "right", "overhead"})
    EXPECT_TRUE(std::any_of(places.begin(), places.end(), [&](const MountPlace& place) { return place.side == side; })) << side;
  for (const MountPlace& place : places) {
    const Eigen::Isometry3d X_WB = place.X_WB();
    Eigen::Vector3d to_work = Eigen::Vector3d(0, 0.15, 0) - place.at_m;
    to_work.z() = 0;
    EXPECT_NEAR(to_work.normalized().dot(X_WB.linear().col(0)), 1, 1e-12) << place.Text();
    EXPECT_NEAR(X_WB.linear().col(2).z(), place.hangs() ? -1 : 1, 1e-12);
  }
  EXPECT_LT(MountGrid(bench, 0.4).size(), places.size());
}

TEST(MountGrid, ABenchWithTheMountReadsAsThatMount) {
  for (const char* name : {"corner-table", "workshop-bench"}) {
    const Bench bench = ShippedBench(name);
    for (const MountPlace& place : MountGrid(bench, 0.5)) {
      const Bench moved = ParseBench(WithMount(bench.text, place), "moved.yaml");
      EXPECT_TRUE(moved.X_WB.isApprox(place.X_WB(), 1e-6)) << place.Text();
      EXPECT_EQ(moved.keep_out.size(), bench.keep_out.size());
      EXPECT_EQ(moved.height_m, bench.height_m);
    }
  }
  EXPECT_THROW(WithMount("dryrig: bench/1\n", {}), InputError);
}

class MountStudy : public ::testing::Test {
 protected:
  MountStudy()
      : bench_(ShippedBench("study-table")),
        stage_(
            MakeStage(bench_, ReadArm(FindScene(SceneKind::kArm, "heron")), ReadCamera(FindScene(SceneKind::kCamera, "prime")))),
        views_(ParseLesson(kShortLesson, "short.yaml"), stage_, ReadPerson(FindScene(SceneKind::kPerson, "avery")), 1) {}
  MountScore From(const MountPlace& place, double clearance_m = 0.25) const {
    MountScore score;
    for (const ViewFate fate : views_.FatesFrom(place, clearance_m)) ++score.by_fate[static_cast<size_t>(fate)];
    return score;
  }
  static MountPlace Back(double x, double over_m = 0.45) {
    return {"back", {x, 0.75, 0.74 + over_m}, std::atan2(0.15 - 0.75, -x)};
  }
  Bench bench_;
  Stage stage_;
  LessonViews views_;
};

TEST_F(MountStudy, TwoMomentsOfEveryIntentAreTried) {
  ASSERT_GE(views_.views().size(), 2u);
  EXPECT_EQ(From(Back(-0.5)).views(), static_cast<int>(views_.views().size()));
}

// What is 3 m off is reached by no arm of 1.1 m.
TEST_F(MountStudy, FarAwayNothingIsReached) {
  const MountScore score = From({"back", {0, 3.5, 1.2}, -M_PI / 2});
  EXPECT_EQ(score.by_fate[static_cast<size_t>(ViewFate::kOutOfReach)], score.views());
  EXPECT_EQ(score.seen(), 0);
}

TEST_F(MountStudy, AskingForMoreRoomNeverSeesMore) {
  double last = 2;
  int lost = 0;
  for (const double clearance_m : {0.0, 0.3, 0.6, 2.0}) {
    const MountScore score = From(Back(-0.5), clearance_m);
    EXPECT_LE(score.seen(), last) << clearance_m;
    last = score.seen();
    lost = score.by_fate[static_cast<size_t>(ViewFate::kTooNear)];
  }
  EXPECT_EQ(last, 0) << "no arm that films is 2 m from the person";
  EXPECT_GT(lost, 0) << "and it says why";
  EXPECT_GT(From(Back(-0.5), 0).seen(), 0);
}

// A wall between the mount and all that the lesson shows hides it, or is in the way.
TEST_F(MountStudy, AWallTakesTheViews) {
  Bench walled = bench_;
  walled.keep_out.push_back({"wall", Shape::Box({2, 0.01, 1.2}), Eigen::Isometry3d(Eigen::Translation3d(0, 0.45, 1.2))});
  const Stage stage = MakeStage(walled, ReadArm(FindScene(SceneKind::kArm, "heron")), stage_.camera);
  const LessonViews views(ParseLesson(kShortLesson, "short.yaml"), stage, ReadPerson(FindScene(SceneKind::kPerson, "avery")), 1);
  int seen = 0;
  for (const ViewFate fate : views.FatesFrom(Back(-0.5), 0)) seen += fate == ViewFate::kSeen;
  EXPECT_EQ(seen, 0);
}

std::vector<RankedMount> TryAll(const std::filesystem::path& file, const LessonViews& views, int jobs,
                                const std::string& key = "k") {
  std::vector<MountCast> casts;
  casts.push_back({"prime", {views}});
  return TryMounts(MountGrid(ShippedBench("study-table"), 0.5), casts, {0.25, jobs, true, file, key});
}

TEST_F(MountStudy, JobsAndInterruptionsChangeNothing) {
  const Folder folder;
  const std::string whole = MountCsv(TryAll(folder / "a", views_, 1));
  EXPECT_EQ(MountCsv(TryAll(folder / "b", views_, 3)), whole);
  // Killed in the middle of a line: the whole ones before it count, and a line that says otherwise shows that they do.
  std::string text = ReadText(folder / "a");
  text.resize(text.size() / 2);
  folder.Write("c", text);
  EXPECT_EQ(MountCsv(TryAll(folder / "c", views_, 2)), whole);
  folder.Write("d", "k\n0 7 0 0 0 0 .\n");
  EXPECT_EQ(TryAll(folder / "d", views_, 1)[0].score.by_fate[0], 7) << "what is there is not tried again";
  EXPECT_NE(TryAll(folder / "d", views_, 1, "other")[0].score.by_fate[0], 7) << "but under another key it is";
}

TEST(MountProgram, RanksConfirmsAndGoesOn) {
  const Folder folder;
  const std::string lesson = folder.Write("short.yaml", kShortLesson), out = (folder / "out").string();
  const std::vector<std::string> command{"mount",    lesson,   "--step-mm", "600",   "--confirm", "2",
                                         "--policy", "tripod", "--quiet",   "--out", out};
  const Ran ran = RunDryrig(command);
  ASSERT_EQ(ran.code, 0) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("rank"), HasSubstr("the bench's own mount"), HasSubstr("framing error"),
                             HasSubstr("not a risk assessment"), HasSubstr("robot's manual"), HasSubstr("standards in force"),
                             HasSubstr("local codes"), HasSubstr("qualified\nperson")));
  EXPECT_THAT(ReadText(folder / "out/mounts.svg"), AllOf(HasSubstr("<svg"), HasSubstr("no risk assessment")));
  EXPECT_EQ(RunDryrig({"check", (folder / "out/mount-1.yaml").string()}).code, 0);
  const Ran again = RunDryrig(command);
  EXPECT_EQ(again.code, 0);
  EXPECT_EQ(again.out, ran.out);
  EXPECT_EQ(RunDryrig({"mount", lesson, "--bench", "no-such", "--out", out}).code, 2);
}

TEST(MountProgram, LessonsAtTwoBenchesAreTwoQuestions) {
  const Folder folder;
  const std::string here = folder.Write("here.yaml", kShortLesson);
  std::string elsewhere = kShortLesson;
  const std::string bench = "bench: study-table";
  ASSERT_NE(elsewhere.find(bench), std::string::npos);
  elsewhere.replace(elsewhere.find(bench), bench.size(), "bench: workshop-bench");
  const std::string there = folder.Write("there.yaml", elsewhere), out = (folder / "out").string();
  const Ran ran = RunDryrig({"mount", here, there, "--step-mm", "800", "--confirm", "0", "--quiet", "--out", out});
  ASSERT_EQ(ran.code, 0) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("== study-table: " + here), HasSubstr("== workshop-bench: " + there)));
  for (const char* name : {"study-table", "workshop-bench"}) {
    EXPECT_THAT(ReadText(folder / "out" / std::string(name) / "mounts.svg"), HasSubstr(name));
    // Alone it is answered the same.
    const Ran alone = RunDryrig({"mount", name[0] == 's' ? here : there, "--step-mm", "800", "--confirm", "0", "--quiet", "--out",
                                 (folder / name).string()});
    EXPECT_EQ(alone.code, 0);
    EXPECT_EQ(ReadText(folder / name / "mounts.csv"), ReadText(folder / "out" / std::string(name) / "mounts.csv"));
  }
}

}  // namespace
}  // namespace dryrig
