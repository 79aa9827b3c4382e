// Motion files that nobody here wrote: the three of Debian's package assimp-testmodels (two of the CMU Graphics Lab Motion
// Capture Database in B. Hahne's BVH conversion, one of unknown origin), and every file of the folder that DRYRIG_OUTSIDE_DATA
// names. And the one arithmetic of the format: rotations about a joint's own axes in the order of its channels.
#include "scenes/bvh.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>

#include "metrics/metric.h"
#include "policies/choice.h"
#include "scenes/captions.h"
#include "scenes/recorded_lesson.h"
#include "scenes/yaml_node.h"
#include "sim/performance.h"
#include "sim/run.h"
#include "tests/outside/listed.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;
using Eigen::Vector3d;

constexpr const char* kPackaged = "/usr/share/assimp/models/BVH";  // Debian: assimp-testmodels

std::vector<fs::path> FilesOf(const fs::path& folder, const std::vector<std::string>& ends) {
  std::vector<fs::path> out;
  std::error_code error;
  for (const auto& entry : fs::recursive_directory_iterator(folder, error)) {
    std::string end = entry.path().extension().string();
    for (char& c : end) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    if (entry.is_regular_file() && std::find(ends.begin(), ends.end(), end) != ends.end()) out.push_back(entry.path());
  }
  std::sort(out.begin(), out.end());
  return out;
}

std::vector<fs::path> OwnFiles(const std::vector<std::string>& ends) {
  const char* folder = std::getenv("DRYRIG_OUTSIDE_DATA");
  return folder == nullptr || *folder == '\0' ? std::vector<fs::path>() : FilesOf(folder, ends);
}

std::vector<fs::path> MotionFiles() {
  std::vector<fs::path> files = FilesOf(kPackaged, {".bvh"});
  for (const fs::path& file : OwnFiles({".bvh", ".csv"})) files.push_back(file);
  return files;
}

Bench Workshop() {
  return ReadBench(FindScene(SceneKind::kBench, "workshop-bench"));
}

TEST(OutsideBvh, ThePackagedFilesAreThere) {
  EXPECT_EQ(FilesOf(kPackaged, {".bvh"}).size(), 3u) << "apt-get install assimp-testmodels";
}

TEST(OutsideBvh, EveryFileIsUnderstood) {
  for (const fs::path& file : MotionFiles()) {
    SCOPED_TRACE(file);
    const Lesson lesson = ReadLesson(file);
    const Recording& r = lesson.recorded->motion;
    for (const TrackPoint left : {TrackPoint::kShoulderL, TrackPoint::kElbowL, TrackPoint::kWristL, TrackPoint::kHipL,
                                  TrackPoint::kKneeL, TrackPoint::kAnkleL}) {
      for (int side = 0; side < 2; ++side) EXPECT_TRUE(r.Has(AtSide(left, side))) << ToString(AtSide(left, side));
    }
    EXPECT_TRUE(r.Has(TrackPoint::kHead) || r.Has(TrackPoint::kNose));
    // Adults: the 1st percentile woman and the 99th percentile man of any published survey lie well within.
    EXPECT_GT(r.stature_m, 1.3);
    EXPECT_LT(r.stature_m, 2.1);
    const bool tree = r.format == "BVH";
    for (const RecordedSegment& segment : r.facts.segments) {
      if (segment.name.find(" to ") != std::string::npos) continue;  // no bone: collar bones and spine lie between
      if (tree) {
        EXPECT_LT(segment.spread, 0.01) << segment.name;
      }
      EXPECT_GT(segment.length_m, 0.02) << segment.name;
    }
    // Left is left: who is turned round by a swap of sides walks backwards, toes behind the ankles.
    int ahead = 0, behind = 0;
    for (size_t f = 0; f < r.frames && r.Has(TrackPoint::kToeL) && r.Has(TrackPoint::kToeR); f += 10) {
      const Vector3d feet =
          r.At(f, TrackPoint::kToeL) + r.At(f, TrackPoint::kToeR) - r.At(f, TrackPoint::kAnkleL) - r.At(f, TrackPoint::kAnkleR);
      const Vector3d right = r.At(f, TrackPoint::kHipR) - r.At(f, TrackPoint::kHipL);
      (feet.dot(Vector3d::UnitZ().cross(right)) > 0 ? ahead : behind) += 1;
    }
    EXPECT_GE(ahead, behind);
  }
}

TEST(OutsideBvh, EveryFileStandsInTheRoomAndMovesWithoutAJump) {
  const Bench bench = Workshop();
  for (const fs::path& file : MotionFiles()) {
    SCOPED_TRACE(file);
    const Lesson lesson = ReadLesson(file);
    const Performance p(lesson, bench, ReadPerson(FindScene(SceneKind::kPerson, "devon")), 1);
    const double stature = lesson.recorded->motion.stature_m;
    std::vector<double> feet, heads;
    double fastest = 0;
    BodyPose before = p.PoseAt(0);
    for (double t = 0; t < p.duration_s(); t += 0.01) {
      const BodyPose pose = p.PoseAt(t);
      double foot = 1e9;
      for (const int point : {kToeL, kToeR}) foot = std::min(foot, pose.p_W[static_cast<size_t>(point)].z() - 0.019 * stature);
      feet.push_back(foot);
      heads.push_back(pose.p_WHead().z());
      for (size_t i = 0; i < pose.p_W.size(); ++i) {
        ASSERT_TRUE(pose.p_W[i].allFinite());
        fastest = std::max(fastest, (pose.p_W[i] - before.p_W[i]).norm() / 0.01);
      }
      ASSERT_NEAR(pose.q_WHd.norm(), 1, 1e-9);
      before = pose;
    }
    std::sort(feet.begin(), feet.end());
    std::sort(heads.begin(), heads.end());
    // A foot stands on the floor most of the time: half of the time within the height of an ankle, never far under it. Files
    // come from solvers that let feet sink by a few centimetres.
    EXPECT_GT(feet.front(), -0.08);
    EXPECT_LT(feet[feet.size() / 20], 0.02);
    EXPECT_LT(heads.back(), 1.6 * stature);   // higher only who climbs
    EXPECT_GT(heads.back(), 0.55 * stature);  // seated at least
    // A fist makes 9 m/s (common practice). One of the packaged files has an arm that flips within two frames, which check tells.
    EXPECT_LT(fastest, 25);
  }
}

TEST(OutsideBvh, ATakeOfEachGivesFiniteScores) {
  for (const fs::path& file : MotionFiles()) {
    SCOPED_TRACE(file);
    SceneShelf shelf;
    TakeChoice choice;
    choice.lesson = file.string();
    choice.policy.name = "follow";
    PreparedTake prepared = Prepare(WithDefaults(choice, shelf), shelf);
    prepared.setup.max_s = 4;
    const std::unique_ptr<Policy> policy = prepared.MakePolicy();
    const Scorecard card = ScoreTake(RunTake(prepared.setup, *policy));
    int measured = 0;
    for (const Score& score : card.scores) {
      if (!score.value) continue;
      EXPECT_TRUE(std::isfinite(*score.value));
      ++measured;
    }
    EXPECT_GT(measured, 10);
  }
}

TEST(OutsideBvh, EveryCaptionFileOfTheFolderHasSentences) {
  for (const fs::path& file : OwnFiles({".vtt", ".srt"})) {
    SCOPED_TRACE(file);
    EXPECT_FALSE(ParseCaptions(ReadTextFile(file, kMostRecordedBytes), file.string()).cues.empty());
  }
}

// Channels Zrotation Xrotation Yrotation of 30, 20 and 10 degrees turn (0, 10, 0) by Rz Rx Ry, column vectors: the reading of
// the University of Wisconsin's description of the format (there written for row vectors, v Y X Z). Values computed by hand.
TEST(OutsideBvh, RotationsFollowTheOrderOfTheChannels) {
  const char* file =
      "HIERARCHY\nROOT a\n{\nOFFSET 0 0 0\nCHANNELS 3 Zrotation Xrotation Yrotation\nJOINT b\n{\nOFFSET 0 10 0\n"
      "CHANNELS 1 Zrotation\n}\n}\nMOTION\nFrames: 1\nFrame Time: 0.01\n30 20 10 0\n";
  BvhReader reader(file, "f.bvh");
  std::vector<double> values;
  ASSERT_TRUE(reader.NextFrame(&values));
  JointPoses pose;
  PoseJoints(reader.joints(), {false, false}, values, &pose);
  EXPECT_LT((pose.p[1] - Vector3d(-4.698463, 8.137977, 3.420201)).norm(), 1e-6);  // given to six places
  // The other way round it would be elsewhere by far more.
  EXPECT_GT((pose.p[1] - Vector3d(-4.409696, 8.137977, 3.785223)).norm(), 0.4);
}

// What the description leaves to its readers: no count behind CHANNELS in a published example, several roots, a count in other
// words' case, six channels of a joint that is no root.
TEST(OutsideBvh, HabitsOfTheWildAreRead) {
  const std::string motion = "MOTION\nFrames: 2\nFrame Time: 0.01\n1 2 3 90\n1 2 3 90\n";
  const std::string plain =
      "HIERARCHY\nROOT a\n{\nOFFSET 0 0 0\nCHANNELS 4 Xposition Yposition Zposition Zrotation\nEnd Site\n{\nOFFSET 1 0 0\n}\n}\n";
  for (const std::string& hierarchy : {plain,
                                       std::string("hierarchy\nroot a {\noffset 0 0 0\nchannels Xposition Yposition Zposition "
                                                   "Zrotation\nEnd Site {\noffset 1 0 0 } }\n"),
                                       std::string("HIERARCHY\r\nROOT a\r\n{\r\n\tOFFSET\t0\t0\t0\r\n\tCHANNELS 4 XPOSITION "
                                                   "YPOSITION ZPOSITION ZROTATION\r\n\tEnd Site\r\n\t{\r\n\t\tOFFSET 1 0 "
                                                   "0\r\n\t}\r\n}\r\n")}) {
    SCOPED_TRACE(hierarchy);
    const std::string text = hierarchy + motion;
    BvhReader reader(text, "f.bvh");
    std::vector<double> values;
    ASSERT_TRUE(reader.NextFrame(&values));
    JointPoses pose;
    PoseJoints(reader.joints(), {false, false}, values, &pose);
    EXPECT_LT((pose.p[1] - Vector3d(1, 3, 3)).norm(), 1e-12);
    ASSERT_TRUE(reader.NextFrame(&values));
    ASSERT_FALSE(reader.NextFrame(&values));
  }
}

}  // namespace
}  // namespace dryrig
