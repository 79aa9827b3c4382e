// The arm file, the bare URDF's defaults, the shipped arms and the camera on the wrist.
#include "scenes/arm.h"

#include <numbers>

#include "scenes/catalogue.h"
#include "tests/scenes/arm_files.h"
#include "tests/scenes/refusal.h"

namespace dryrig {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr double kDegree = std::numbers::pi / 180;

class ArmFile : public testing::Test {
 protected:
  ArmModel Read(const std::string& yaml, const std::string& urdf = kFourAxes) {
    folder_.Write("four.urdf", urdf);
    return ReadArm(folder_.Write("four.yaml", yaml));
  }
  std::string Refused(const std::string& from, const std::string& to) {
    return Refusal([&] { Read(Replaced(kFourAxesArm, from, to)); });
  }
  TestFolder folder_;
};

TEST_F(ArmFile, AddsWhatUrdfCannotSay) {
  const ArmModel arm = Read(kFourAxesArm);
  EXPECT_EQ(arm.name, "four");
  EXPECT_EQ(arm.title, "Four");
  EXPECT_EQ(arm.dof(), 4);
  EXPECT_THAT(arm.notes, IsEmpty());
  EXPECT_TRUE(arm.X_EC.translation().isApprox(Eigen::Vector3d(0, 0, 0.1)));
  EXPECT_TRUE((arm.X_EC.linear() * Eigen::Vector3d::UnitX()).isApprox(Eigen::Vector3d::UnitY()));
  EXPECT_TRUE(arm.home.isApprox(kDegree * Eigen::Vector4d(10, 20, 30, 40)));
  for (const Joint& joint : arm.joints) {
    EXPECT_DOUBLE_EQ(joint.velocity, 2);
    EXPECT_DOUBLE_EQ(joint.acceleration, 300 * kDegree);
    EXPECT_DOUBLE_EQ(joint.jerk, 3000 * kDegree);
  }
  EXPECT_EQ(std::make_tuple(arm.servo.bandwidth_hz, arm.servo.damping_ratio, arm.servo.latency_s, arm.servo.payload_known),
            std::make_tuple(5, 0.9, 0.01, 0.5));
  EXPECT_EQ(arm.payload_kg, 2);
  EXPECT_THAT(arm.text, AllOf(HasSubstr("dryrig: arm/1"), HasSubstr("<robot name=\"four\">")))
      << "the content hash covers both files";
}

TEST_F(ArmFile, OneJointsLimitsGoBeforeThoseForAll) {
  const ArmModel arm = Read(Replaced(kFourAxesArm, "limits: {",
                                     "limits: {b: {velocity_deg_per_s: 60, jerk_deg_per_s3: 900}, velocity_deg_per_s: 100, "));
  EXPECT_DOUBLE_EQ(arm.joints[0].velocity, 100 * kDegree);
  EXPECT_DOUBLE_EQ(arm.joints[1].velocity, 60 * kDegree);
  EXPECT_DOUBLE_EQ(arm.joints[1].acceleration, 300 * kDegree);
  EXPECT_DOUBLE_EQ(arm.joints[1].jerk, 900 * kDegree);
}

TEST_F(ArmFile, AVelocityForAllNeverRaisesAJoints) {
  EXPECT_DOUBLE_EQ(Read(Replaced(kFourAxesArm, "limits: {", "limits: {velocity_deg_per_s: 1000, ")).joints[0].velocity, 2);
}

TEST_F(ArmFile, HomeByNameIsHomeByOrder) {
  EXPECT_EQ(Read(Replaced(kFourAxesArm, "[10, 20, 30, 40]", "{d: 40, b: 20, a: 10, c: 30}")).home, Read(kFourAxesArm).home);
}

TEST_F(ArmFile, SlidingJointsHaveUnitsOfTheirOwn) {
  const std::string urdf = Replaced(kFourAxes, R"(name="a" type="revolute")", R"(name="a" type="prismatic")");
  const ArmModel arm =
      Read(Replaced(Replaced(kFourAxesArm, "home_deg: [10, 20, 30, 40]", "home_deg: {b: 20, c: 30, d: 40}\nhome_mm: {a: 250}"),
                    "limits: {", "limits: {velocity_m_per_s: 0.5, acceleration_m_per_s2: 1.5, jerk_m_per_s3: 20, "),
           urdf);
  EXPECT_DOUBLE_EQ(arm.home[0], 0.25);
  EXPECT_DOUBLE_EQ(arm.home[1], 20 * kDegree);
  EXPECT_EQ(std::make_tuple(arm.joints[0].velocity, arm.joints[0].acceleration, arm.joints[0].jerk),
            std::make_tuple(0.5, 1.5, 20));
  EXPECT_DOUBLE_EQ(arm.joints[1].acceleration, 300 * kDegree);
}

// A joint's name that ends like a unit changes no number.
TEST_F(ArmFile, AJointsNameIsNoUnit) {
  std::string urdf = Replaced(kFourAxes, R"(joint name="a")", R"(joint name="turn_deg")");
  urdf = Replaced(urdf, R"(joint name="b")", R"(joint name="lift_g")");
  EXPECT_TRUE(Read(Replaced(kFourAxesArm, "[10, 20, 30, 40]", "{turn_deg: 10, lift_g: 20, c: 30, d: 40}"), urdf)
                  .home.isApprox(Read(kFourAxesArm).home));
}

TEST_F(ArmFile, EveryDefaultIsTold) {
  const ArmModel arm = Read("dryrig: arm/1\ntitle: Four\nurdf: four.urdf\n");
  EXPECT_THAT(arm.notes,
              ElementsAre(HasSubstr("tip: none given; link \"l4\""), HasSubstr("camera: no mount given"),
                          HasSubstr("no acceleration given"), HasSubstr("no jerk given"), HasSubstr("home: none given"),
                          HasSubstr("servo: none given"), HasSubstr("payload: none given; 5 kg")));
  EXPECT_DOUBLE_EQ(arm.joints[0].acceleration, 8);
  EXPECT_DOUBLE_EQ(arm.joints[0].jerk, 80);
  EXPECT_TRUE(arm.home.isZero());
}

TEST_F(ArmFile, ABareUrdfIsAnArmWithDefaultsTold) {
  const ArmModel arm = ReadArm(folder_.Write("four.urdf", kFourAxes));
  EXPECT_EQ(arm.name, "four");
  EXPECT_EQ(arm.dof(), 4);
  EXPECT_EQ(arm.notes.size(), 7u);
  EXPECT_TRUE((arm.X_EC.linear() * Eigen::Vector3d::UnitZ()).isApprox(Eigen::Vector3d::UnitZ())) << "looks along the tip's z";
}

TEST_F(ArmFile, ACablesRoomIsBodiesOfTheLinksThatItRunsAlong) {
  const std::string runs =
      "cable:\n"
      "  - {link: l2, from_mm: [0, 100, 0], to_mm: [0, 100, 200], diameter_mm: 60}\n"
      "  - {link: l3, from_mm: [50, 0, 100], to_mm: [250, 0, 100], diameter_mm: 40}\n";
  const ArmModel plain = Read(kFourAxesArm), arm = Read(kFourAxesArm + runs);
  ASSERT_EQ(arm.links[1].bodies.size(), plain.links[1].bodies.size() + 1);
  const Body &along = arm.links[1].bodies.back(), &across = arm.links[2].bodies.back();
  EXPECT_EQ(along.name, "cable 1");
  EXPECT_EQ(along.shape.radius_m, 0.03);
  EXPECT_DOUBLE_EQ(along.shape.half_length_m, 0.1);
  EXPECT_LT((along.X_LS.translation() - Eigen::Vector3d(0, 0.1, 0.1)).norm(), 1e-15);
  // The second one's axis, z of the shape, is x of the link.
  EXPECT_LT((across.X_LS.linear() * Eigen::Vector3d::UnitZ() - Eigen::Vector3d::UnitX()).norm(), 1e-12);
  EXPECT_LT((across.X_LS.translation() - Eigen::Vector3d(0.15, 0, 0.1)).norm(), 1e-15);
  EXPECT_EQ(arm.links[1].mass_kg, plain.links[1].mass_kg) << "it weighs what the URDF says";
}

TEST_F(ArmFile, RefusesByNameWithTheMend) {
  struct Row {
    std::string from, to;
    Words words;
  };
  const std::vector<Row> rows{
      {"arm/1", "arm/2", {"four.yaml:1:9", "expected arm/1"}},
      {"arm/1", "bench/1", {"four.yaml:1:9", "give a arm file"}},
      {"payload_kg: 2\n",
       "payload_kg: 2\ncable: [{link: l22, from_mm: [0, 0, 0], to_mm: [0, 0, 9], diameter_mm: 9}]\n",
       {"four.yaml:10:16", "cable: run 1", "no moving link \"l22\"", "did you mean \"l2\""}},
      {"payload_kg: 2\n",
       "payload_kg: 2\ncable: [{link: l2, from_mm: [0, 0, 0], to_mm: [0, 0, 0], diameter_mm: 9}]\n",
       {"four.yaml:10", "shorter than 1 mm"}},
      {"payload_kg", "payload", {"four.yaml:9:1", "unknown key \"payload\"", "payload_kg"}},
      {"title: Four\n", "", {"\"title\" is missing"}},
      {"urdf: four.urdf\n", "", {"\"urdf\" is missing"}},
      {"four.urdf", "fuor.urdf", {"four.yaml:3:7", "urdf: there is no file", "fuor.urdf", "arm file's folder"}},
      {"tip: l4", "tip: l5", {"four.yaml:4:6", "no link \"l5\"", "did you mean"}},
      {"tip: l4", "tip: l3", {"four.urdf", "link \"l3\"", "3 moving joints"}},
      {"[0, 0, 100]", "[0, 0]", {"four.yaml:5", "camera_mount: at_mm", "expected a list of 3"}},
      {"[0, 0, 100]", "[0, 0, .nan]", {"four.yaml:5", "camera_mount: at_mm", "finite"}},
      {"[0, 0, 100]", "[0, 0, 5000]", {"four.yaml:5", "at_mm, item 3: 5000 mm is out of range"}},
      {"[10, 20, 30, 40]", "[10, 20, 30]", {"four.yaml:6:11", "home_deg: expected a list of 4, found 3"}},
      {"[10, 20, 30, 40]",
       "[10, 20, 30, 400]",
       {"four.yaml:6:24", "400 deg is outside the range of joint \"d\", -171.9 deg to 171.9 deg"}},
      {"[10, 20, 30, 40]", "{a: 1, b: 1, c: 1}", {"four.yaml:6", "\"d\" is missing"}},
      {"[10, 20, 30, 40]", "{a: 1, b: 1, c: 1, e: 1}", {"four.yaml:6", "unknown key \"e\""}},
      {"payload_kg: 2", "home_mm: {a: 1}", {"four.yaml:9", "home_mm", "no sliding joint"}},
      {"limits: {", "limits: {e: {jerk_deg_per_s3: 1}, ", {"four.yaml:7", "limits: unknown key \"e\""}},
      {"limits: {", "limits: {a: {velocity_deg_per_s: 300}, ", {"four.yaml:7", "joint \"a\"", "above", "may only lower"}},
      {"limits: {", "limits: {a: {velocity_m_per_s: 3}, ", {"four.yaml:7", "joint \"a\"", "unknown key \"velocity_m_per_s\""}},
      {"acceleration_deg_per_s2: 300",
       "acceleration_deg_per_s2: 0",
       {"four.yaml:7", "acceleration_deg_per_s2: 0 deg/s² is out of range"}},
      {"latency_ms: 10", "latency_ms: -1", {"four.yaml:8", "servo: latency_ms: -1 ms is out of range"}},
      {"payload_known: 0.5", "payload_known: 2", {"four.yaml:8", "servo: payload_known"}},
      {"payload_kg: 2", "payload_kg: heavy", {"four.yaml:9", "payload_kg: expected a number, found \"heavy\""}},
      {"tip: l4", "tip: &x l4", {"four.yaml:4"}},
  };
  for (const Row& row : rows) {
    SCOPED_TRACE(row.from + " -> " + row.to);
    ExpectWords(Refused(row.from, row.to), row.words);
  }
}

TEST_F(ArmFile, RefusesFilesThatAreNone) {
  EXPECT_THAT(Refusal([&] { ReadArm(folder_.path() / "gone.yaml"); }), HasSubstr("gone.yaml"));
  EXPECT_THAT(Refusal([&] { ReadArm(folder_.path()); }), HasSubstr(folder_.path().string()));
  EXPECT_THAT(Refusal([&] { ReadArm(folder_.Write("empty.urdf", "")); }), HasSubstr("empty.urdf"));
  EXPECT_THAT(Refusal([&] { ReadArm(folder_.Write("empty.yaml", "")); }), HasSubstr("empty.yaml"));
  EXPECT_THAT(Refusal([&] { ReadArm(folder_.Write("xml.yaml", "<robot/>")); }), HasSubstr("xml.yaml"));
  const std::filesystem::path huge = folder_.Write("huge.urdf", "");
  std::filesystem::resize_file(huge, uintmax_t{33} << 20);  // a hole: takes no room
  EXPECT_THAT(Refusal([&] { ReadArm(huge); }), AllOf(HasSubstr("huge.urdf"), HasSubstr("32")));
}

TEST(ShippedArms, AreThereAndComplete) {
  const std::vector<std::string> names = ListScenes(SceneKind::kArm);
  EXPECT_THAT(names, AllOf(Contains("reed"), Contains("heron")));
  for (const std::string& name : names) {
    SCOPED_TRACE(name);
    const ArmModel arm = ReadArm(FindScene(SceneKind::kArm, name));
    EXPECT_THAT(arm.notes, IsEmpty()) << "an arm of ours leaves nothing to assume";
    for (int i = 0; i < arm.dof(); ++i) {
      const Joint& joint = arm.joints[size_t(i)];
      SCOPED_TRACE(joint.name);
      EXPECT_GE(arm.home[i], joint.lower + 5 * kDegree);
      EXPECT_LE(arm.home[i], joint.upper - 5 * kDegree);
      EXPECT_GE(joint.velocity, 119 * kDegree);
      EXPECT_LE(joint.velocity, 181 * kDegree);
      EXPECT_GE(joint.acceleration, 299 * kDegree);
      EXPECT_LE(joint.acceleration, 501 * kDegree);
      EXPECT_GE(joint.jerk, 2999 * kDegree);
      EXPECT_LE(joint.jerk, 6001 * kDegree);
      EXPECT_FALSE(arm.links[size_t(i)].bodies.empty());
      EXPECT_GT(arm.links[size_t(i)].mass_kg, 0);
    }
    EXPECT_GE(arm.payload_kg, 1);
  }
}

// Stretched out level, all centres of mass lie on one line: what a bending joint carries is Σ m·g·(distance along it).
TEST(ShippedArms, HoldACameraStretchedOutWithAMargin) {
  for (const std::string name : {"reed", "heron"}) {
    const ArmModel arm = ReadArm(FindScene(SceneKind::kArm, name));
    std::vector<double> z_m{0};
    for (const Joint& joint : arm.joints) {
      ASSERT_TRUE(joint.X_PJ.linear().isIdentity()) << "at zero the arm is one upright line";
      z_m.push_back(z_m.back() + joint.X_PJ.translation().z());
    }
    z_m.erase(z_m.begin());
    const double reach_m = z_m.back() - z_m[1];
    EXPECT_NEAR(reach_m + (name == "heron" ? 0.02 : 0), name == "reed" ? 0.85 : 1.10, 1e-9);
    for (int i = 0; i < arm.dof(); ++i) {
      if (arm.joints[size_t(i)].axis.z() != 0) continue;
      double torque_Nm = 1.0 * 9.81 * (z_m.back() + arm.X_EC.translation().z() - z_m[size_t(i)]);
      for (int k = i; k < arm.dof(); ++k) {
        torque_Nm += arm.links[size_t(k)].mass_kg * 9.81 * (z_m[size_t(k)] + arm.links[size_t(k)].p_LCom.z() - z_m[size_t(i)]);
      }
      EXPECT_GT(arm.joints[size_t(i)].effort, 2.5 * torque_Nm)
          << name << " " << arm.joints[size_t(i)].name << ": " << torque_Nm << " N m";
    }
  }
}

TEST(ShippedArms, ReadTheSameTwice) {
  for (const std::string& name : ListScenes(SceneKind::kArm)) {
    const auto file = FindScene(SceneKind::kArm, name);
    EXPECT_EQ(ReadArm(file).text, ReadArm(file).text);
  }
}

// A link of 2 kg at its joint and a camera of 2 kg whose middle is 0.2 m up: the centre is at 0.1 m, and each adds m·d² = 0.02.
TEST(Camera, RidesOnTheLastLinkByTheParallelAxisTheorem) {
  ArmModel arm;
  arm.joints.resize(4);
  arm.links.resize(4);
  arm.links[3].mass_kg = 2;
  arm.links[3].I_LCom = 0.01 * Eigen::Matrix3d::Identity();
  arm.X_EC.translation() = Eigen::Vector3d(0, 0, 0.25);
  CameraBody camera;
  camera.mass_kg = 2;
  camera.half_m = {0.06, 0.04, 0.03};
  camera.p_CHousing = {0, 0, -0.05};
  const ArmModel loaded = WithCamera(arm, camera);
  const Link& last = loaded.links[3];
  EXPECT_DOUBLE_EQ(last.mass_kg, 4);
  EXPECT_TRUE(last.p_LCom.isApprox(Eigen::Vector3d(0, 0, 0.1)));
  // A solid box: Ixx = m/3·(b² + c²) of its half sides.
  EXPECT_NEAR(last.I_LCom(0, 0), 0.01 + 2.0 / 3 * (0.04 * 0.04 + 0.03 * 0.03) + 0.04, 1e-15);
  EXPECT_NEAR(last.I_LCom(2, 2), 0.01 + 2.0 / 3 * (0.06 * 0.06 + 0.04 * 0.04), 1e-15);
  ASSERT_EQ(last.bodies.size(), 1u);
  EXPECT_EQ(last.bodies[0].name, "camera");
  EXPECT_EQ(last.bodies[0].shape.half_m, camera.half_m);
  EXPECT_TRUE(last.bodies[0].X_LS.translation().isApprox(Eigen::Vector3d(0, 0, 0.2)));
}

TEST(Camera, ItsBackClearsTheFlangeOfEveryShippedArm) {
  for (const std::string arm_name : {"reed", "heron"}) {
    for (const std::string& name : ListScenes(SceneKind::kCamera)) {
      const ArmModel arm = ReadArm(FindScene(SceneKind::kArm, arm_name));
      const CameraBody camera = ReadCamera(FindScene(SceneKind::kCamera, name));
      const double tip_m = arm_name == "heron" ? 0.02 : 0;
      EXPECT_GE(arm.X_EC.translation().z() + camera.p_CHousing.z() - camera.half_m.z(), tip_m) << arm_name << " " << name;
    }
  }
}

}  // namespace
}  // namespace dryrig
