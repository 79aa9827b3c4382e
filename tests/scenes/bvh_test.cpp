#include "scenes/bvh.h"

#include <gmock/gmock.h>

#include <map>

#include "scenes/error.h"
#include "tests/scenes/bvh_files.h"
#include "tests/scenes/same_motion.h"

namespace dryrig {
namespace {

using Eigen::Matrix3d;
using Eigen::Quaterniond;
using Eigen::Vector3d;
using testing::Contains;
using testing::HasSubstr;

const std::map<std::string, TrackPoint>& PointsOfFigure() {
  static const std::map<std::string, TrackPoint> points{
      {"Hips", TrackPoint::kPelvis},        {"Neck", TrackPoint::kNeck},           {"Head", TrackPoint::kHead},
      {"LeftArm", TrackPoint::kShoulderL},  {"LeftForeArm", TrackPoint::kElbowL},  {"LeftHand", TrackPoint::kWristL},
      {"RightArm", TrackPoint::kShoulderR}, {"RightForeArm", TrackPoint::kElbowR}, {"RightHand", TrackPoint::kWristR},
      {"LeftUpLeg", TrackPoint::kHipL},     {"LeftLeg", TrackPoint::kKneeL},       {"LeftFoot", TrackPoint::kAnkleL},
      {"LeftToeBase", TrackPoint::kToeL},   {"RightUpLeg", TrackPoint::kHipR},     {"RightLeg", TrackPoint::kKneeR},
      {"RightFoot", TrackPoint::kAnkleR},   {"RightToeBase", TrackPoint::kToeR}};
  return points;
}

TEST(Bvh, EveryJointIsWhereTheFigurePutsIt) {
  const Recording r = ParseBvh(WriteBvh(), "figure.bvh");
  ASSERT_EQ(r.frames, 60u);
  EXPECT_NEAR(r.rate_hz, 60, 1e-5);  // the file has nine decimals of a frame's time
  EXPECT_EQ(r.facts.unit, "cm");
  EXPECT_EQ(r.facts.up, "y");
  for (size_t j = 0; j < Figure().size(); ++j) {
    const auto point = PointsOfFigure().find(Figure()[j].name);
    if (point == PointsOfFigure().end()) continue;
    ASSERT_TRUE(r.Has(point->second)) << point->first;
    for (const size_t f : {size_t{0}, size_t{17}, size_t{59}}) {
      const Vector3d p = FigurePoint(j, static_cast<double>(f) / 60);
      // z up: the file's y. Nine decimals of a centimetre, and angles of twelve: far below a micrometre.
      EXPECT_LT((r.At(f, point->second) - Vector3d(p.x(), -p.z(), p.y())).norm(), 1e-6) << point->first << " at frame " << f;
    }
  }
}

TEST(Bvh, HeadAndHandsAreTurnedAsTheirJointsAre) {
  const Recording r = ParseBvh(WriteBvh(), "figure.bvh");
  // At rest the figure faces z, which is -y here, and its left is x: head axes right, ahead, up are -x, -y, z.
  Matrix3d R_RestHead;
  R_RestHead << -1, 0, 0, 0, -1, 0, 0, 0, 1;
  Matrix3d R_RFile;
  R_RFile << 1, 0, 0, 0, 0, -1, 0, 1, 0;
  for (const size_t f : {size_t{0}, size_t{30}}) {
    const double t_s = static_cast<double>(f) / 60;
    const auto turn = [&](std::vector<size_t> chain) {
      Quaterniond q = Quaterniond::Identity();
      for (const size_t j : chain) q = q * FigureTurn(j, t_s);
      return Matrix3d(R_RFile * q.toRotationMatrix() * R_RFile.transpose());
    };
    EXPECT_LT((r.q_RHd[f].toRotationMatrix() - turn({0, 1, 2, 3, 4}) * R_RestHead).norm(), 1e-6);
    // The left hand stretched sideways, palm down: along x, its back up, its right side ahead.
    Matrix3d R_RestHand;
    R_RestHand.col(1) = Vector3d::UnitX();
    R_RestHand.col(2) = Vector3d::UnitZ();
    R_RestHand.col(0) = Vector3d::UnitX().cross(Vector3d::UnitZ());
    EXPECT_LT((r.q_RH[0][f].toRotationMatrix() - turn({0, 1, 2, 6, 7, 8, 9}) * R_RestHand).norm(), 1e-6);
  }
}

TEST(Bvh, AllSixOrdersOfRotationReadToTheSameMotion) {
  const Recording wanted = ParseBvh(WriteBvh(), "figure.bvh");
  for (const char* order : {"XYZ", "XZY", "YXZ", "YZX", "ZXY", "ZYX"}) {
    SCOPED_TRACE(order);
    BvhStyle style;
    style.order = order;
    ExpectSameMotion(ParseBvh(WriteBvh(style), "figure.bvh"), wanted);
  }
  BvhStyle mixed;
  mixed.order_of = [](size_t j) { return std::vector<std::string>{"XYZ", "ZYX", "YZX", "XZY", "YXZ", "ZXY"}[j % 6]; };
  ExpectSameMotion(ParseBvh(WriteBvh(mixed), "figure.bvh"), wanted);
}

TEST(Bvh, EveryUnitAndEveryUpAxisReadToTheSameMotion) {
  const Recording wanted = ParseBvh(WriteBvh(), "figure.bvh");
  const std::map<std::string, double> units{
      {"mm", 1000}, {"cm", 100}, {"m", 1}, {"inch", 1 / 0.0254}, {"1/0.45 inch, as ASF files scale", 0.45 / 0.0254}};
  for (const auto& [unit, per_metre] : units) {
    SCOPED_TRACE(unit);
    BvhStyle style;
    style.units_per_metre = per_metre;
    const Recording r = ParseBvh(WriteBvh(style), "figure.bvh");
    EXPECT_EQ(r.facts.unit, unit);
    ExpectSameMotion(r, wanted);
  }
  const std::map<std::string, Vector3d> ups{{"x", Vector3d::UnitX()},   {"y", Vector3d::UnitY()},   {"z", Vector3d::UnitZ()},
                                            {"-x", -Vector3d::UnitX()}, {"-y", -Vector3d::UnitY()}, {"-z", -Vector3d::UnitZ()}};
  for (const auto& [word, up] : ups) {
    SCOPED_TRACE(word);
    BvhStyle style;
    style.R_FileFigure = Quaterniond::FromTwoVectors(Vector3d::UnitY(), up).toRotationMatrix();
    const Recording r = ParseBvh(WriteBvh(style), "figure.bvh");
    EXPECT_EQ(r.facts.up, word);
    ExpectSameMotion(r, wanted);
  }
}

TEST(Bvh, LineEndsTabsAndPositionsOfEveryJointChangeNothing) {
  const Recording wanted = ParseBvh(WriteBvh(), "figure.bvh");
  BvhStyle style;
  style.line_end = "\r\n";
  style.indent = "\t";
  ExpectSameMotion(ParseBvh(WriteBvh(style), "figure.bvh"), wanted);
  style.positions_everywhere = true;
  const Recording six = ParseBvh(WriteBvh(style), "figure.bvh");
  ExpectSameMotion(six, wanted);
  EXPECT_THAT(six.facts.notes, Contains(HasSubstr("in place of their offsets")));
  style.offsets_zero = true;
  ExpectSameMotion(ParseBvh(WriteBvh(style), "figure.bvh"), wanted);
}

TEST(Bvh, NoBoneChangesItsLength) {
  const Recording r = ParseBvh(WriteBvh(), "figure.bvh");
  ASSERT_GE(r.facts.segments.size(), 10u);
  for (const RecordedSegment& segment : r.facts.segments) EXPECT_LT(segment.spread, 1e-9) << segment.name;
  EXPECT_NEAR(r.stature_m, (0.83 + 0.51) / 0.779, 0.03);  // thigh and shank, hips' middle to the shoulders'
}

TEST(Bvh, AFirstFrameToFitFiguresToIsLeftOut) {
  BvhStyle style;
  std::string text = WriteBvh(style);
  // In front of the motion a frame of zeros, 0.9 m under it.
  const size_t motion = text.find("Frame Time:"), first = text.find('\n', motion) + 1;
  std::string zeros = "0";
  for (int i = 1; i < 66; ++i) zeros += " 0";
  text.insert(first, zeros + "\n");
  text.replace(text.find("Frames: 60"), 10, "Frames: 61");
  const Recording r = ParseBvh(text, "figure.bvh");
  EXPECT_EQ(r.frames, 60u);
  EXPECT_NEAR(r.start_s, 1.0 / 60, 1e-6);
  EXPECT_THAT(r.facts.notes, Contains(HasSubstr("the first frame is a pose to fit figures to")));
  ExpectSameMotion(r, ParseBvh(WriteBvh(), "figure.bvh"));
}

}  // namespace
}  // namespace dryrig
