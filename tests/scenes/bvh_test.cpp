#include "scenes/bvh.h"

#include <gmock/gmock.h>

#include <map>

#include "scenes/error.h"
#include "tests/scenes/bvh_files.h"

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

/// A turn of a whole recording: which way a figure faces on the floor is its own affair.
struct Sight {
  Matrix3d R;
  Vector3d p;
};
Sight OfFirstFrame(const Recording& r) {
  Vector3d right = r.At(0, TrackPoint::kHipR) - r.At(0, TrackPoint::kHipL);
  right.z() = 0;
  right.normalize();
  Sight s;
  s.R << right, Vector3d::UnitZ().cross(right), Vector3d::UnitZ();
  s.R.transposeInPlace();
  s.p = r.At(0, TrackPoint::kPelvis);
  return s;
}

/// Both recordings hold the same motion, seen from their own first frame, to a micrometre.
void ExpectSameMotion(const Recording& got, const Recording& wanted) {
  ASSERT_EQ(got.frames, wanted.frames);
  const Sight a = OfFirstFrame(got), b = OfFirstFrame(wanted);
  double worst = 0, worst_turn = 0;
  for (size_t f = 0; f < wanted.frames; ++f) {
    for (int i = 0; i < kNumTrackPoints; ++i) {
      const auto point = static_cast<TrackPoint>(i);
      ASSERT_EQ(got.Has(point), wanted.Has(point)) << ToString(point);
      if (!wanted.Has(point)) continue;
      worst = std::max(worst, (a.R * (got.At(f, point) - a.p) - b.R * (wanted.At(f, point) - b.p)).norm());
    }
    const auto turns = [&](const std::vector<Quaterniond>& x, const std::vector<Quaterniond>& y) {
      worst_turn = std::max(worst_turn, (a.R * x[f].toRotationMatrix() - b.R * y[f].toRotationMatrix()).norm());
    };
    turns(got.q_RHd, wanted.q_RHd);
    for (size_t side = 0; side < 2; ++side) turns(got.q_RH[side], wanted.q_RH[side]);
  }
  EXPECT_LT(worst, 1e-6);
  EXPECT_LT(worst_turn, 1e-6);
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

TEST(Bvh, HabitsOfNamingReadToTheSameMotion) {
  const Recording wanted = ParseBvh(WriteBvh(), "figure.bvh");
  using Names = std::map<std::string, std::string>;
  const auto sided = [](Names names) {
    // A row stands for both sides: `#` is the side.
    return [names](const std::string& name) {
      const bool left = name.starts_with("Left"), right = name.starts_with("Right");
      const auto row = names.find(left ? name.substr(4) : right ? name.substr(5) : name);
      std::string out = row->second;
      for (const auto& [mark, l, r] :
           {std::tuple("#w", "left", "right"), {"#W", "Left", "Right"}, {"#L", "L", "R"}, {"#l", "l", "r"}}) {
        const size_t at = out.find(mark);
        if (at != std::string::npos) out.replace(at, 2, left ? l : r);
      }
      return out;
    };
  };
  const std::map<std::string, std::function<std::string(const std::string&)>> habits{
      {"a name space", [](const std::string& n) { return "rig:" + n; }},
      {"two name spaces", [](const std::string& n) { return "scene:hero:" + n; }},
      {"small letters",
       [](const std::string& n) {
         std::string out = n;
         for (char& c : out) c = static_cast<char>(std::tolower(c));
         return out;
       }},
      {"joints named by their places", sided({{"Hips", "Hips"},
                                              {"Spine", "Chest"},
                                              {"Spine1", "Chest2"},
                                              {"Neck", "Neck"},
                                              {"Head", "Head"},
                                              {"Shoulder", "#WCollar"},
                                              {"Arm", "#WShoulder"},
                                              {"ForeArm", "#WElbow"},
                                              {"Hand", "#WWrist"},
                                              {"UpLeg", "#WHip"},
                                              {"Leg", "#WKnee"},
                                              {"Foot", "#WAnkle"},
                                              {"ToeBase", "#WToe"}})},
      {"a prefix and blanks", sided({{"Hips", "Fig01 Pelvis"},
                                     {"Spine", "Fig01 Spine"},
                                     {"Spine1", "Fig01 Spine1"},
                                     {"Neck", "Fig01 Neck"},
                                     {"Head", "Fig01 Head"},
                                     {"Shoulder", "Fig01 #L Clavicle"},
                                     {"Arm", "Fig01 #L UpperArm"},
                                     {"ForeArm", "Fig01 #L Forearm"},
                                     {"Hand", "Fig01 #L Hand"},
                                     {"UpLeg", "Fig01 #L Thigh"},
                                     {"Leg", "Fig01 #L Calf"},
                                     {"Foot", "Fig01 #L Foot"},
                                     {"ToeBase", "Fig01 #L Toe0"}})},
      {"a side behind an underscore", sided({{"Hips", "pelvis"},
                                             {"Spine", "spine_01"},
                                             {"Spine1", "spine_02"},
                                             {"Neck", "neck_01"},
                                             {"Head", "head"},
                                             {"Shoulder", "clavicle_#l"},
                                             {"Arm", "upperarm_#l"},
                                             {"ForeArm", "lowerarm_#l"},
                                             {"Hand", "hand_#l"},
                                             {"UpLeg", "thigh_#l"},
                                             {"Leg", "calf_#l"},
                                             {"Foot", "foot_#l"},
                                             {"ToeBase", "ball_#l"}})},
      {"a side behind a point", sided({{"Hips", "hips"},
                                       {"Spine", "spine.001"},
                                       {"Spine1", "chest"},
                                       {"Neck", "neck"},
                                       {"Head", "head"},
                                       {"Shoulder", "shoulder.#L"},
                                       {"Arm", "upper_arm.#L"},
                                       {"ForeArm", "forearm.#L"},
                                       {"Hand", "hand.#L"},
                                       {"UpLeg", "thigh.#L"},
                                       {"Leg", "shin.#L"},
                                       {"Foot", "foot.#L"},
                                       {"ToeBase", "toe.#L"}})},
      {"a small letter before", sided({{"Hips", "hip"},
                                       {"Spine", "abdomen"},
                                       {"Spine1", "chest"},
                                       {"Neck", "neck"},
                                       {"Head", "head"},
                                       {"Shoulder", "#lCollar"},
                                       {"Arm", "#lShldr"},
                                       {"ForeArm", "#lForeArm"},
                                       {"Hand", "#lHand"},
                                       {"UpLeg", "#lThigh"},
                                       {"Leg", "#lShin"},
                                       {"Foot", "#lFoot"},
                                       {"ToeBase", "#lToe"}})},
      {"a side behind the word", sided({{"Hips", "SpineBase"},
                                        {"Spine", "SpineMid"},
                                        {"Spine1", "SpineUpper"},
                                        {"Neck", "Neck"},
                                        {"Head", "Head"},
                                        {"Shoulder", "Clavicle#W"},
                                        {"Arm", "Shoulder#W"},
                                        {"ForeArm", "Elbow#W"},
                                        {"Hand", "Wrist#W"},
                                        {"UpLeg", "Hip#W"},
                                        {"Leg", "Knee#W"},
                                        {"Foot", "Ankle#W"},
                                        {"ToeBase", "Foot#W"}})},
      {"a body model's", sided({{"Hips", "Pelvis"},
                                {"Spine", "Spine1"},
                                {"Spine1", "Spine2"},
                                {"Neck", "Neck"},
                                {"Head", "Head"},
                                {"Shoulder", "#L_Collar"},
                                {"Arm", "#L_Shoulder"},
                                {"ForeArm", "#L_Elbow"},
                                {"Hand", "#L_Wrist"},
                                {"UpLeg", "#L_Hip"},
                                {"Leg", "#L_Knee"},
                                {"Foot", "#L_Ankle"},
                                {"ToeBase", "#L_Foot"}})},
      {"upper and lower limbs", sided({{"Hips", "Hips"},
                                       {"Spine", "L3"},
                                       {"Spine1", "T8"},
                                       {"Neck", "Neck"},
                                       {"Head", "Head"},
                                       {"Shoulder", "#WShoulder"},
                                       {"Arm", "#WUpperArm"},
                                       {"ForeArm", "#WLowerArm"},
                                       {"Hand", "#WHand"},
                                       {"UpLeg", "#WUpperLeg"},
                                       {"Leg", "#WLowerLeg"},
                                       {"Foot", "#WFoot"},
                                       {"ToeBase", "#WToe"}})},
      {"numbers and prefixes of a rig", sided({{"Hips", "JNT_Hips_00"},
                                               {"Spine", "JNT_Spine_00"},
                                               {"Spine1", "JNT_Spine_01"},
                                               {"Neck", "JNT_Neck_00"},
                                               {"Head", "JNT_Head_00"},
                                               {"Shoulder", "JNT_#L_Clavicle_00"},
                                               {"Arm", "JNT_#L_UpArm_00"},
                                               {"ForeArm", "JNT_#L_LowArm_00"},
                                               {"Hand", "JNT_#L_Hand_00"},
                                               {"UpLeg", "JNT_#L_UpLeg_00"},
                                               {"Leg", "JNT_#L_LowLeg_00"},
                                               {"Foot", "JNT_#L_Foot_00"},
                                               {"ToeBase", "JNT_#L_Toe_00"}})},
  };
  for (const auto& [habit, name] : habits) {
    SCOPED_TRACE(habit);
    BvhStyle style;
    style.name = name;
    ExpectSameMotion(ParseBvh(WriteBvh(style), "figure.bvh"), wanted);
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
}

TEST(Bvh, NoBoneChangesItsLength) {
  const Recording r = ParseBvh(WriteBvh(), "figure.bvh");
  ASSERT_GE(r.facts.segments.size(), 10u);
  for (const RecordedSegment& segment : r.facts.segments) EXPECT_LT(segment.spread, 1e-9) << segment.name;
  EXPECT_NEAR(r.stature_m, (0.83 + 0.51) / 0.779, 0.03);  // thigh and shank, hips' middle to the shoulders'
}

TEST(Bvh, AMappingFileNamesWhatGuessingCannot) {
  BvhStyle style;
  style.name = [](const std::string& n) { return n == "LeftForeArm" ? std::string("Gelenk 7") : n; };
  const std::string text = WriteBvh(style);
  const auto refused = [&](const JointMapping& mapping) {
    try {
      ParseBvh(text, "figure.bvh", mapping);
    } catch (const InputError& e) {
      return std::string(e.what());
    }
    return std::string("read without a word");
  };
  // Its place in the tree gives it away to a reader that knows who hangs where; ours asks rather than guess.
  EXPECT_THAT(refused({}), testing::AllOf(HasSubstr("figure.bvh: nothing in it is known as left_elbow"), HasSubstr("Gelenk 7"),
                                          HasSubstr("name them in a mapping file")));
  const JointMapping mapping = ParseJointMapping("dryrig: mapping/1\njoints: {left_elbow: Gelenk 7}\n", "own.yaml");
  ExpectSameMotion(ParseBvh(text, "figure.bvh", mapping), ParseBvh(WriteBvh(), "figure.bvh"));
  EXPECT_THAT(refused(ParseJointMapping("dryrig: mapping/1\njoints: {left_elbow: Gelenk 8}\n", "own.yaml")),
              testing::AllOf(HasSubstr("own.yaml: left_elbow: the file has no joint \"Gelenk 8\""),
                             HasSubstr("did you mean \"Gelenk 7\"?")));
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
