// Arms as other people describe them: the habits of real URDFs, in robots invented here. Each loads with what was assumed told,
// or is refused by name.
#include <Eigen/Eigenvalues>
#include <numbers>

#include "scenes/arm.h"
#include "tests/scenes/arm_files.h"
#include "tests/scenes/mesh_files.h"
#include "tests/scenes/refusal.h"

namespace dryrig {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::Each;
using testing::HasSubstr;
using testing::Not;

std::string LinkText(const std::string& name, const std::string& inside) {
  return fmt::format("  <link name=\"{}\">{}</link>\n", name, inside);
}
std::string JointText(const std::string& name, const std::string& type, const std::string& parent, const std::string& child,
                      const std::string& rest) {
  return fmt::format("  <joint name=\"{}\" type=\"{}\"><parent link=\"{}\"/><child link=\"{}\"/>{}</joint>\n", name, type, parent,
                     child, rest);
}
std::string Inertial(double mass, double moment) {
  return fmt::format(
      "<inertial><mass value=\"{}\"/><origin rpy=\"0 0 0\" xyz=\"0 0 0.05\"/><inertia ixx=\"{}\" ixy=\"0.0\" ixz=\"0.0\" "
      "iyy=\"{}\" iyz=\"0.0\" izz=\"{}\"/></inertial>",
      mass, moment, moment, moment);
}
std::string Mesh(const std::string& element, const std::string& uri, const std::string& rest = "") {
  return fmt::format("<{0}><geometry><mesh filename=\"{1}\"{2}/></geometry></{0}>", element, uri, rest);
}
const std::string kLimit = R"(<limit effort="150.0" lower="-6.283185307179586" upper="6.283185307179586" velocity="3.14"/>)";

/// What physics and clearance need of any arm that is accepted.
void ExpectSound(const ArmModel& arm) {
  ASSERT_GE(arm.dof(), 4);
  ASSERT_LE(arm.dof(), 8);
  ASSERT_EQ(arm.links.size(), arm.joints.size());
  for (int i = 0; i < arm.dof(); ++i) {
    const Joint& joint = arm.joints[size_t(i)];
    const Link& link = arm.links[size_t(i)];
    SCOPED_TRACE(joint.name);
    EXPECT_GT(link.mass_kg, 0);
    EXPECT_GT(link.I_LCom.selfadjointView<Eigen::Lower>().eigenvalues().minCoeff(), 0);
    EXPECT_TRUE(link.p_LCom.allFinite() && joint.X_PJ.matrix().allFinite());
    EXPECT_NEAR(joint.axis.norm(), 1, 1e-12);
    EXPECT_FALSE(link.bodies.empty());
    for (const Body& body : link.bodies) {
      EXPECT_GT(body.shape.BoundingRadius(), 0) << body.name;
      EXPECT_TRUE(body.X_LS.matrix().allFinite()) << body.name;
      EXPECT_LE(body.shape.points.size(), 64u) << body.name;
    }
    EXPECT_LE(joint.lower, arm.home[i]);
    EXPECT_GE(joint.upper, arm.home[i]);
    for (const double positive : {joint.velocity, joint.acceleration, joint.jerk, joint.effort}) EXPECT_GT(positive, 0);
  }
  EXPECT_GT(arm.payload_kg, 0);
  EXPECT_THAT(arm.notes, Each(Not(HasSubstr("nan"))));
}

/// Six axes in the manner of factory descriptions: a world link, a turned base, visual DAE and collision STL in a package,
/// tool frames without inertia, simulator tags. Forearm's mesh is a big one.
class SixAxisRobot : public testing::Test {
 protected:
  SixAxisRobot() {
    const std::string meshes = "ws/src/six_description/meshes/";
    folder_.Write(meshes + "link.stl", BinaryStl(BoxTriangles({50, 50, 150}, {0, 0, 150})));
    folder_.Write(meshes + "big.stl", BinaryStl(EllipsoidTriangles({0.06, 0.06, 0.2}, 200, 280)));
    folder_.Write(meshes + "link.dae", DaeBox("0.02", "Z_UP"));
  }
  static std::string Urdf() {
    const std::string mesh = "package://six_description/meshes/";
    const std::string stl = Mesh("collision", mesh + "link.stl", " scale=\"0.001 0.001 0.001\""),
                      dae = Mesh("visual", mesh + "link.dae");
    std::string text =
        "<?xml version=\"1.0\" ?>\n<!-- generated; do not edit -->\n<robot name=\"six\" "
        "xmlns:xacro=\"http://wiki.ros.org/xacro\">\n";
    text += LinkText("world", "") +
            JointText("world_joint", "fixed", "world", "base_link", "<origin rpy=\"0.0 0.0 0.0\" xyz=\"0.0 0.0 0.0\"/>");
    text += LinkText("base_link", "") + JointText("base_turned", "fixed", "base_link", "base_link_inertia",
                                                  "<origin rpy=\"0 0 3.141592653589793\" xyz=\"0 0 0\"/>");
    text += LinkText("base_link_inertia", dae + stl + Inertial(4, 0.006));
    std::string parent = "base_link_inertia";
    const char* axes[] = {"0 0 1", "0 1 0", "0 1 0", "0 0 1", "0 1 0", "0 0 1"};
    const char* names[] = {"shoulder_pan", "shoulder_lift", "elbow", "wrist_1", "wrist_2", "wrist_3"};
    for (int i = 0; i < 6; ++i) {
      const std::string link = fmt::format("{}_link", names[i]);
      const std::string big = Mesh("collision", mesh + "big.stl");
      text += LinkText(link, dae + (i == 3 ? big : stl) + Inertial(3.7 - 0.5 * i, 0.01));
      text += JointText(
          fmt::format("{}_joint", names[i]), "revolute", parent, link,
          fmt::format(
              "<origin rpy=\"0 0 0\" xyz=\"0 0 {}\"/><axis xyz=\"{}\"/>{}<dynamics damping=\"0\" friction=\"0\"/>"
              "<safety_controller k_position=\"20\" k_velocity=\"0.0\" soft_lower_limit=\"-6.2\" soft_upper_limit=\"6.2\"/>",
              i == 0 ? 0.15 : 0.2, axes[i], kLimit));
      parent = link;
    }
    text += LinkText("flange", "") +
            JointText("wrist_3_flange", "fixed", parent, "flange", "<origin rpy=\"0 -1.5707963 -1.5707963\" xyz=\"0 0 0.1\"/>");
    text += LinkText("tool0", "") +
            JointText("flange_tool0", "fixed", "flange", "tool0", "<origin rpy=\"1.5707963 0 1.5707963\" xyz=\"0 0 0\"/>");
    text +=
        "<transmission name=\"t1\"><type>Simple</type><joint "
        "name=\"elbow_joint\"><hardwareInterface>Effort</hardwareInterface></joint></transmission>\n";
    text +=
        "<gazebo reference=\"wrist_3_link\"><selfCollide>true</selfCollide></gazebo><gazebo><plugin filename=\"x.so\" "
        "name=\"c\"/></gazebo>\n";
    return text + "</robot>\n";
  }
  TestFolder folder_;
};

TEST_F(SixAxisRobot, LoadsWithWhatWasAssumedTold) {
  const auto urdf = folder_.Write("ws/src/six_description/urdf/six.urdf", Urdf());
  const double start = CpuSeconds();
  const ArmModel arm = ReadArm(urdf);
  EXPECT_LT(CpuSeconds() - start, 4 * kSlowdown) << "seconds; one mesh has 112,000 triangles";
  ExpectSound(arm);
  EXPECT_EQ(arm.dof(), 6);
  EXPECT_EQ(arm.joints[0].name, "shoulder_pan_joint");
  EXPECT_DOUBLE_EQ(arm.links[0].mass_kg, 3.7);
  EXPECT_THAT(arm.notes, Contains(HasSubstr("tip: none given; link \"tool0\"")));
  EXPECT_THAT(arm.notes, Contains(AllOf(HasSubstr("link \"wrist_1_link\": mesh \"package://six_description/meshes/big.stl\" of "),
                                        HasSubstr("convex hull of 64"))));
  EXPECT_THAT(arm.notes, Contains(AllOf(HasSubstr("link \"elbow_link\""), HasSubstr("of 8 vertices became a convex hull of 8"),
                                        HasSubstr("0.0 mm"))));
  EXPECT_THAT(arm.notes, Each(Not(HasSubstr("link \"flange\":")))) << "a bare frame is nothing to tell of";
  // The base is turned by half a turn, so its first joint's x points backward.
  EXPECT_NEAR(arm.joints[0].X_PJ.linear()(0, 0), -1, 1e-12);
  // Tool frame: the two turns about the flange cancel; 0.1 m beyond the last joint.
  EXPECT_TRUE((arm.X_EC.linear() * Eigen::Vector3d::UnitZ()).isApprox(Eigen::Vector3d::UnitZ(), 1e-6));
}

TEST_F(SixAxisRobot, LoadsFromElsewhereWithAPackagePath) {
  const auto urdf = folder_.Write("downloads/six.urdf", Urdf());
  const std::string message = [&] {
    try {
      ReadArm(urdf);
    } catch (const InputError& e) {
      return std::string(e.what());
    }
    return std::string("read without a word");
  }();
  EXPECT_THAT(message, AllOf(HasSubstr("mesh \"package://six_description/meshes/link.stl\" is not found"), HasSubstr("tried:"),
                             HasSubstr("downloads/six_description/meshes/link.stl"), HasSubstr("link \"base_link_inertia\"")));
  const ArmModel arm = ReadArm(urdf, {{folder_.path() / "ws/src"}});
  ExpectSound(arm);
  EXPECT_EQ(arm.text, ReadArm(folder_.Write("ws/src/six_description/urdf/six.urdf", Urdf())).text)
      << "where files lie is no part of the content";
}

TEST_F(SixAxisRobot, AChangedMeshChangesTheContent) {
  const auto urdf = folder_.Write("ws/src/six_description/urdf/six.urdf", Urdf());
  const std::string before = ReadArm(urdf).text;
  folder_.Write("ws/src/six_description/meshes/link.stl", BinaryStl(BoxTriangles({50, 50, 151}, {0, 0, 150})));
  EXPECT_NE(ReadArm(urdf).text, before);
}

TEST_F(SixAxisRobot, IsRefusedWithABrokenMesh) {
  const auto urdf = folder_.Write("ws/src/six_description/urdf/six.urdf", Urdf());
  folder_.Write("ws/src/six_description/meshes/big.stl", std::string(5000, '\1'));
  ExpectWords(Refusal([&] { ReadArm(urdf); }), {"big.stl", "link \"wrist_1_link\"", "six.urdf"});
}

TEST_F(SixAxisRobot, IsRefusedAsXacro) {
  const auto urdf = folder_.Write("six.urdf", Replaced(Urdf(), "velocity=\"3.14\"", "velocity=\"${radians(180)}\""));
  ExpectWords(Refusal([&] { ReadArm(urdf); }), {"six.urdf:", "joint \"shoulder_pan_joint\"", "xacro FILE > arm.urdf"});
}

/// Seven axes in the manner of research arms: no inertia at all, visual meshes alone, joint frames turned by quarter turns,
/// and a hand whose second finger mimics the first.
std::string SevenAxes(const TestFolder& folder) {
  folder.Write("meshes/link.obj", "v -0.05 -0.05 0\nv 0.05 -0.05 0\nv 0 0.05 0\nv 0 0 0.2\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n");
  std::string text = "<robot name=\"seven\">\n" + LinkText("link0", "");
  const char* rpy[] = {"0 0 0",          "-1.5707963 0 0", "1.5707963 0 0", "1.5707963 0 0",
                       "-1.5707963 0 0", "1.5707963 0 0",  "1.5707963 0 0"};
  const char* xyz[] = {"0 0 0.33", "0 0 0", "0 -0.32 0", "0.08 0 0", "-0.08 0.38 0", "0 0 0", "0.09 0 0"};
  for (int i = 1; i <= 7; ++i) {
    text += LinkText(fmt::format("link{}", i), Mesh("visual", "../meshes/link.obj"));
    text += JointText(
        fmt::format("joint{}", i), "revolute", fmt::format("link{}", i - 1), fmt::format("link{}", i),
        fmt::format(
            "<safety_controller k_position=\"100.0\" k_velocity=\"40.0\" soft_lower_limit=\"-2.9\" soft_upper_limit=\"2.9\"/>"
            "<origin rpy=\"{}\" xyz=\"{}\"/><axis xyz=\"0 0 1\"/><limit effort=\"87\" lower=\"{}\" upper=\"{}\" "
            "velocity=\"2.175\"/>",
            rpy[i - 1], xyz[i - 1], i == 4 ? -3.07 : -2.9, i == 4 ? -0.07 : 2.9));
  }
  text += LinkText("link8", "") + JointText("joint8", "fixed", "link7", "link8", "<origin rpy=\"0 0 0\" xyz=\"0 0 0.107\"/>");
  text += LinkText("hand", Mesh("visual", "../meshes/link.obj")) +
          JointText("hand_joint", "fixed", "link8", "hand", "<origin rpy=\"0 0 -0.785398163397\" xyz=\"0 0 0\"/>");
  for (const char* side : {"left", "right"}) {
    const bool left = side == std::string("left");
    text += LinkText(fmt::format("{}finger", side), Mesh("visual", "../meshes/link.obj", " scale=\"0.2 0.2 0.2\""));
    text += JointText(fmt::format("finger_{}", side), "prismatic", "hand", fmt::format("{}finger", side),
                      fmt::format("<origin rpy=\"0 0 0\" xyz=\"0 0 0.0584\"/><axis xyz=\"0 {} 0\"/><limit effort=\"20\" "
                                  "lower=\"0.0\" upper=\"0.04\" velocity=\"0.2\"/>{}",
                                  left ? 1 : -1, left ? "" : "<mimic joint=\"finger_left\"/>"));
  }
  return text + "</robot>\n";
}

TEST(ForeignArms, SevenAxesWithAHandAndNoInertia) {
  const TestFolder folder;
  const ArmModel arm = ReadArm(folder.Write("urdf/seven.urdf", SevenAxes(folder)));
  ExpectSound(arm);
  EXPECT_EQ(arm.dof(), 7);
  EXPECT_THAT(arm.notes,
              Contains(HasSubstr("joint \"finger_right\": not between root and tip; frozen at 0 mm, where its mimic puts it")));
  EXPECT_THAT(arm.notes, Contains(HasSubstr("tip: none given; link \"hand\"")));
  for (int i = 1; i <= 7; ++i) {
    EXPECT_THAT(arm.notes, Contains(HasSubstr(fmt::format("link \"link{}\": no inertia; its solids at 1000 kg/m3", i))));
    EXPECT_THAT(arm.notes,
                Contains(HasSubstr(fmt::format("link \"link{}\": no collision geometry; its visual geometry is used", i))));
  }
  // A pyramid of 0.1 × 0.1 / 2 × 0.2 / 3 m³.
  EXPECT_NEAR(arm.links[0].mass_kg, 1000 * 0.1 * 0.1 / 2 * 0.2 / 3, 0.01 * 0.33);
  EXPECT_NEAR(arm.home[3], -1.57, 1e-9) << "the middle of a range that has no zero in it";
  EXPECT_EQ(arm.links[6].bodies.size(), 4u) << "link 7, the hand and two fingers";
}

TEST(ForeignArms, AScaraWithFourAxes) {
  const TestFolder folder;
  std::string text = "<robot name=\"scara\">" + LinkText("base", "");
  text +=
      LinkText("a", Inertial(2, 0.02)) +
      JointText("j1", "revolute", "base", "a",
                "<origin xyz=\"0 0 0.2\"/><axis xyz=\"0 0 1\"/><limit lower=\"-2\" upper=\"2\" effort=\"50\" velocity=\"3\"/>");
  text +=
      LinkText("b", Inertial(1, 0.01)) +
      JointText("j2", "revolute", "a", "b",
                "<origin xyz=\"0.25 0 0\"/><axis xyz=\"0 0 1\"/><limit lower=\"-2\" upper=\"2\" effort=\"50\" velocity=\"3\"/>");
  text +=
      LinkText("c", "") +
      JointText(
          "j3", "prismatic", "b", "c",
          "<origin xyz=\"0.25 0 0\"/><axis xyz=\"0 0 -1\"/><limit lower=\"0\" upper=\"0.2\" effort=\"200\" velocity=\"0.5\"/>");
  text +=
      LinkText("d", "") + JointText("j4", "continuous", "c", "d", "<axis xyz=\"0 0 -1\"/><limit effort=\"5\" velocity=\"6\"/>");
  const ArmModel arm = ReadArm(folder.Write("scara.urdf", text + "</robot>"));
  ExpectSound(arm);
  EXPECT_EQ(arm.joints[2].kind, JointKind::kPrismatic);
  EXPECT_DOUBLE_EQ(arm.home[2], 0.1);
  EXPECT_TRUE(arm.joints[3].continuous);
  EXPECT_DOUBLE_EQ(arm.home[3], 0);
  EXPECT_THAT(arm.notes, Contains(HasSubstr("link \"c\": no mass")));
  EXPECT_THAT(arm.notes, Contains(HasSubstr("link \"c\": no geometry; a ball of 30 mm radius")));
  EXPECT_THAT(arm.notes, Contains(HasSubstr("link \"a\": no geometry; a capsule to the next joint")));
}

/// Joints named PREFIX1.. on a row of links.
std::string Row(const std::string& prefix, const std::string& from, int joints) {
  std::string text, parent = from;
  for (int i = 1; i <= joints; ++i) {
    const std::string link = fmt::format("{}_link{}", prefix, i);
    text += LinkText(link, Inertial(1, 0.01)) + JointText(fmt::format("{}{}", prefix, i), "revolute", parent, link,
                                                          "<origin xyz=\"0 0 0.2\"/><axis xyz=\"0 1 0\"/>" + kLimit);
    parent = link;
  }
  return text;
}

TEST(ForeignArms, AnArmOnACartHasItsWheelsFrozen) {
  const TestFolder folder;
  std::string text = "<robot name=\"cart\">" + LinkText("footprint", "") +
                     LinkText("chassis", "<collision><geometry><box size=\"0.6 0.4 0.2\"/></geometry></collision>");
  text += JointText("up", "fixed", "footprint", "chassis", "<origin xyz=\"0 0 0.2\"/>");
  for (const char* wheel : {"left_wheel", "right_wheel"}) {
    text += LinkText(wheel, "<collision><geometry><cylinder radius=\"0.1\" length=\"0.04\"/></geometry></collision>") +
            JointText(fmt::format("{}_joint", wheel), "continuous", "chassis", wheel, "<axis xyz=\"0 1 0\"/>");
  }
  const ArmModel arm = ReadArm(folder.Write("cart.urdf", text + Row("arm", "chassis", 6) + "</robot>"));
  ExpectSound(arm);
  EXPECT_EQ(arm.dof(), 6);
  EXPECT_EQ(arm.base.bodies.size(), 3u) << "chassis and both wheels stand in the way of people too";
  EXPECT_THAT(arm.notes, Contains(HasSubstr("joint \"left_wheel_joint\": not between root and tip; frozen at 0 deg")));
}

TEST(ForeignArms, AreRefusedByNameWhereTheyAreNoSerialArm) {
  const TestFolder folder;
  const std::string open = "<robot name=\"r\">" + LinkText("root", "");
  const auto refused = [&](const std::string& text) {
    return Refusal([&] { ReadArm(folder.Write("r.urdf", open + text + "</robot>")); });
  };
  ExpectWords(refused(Row("a", "root", 3)), {"r.urdf:", "link \"a_link3\"", "3 moving joints", "4 to 8"});
  ExpectWords(refused(Row("a", "root", 9)), {"link \"a_link9\"", "9 moving joints"});
  ExpectWords(refused(Row("left", "root", 6) + Row("right", "root", 6)),
              {"link \"root\"", "2 chains of 6 moving joints", "tip: LINK"});
  ExpectWords(refused(LinkText("body", "") + JointText("fly", "floating", "root", "body", "") + Row("a", "body", 6)),
              {"joint \"fly\"", "floating"});
  // A palletiser's parallelogram: the wrist follows the shoulder.
  const std::string row = Row("a", "root", 5);
  ExpectWords(refused(Replaced(row, "<axis xyz=\"0 1 0\"/>", "<axis xyz=\"0 1 0\"/><mimic joint=\"a2\" multiplier=\"-1\"/>")),
              {"joint \"a1\": mimics joint \"a2\"", "remove <mimic>"});
  ExpectWords(refused(Replaced(row, "velocity=\"3.14\"", "velocity=\"0\"")), {"joint \"a1\"", "velocity limit is 0"});
  ExpectWords(refused(Replaced(row, kLimit, "")), {"a1"});
}

TEST(ForeignArms, AnArmFileSaysWhichOfTwoArms) {
  const TestFolder folder;
  folder.Write("pair.urdf",
               "<robot name=\"r\">" + LinkText("root", "") + Row("left", "root", 6) + Row("right", "root", 6) + "</robot>");
  const ArmModel arm = ReadArm(folder.Write("right.yaml", "dryrig: arm/1\ntitle: Right\nurdf: pair.urdf\ntip: right_link6\n"));
  ExpectSound(arm);
  EXPECT_EQ(arm.joints[0].name, "right1");
  EXPECT_THAT(arm.notes, Contains(HasSubstr("joint \"left1\": not between root and tip; frozen")));
  EXPECT_EQ(arm.base.bodies.size(), 6u) << "the other arm hangs still on the base: six balls of its links' mass";
}

}  // namespace
}  // namespace dryrig
