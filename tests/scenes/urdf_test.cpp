// What a URDF becomes: fixed joints merged, joints off the chain frozen, gaps filled and told; or refused by name.
#include "scenes/urdf.h"

#include <Eigen/Eigenvalues>
#include <clocale>
#include <numbers>

#include "tests/scenes/arm_files.h"
#include "tests/scenes/refusal.h"

namespace dryrig {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

UrdfChain Chain(const std::string& text, const std::string& tip = "l4") {
  return ReadUrdfChain(ParseUrdf(text, "four.urdf"), tip, {});
}

/// The four axes with more links and joints.
std::string With(const std::string& more) {
  return Replaced(kFourAxes, "<!-- more -->", more);
}

TEST(Urdf, ReadsACompleteArmWithoutAssumptions) {
  const UrdfChain chain = Chain(kFourAxes);
  ASSERT_EQ(chain.joints.size(), 4u);
  ASSERT_EQ(chain.links.size(), 4u);
  EXPECT_THAT(chain.notes, IsEmpty());
  const Joint& d = chain.joints[3];
  EXPECT_EQ(d.name, "d");
  EXPECT_EQ(d.kind, JointKind::kRevolute);
  EXPECT_EQ(d.axis, Eigen::Vector3d::UnitZ());
  EXPECT_EQ(d.X_PJ.translation(), Eigen::Vector3d(0, 0, 0.2));
  EXPECT_EQ(std::make_tuple(d.lower, d.upper, d.velocity, d.effort, d.damping, d.friction),
            std::make_tuple(-3, 3, 2, 90, 0.5, 0.1));
  EXPECT_EQ(chain.links[3].mass_kg, 1);
  ASSERT_EQ(chain.links[3].bodies.size(), 1u);
  EXPECT_EQ(chain.links[3].bodies[0].name, "l4");
  EXPECT_EQ(chain.links[3].bodies[0].shape.kind, ShapeKind::kSphere);
}

// A kilogram on each end of a metre: the centre is in the middle, and each adds m·d² = 0.25 kg·m² across the bar.
TEST(Urdf, MergesFixedJointsByTheParallelAxisTheorem) {
  const UrdfChain chain =
      Chain(With(
                R"(<joint name="f" type="fixed"><parent link="l4"/><child link="tool"/><origin xyz="0 0 1.1" rpy="0 0 0"/></joint>
         <link name="tool"><inertial><mass value="1"/><inertia ixx="0.02" iyy="0.02" izz="0.02" ixy="0" ixz="0" iyz="0"/></inertial>
         <collision><geometry><box size="0.2 0.4 0.6"/></geometry></collision></link>)"),
            "tool");
  const Link& last = chain.links[3];
  EXPECT_DOUBLE_EQ(last.mass_kg, 2);
  EXPECT_TRUE(last.p_LCom.isApprox(Eigen::Vector3d(0, 0, 0.6), 1e-15));
  const Eigen::Vector3d across(0.53, 0.53, 0.03);
  EXPECT_TRUE(last.I_LCom.isApprox(Eigen::Matrix3d(across.asDiagonal()), 1e-14)) << last.I_LCom;
  ASSERT_EQ(last.bodies.size(), 2u);
  EXPECT_EQ(last.bodies[1].name, "tool");
  EXPECT_EQ(last.bodies[1].shape.half_m, Eigen::Vector3d(0.1, 0.2, 0.3));
  EXPECT_TRUE(last.bodies[1].X_LS.translation().isApprox(Eigen::Vector3d(0, 0, 1.1)));
  EXPECT_TRUE(chain.X_LTip.translation().isApprox(Eigen::Vector3d(0, 0, 1.1)));
}

// A quarter turn about z swaps the moments about x and y.
TEST(Urdf, TurnsAnInertiaIntoTheLinksAxes) {
  const std::string turned =
      Replaced(kFourAxes, R"(<origin xyz="0 0 0.1"/><mass value="1"/><inertia ixx="0.01" iyy="0.01")",
               R"(<origin xyz="0 0 0.1" rpy="0 0 1.5707963267948966"/><mass value="1"/><inertia ixx="0.012" iyy="0.015")");
  const Eigen::Matrix3d I = Chain(turned).links[0].I_LCom;
  EXPECT_NEAR(I(0, 0), 0.015, 1e-15);
  EXPECT_NEAR(I(1, 1), 0.012, 1e-15);
}

TEST(Urdf, MergesAFixedJointBetweenMovingOnes) {
  const std::string text = Replaced(
      kFourAxes, R"(<joint name="b" type="revolute"><parent link="l1"/>)",
      R"(<joint name="x" type="fixed"><parent link="l1"/><child link="bracket"/><origin xyz="0.3 0 0" rpy="0 1.5707963267948966 0"/></joint>
                                       <link name="bracket"/><joint name="b" type="revolute"><parent link="bracket"/>)");
  const UrdfChain chain = Chain(text);
  ASSERT_EQ(chain.joints.size(), 4u);
  // 0.2 m along the bracket's z, which lies along l1's x.
  EXPECT_TRUE(chain.joints[1].X_PJ.translation().isApprox(Eigen::Vector3d(0.5, 0, 0), 1e-15));
  EXPECT_TRUE((chain.joints[1].X_PJ.linear() * Eigen::Vector3d::UnitZ()).isApprox(Eigen::Vector3d::UnitX(), 1e-15));
  EXPECT_THAT(chain.notes, IsEmpty()) << "a bare frame needs neither mass nor solid";
}

TEST(Urdf, HoldsAContinuousJointWithinTwoTurns) {
  const UrdfChain chain = Chain(Replaced(Replaced(kFourAxes, R"(name="d" type="revolute")", R"(name="d" type="continuous")"),
                                         R"(<limit lower="-3" upper="3" effort="90" velocity="2"/><dynamics)",
                                         R"(<limit effort="90" velocity="2"/><dynamics)"));
  EXPECT_TRUE(chain.joints[3].continuous);
  EXPECT_DOUBLE_EQ(chain.joints[3].upper, 4 * std::numbers::pi);
  EXPECT_DOUBLE_EQ(chain.joints[3].lower, -4 * std::numbers::pi);
  EXPECT_THAT(chain.notes, ElementsAre(HasSubstr("joint \"d\": continuous")));
}

TEST(Urdf, ReadsASlidingJoint) {
  const UrdfChain chain = Chain(Replaced(kFourAxes, R"(name="a" type="revolute")", R"(name="a" type="prismatic")"));
  EXPECT_EQ(chain.joints[0].kind, JointKind::kPrismatic);
  EXPECT_EQ(chain.joints[0].upper, 3);
}

TEST(Urdf, NormalisesAnAxis) {
  EXPECT_TRUE(Chain(Replaced(kFourAxes, R"(<axis xyz="0 0 1"/>)", R"(<axis xyz="0 3 4"/>)"))
                  .joints[0]
                  .axis.isApprox(Eigen::Vector3d(0, 0.6, 0.8)));
}

const char* const kGripper = R"(
  <joint name="hand_joint" type="fixed"><parent link="l4"/><child link="hand"/><origin xyz="0 0 0.1"/></joint>
  <link name="hand"><inertial><mass value="0.5"/><inertia ixx="0.001" iyy="0.001" izz="0.001" ixy="0" ixz="0" iyz="0"/></inertial></link>
  <joint name="left" type="prismatic"><parent link="hand"/><child link="left_finger"/><origin xyz="0 0 0.05"/><axis xyz="0 1 0"/>
    <limit lower="0.01" upper="0.04" effort="20" velocity="0.1"/></joint>
  <link name="left_finger"><inertial><mass value="0.1"/><inertia ixx="0.0001" iyy="0.0001" izz="0.0001" ixy="0" ixz="0" iyz="0"/></inertial></link>
  <joint name="right" type="prismatic"><parent link="hand"/><child link="right_finger"/><origin xyz="0 0 0.05"/><axis xyz="0 -1 0"/>
    <limit lower="0" upper="0.04" effort="20" velocity="0.1"/><mimic joint="left" multiplier="2" offset="0.005"/></joint>
  <link name="right_finger"><inertial><mass value="0.1"/><inertia ixx="0.0001" iyy="0.0001" izz="0.0001" ixy="0" ixz="0" iyz="0"/></inertial></link>)";

TEST(Urdf, FreezesAGripperWhereItsLimitsAndMimicPutIt) {
  const UrdfChain chain = Chain(With(kGripper));
  EXPECT_THAT(chain.notes,
              AllOf(Contains(HasSubstr("joint \"left\": not between root and tip; frozen at 10 mm")),
                    Contains(HasSubstr("joint \"right\": not between root and tip; frozen at 25 mm, where its mimic puts it")),
                    Contains(HasSubstr("link \"hand\": no geometry; a ball of its mass at 1000 kg/m3 stands for it, 49 mm"))));
  EXPECT_EQ(chain.notes.size(), 5u);
  const Link& last = chain.links[3];
  EXPECT_NEAR(last.mass_kg, 1.7, 1e-15);
  // Only the fingers lie off the axis: 0.1 kg at y = +10 mm and 0.1 kg at y = -25 mm.
  EXPECT_NEAR(last.p_LCom.y() * last.mass_kg, 0.1 * 0.010 - 0.1 * 0.025, 1e-15);
}

TEST(Urdf, TheTipIsWhereAGripperBranchesOff) {
  EXPECT_EQ(ChooseTip(ParseUrdf(With(kGripper), "f")), "hand");
  EXPECT_EQ(ChooseTip(ParseUrdf(kFourAxes, "f")), "l4");
}

TEST(Urdf, TheTipIsTheUsualToolFrameWhereThereIsOne) {
  const std::string frames =
      R"(<joint name="f1" type="fixed"><parent link="l4"/><child link="flange"/></joint><link name="flange"/>
    <joint name="f2" type="fixed"><parent link="flange"/><child link="tool0"/></joint><link name="tool0"/>
    <joint name="f3" type="fixed"><parent link="tool0"/><child link="sticker"/></joint><link name="sticker"/>
    <joint name="f4" type="fixed"><parent link="sticker"/><child link="label"/></joint><link name="label"/>)";
  EXPECT_EQ(ChooseTip(ParseUrdf(With(frames), "f")), "tool0");
}

TEST(Urdf, TakesWhatIsMissingFromTheSolids) {
  // A sphere of 50 mm radius at 1000 kg/m³: 4/3·π·0.05³·1000 kg.
  const std::string no_mass = Replaced(
      kFourAxes,
      R"(<link name="l4"><inertial><origin xyz="0 0 0.1"/><mass value="1"/><inertia ixx="0.01" iyy="0.01" izz="0.01" ixy="0" ixz="0" iyz="0"/></inertial>)",
      R"(<link name="l4">)");
  const UrdfChain chain = Chain(no_mass);
  EXPECT_NEAR(chain.links[3].mass_kg, 0.5235987756, 1e-9);
  EXPECT_TRUE(chain.links[3].p_LCom.isApprox(Eigen::Vector3d(0, 0, 0.1)));
  EXPECT_NEAR(chain.links[3].I_LCom(0, 0), 0.4 * 0.5235987756 * 0.05 * 0.05, 1e-12);
  EXPECT_THAT(chain.notes, ElementsAre(HasSubstr("link \"l4\": no inertia; its solids at 1000 kg/m3 make 0.524 kg")));

  const UrdfChain zero = Chain(Replaced(kFourAxes, R"(<mass value="1"/>)", R"(<mass value="0"/>)"));
  EXPECT_THAT(zero.notes, ElementsAre(HasSubstr("link \"l1\": mass 0; its solids")));
  EXPECT_GT(zero.links[0].mass_kg, 0.5);
}

TEST(Urdf, StandsInForALinkWithNothing) {
  const std::string bare = Replaced(
      kFourAxes,
      R"(<link name="l2"><inertial><origin xyz="0 0 0.1"/><mass value="1"/><inertia ixx="0.01" iyy="0.01" izz="0.01" ixy="0" ixz="0" iyz="0"/></inertial><collision><origin xyz="0 0 0.1"/><geometry><cylinder radius="0.04" length="0.2"/></geometry></collision></link>)",
      R"(<link name="l2"/>)");
  const UrdfChain chain = Chain(bare);
  const Link& link = chain.links[1];
  ASSERT_EQ(link.bodies.size(), 1u);
  EXPECT_EQ(link.bodies[0].shape.kind, ShapeKind::kCapsule);
  EXPECT_NEAR(link.bodies[0].shape.half_length_m, 0.1, 1e-15) << "from this joint to the next";
  EXPECT_TRUE(link.bodies[0].X_LS.translation().isApprox(Eigen::Vector3d(0, 0, 0.1)));
  EXPECT_DOUBLE_EQ(link.mass_kg, 0.1);
  EXPECT_GT(link.I_LCom(0, 0), 0);
  EXPECT_THAT(chain.notes, ElementsAre(HasSubstr("link \"l2\": no geometry; a capsule to the next joint of 30 mm radius"),
                                       HasSubstr("link \"l2\": no mass")));
}

TEST(Urdf, UsesVisualGeometryOnlyWithoutCollision) {
  const std::string visual = R"(<visual><geometry><box size="1 1 1"/></geometry><material name="undefined"/></visual>)";
  const std::string collision = R"(<collision><origin xyz="0 0 0.1"/><geometry><sphere radius="0.05"/></geometry></collision>)";
  const UrdfChain only_visual = Chain(Replaced(kFourAxes, collision, visual));
  EXPECT_EQ(only_visual.links[3].bodies.at(0).shape.kind, ShapeKind::kBox);
  EXPECT_THAT(only_visual.notes, ElementsAre(HasSubstr("link \"l4\": no collision geometry; its visual geometry is used")));
  const UrdfChain both = Chain(Replaced(kFourAxes, collision, visual + collision));
  ASSERT_EQ(both.links[3].bodies.size(), 1u);
  EXPECT_EQ(both.links[3].bodies[0].shape.kind, ShapeKind::kSphere);
  EXPECT_THAT(both.notes, IsEmpty());
}

TEST(Urdf, RepairsAnInertiaThatIsNotPositiveAndTellsOfATriangleBroken) {
  const auto with = [](const std::string& moments) {
    return Chain(Replaced(kFourAxes, R"(ixx="0.01" iyy="0.01" izz="0.01")", moments));
  };
  const UrdfChain zero = with(R"(ixx="0" iyy="0" izz="0")");
  EXPECT_GT(zero.links[0].I_LCom.selfadjointView<Eigen::Lower>().eigenvalues().minCoeff(), 0);
  EXPECT_THAT(zero.notes, ElementsAre(HasSubstr("link \"l1\": its inertia is not positive definite")));
  const UrdfChain broken = with(R"(ixx="0.01" iyy="0.01" izz="0.03")");
  EXPECT_DOUBLE_EQ(broken.links[0].I_LCom(2, 2), 0.03);
  EXPECT_THAT(broken.notes,
              ElementsAre(HasSubstr("link \"l1\": principal moments 0.01, 0.01, 0.03 kg m2 break the triangle inequality")));
}

TEST(Urdf, ReadsTheSameInEveryLocaleAndPrintsNothing) {
  const std::string before = std::setlocale(LC_ALL, nullptr);
  for (const char* name : {"de_DE.UTF-8", "fr_FR.UTF-8", "C.UTF-8", "C"}) {
    if (std::setlocale(LC_ALL, name) == nullptr) continue;
    testing::internal::CaptureStderr();
    testing::internal::CaptureStdout();
    EXPECT_DOUBLE_EQ(Chain(kFourAxes).joints[3].damping, 0.5) << name;
    EXPECT_THROW(ParseUrdf(Replaced(kFourAxes, "type=\"revolute\"", "type=\"hinge\""), "f"), InputError);
    EXPECT_EQ(testing::internal::GetCapturedStderr() + testing::internal::GetCapturedStdout(), "");
  }
  std::setlocale(LC_ALL, before.c_str());
}

TEST(Urdf, PutsUpWithWhatOtherToolsWrite) {
  const UrdfChain plain = Chain(kFourAxes);
  const UrdfChain chain =
      Chain("\xEF\xBB\xBF" +
            Replaced(With(R"(<gazebo reference="l1"><mu1>0.2</mu1></gazebo><transmission name="t"><joint name="a"/></transmission>
      <material name="m"><color rgba="a b c d"/></material><ros2_control name="x" type="system"/>)"),
                     R"(<origin xyz="0 0 0.2"/>)", "<origin xyz=\"\n 0\t0  0.2 \"/>"));
  EXPECT_TRUE(chain.joints[0].X_PJ.isApprox(plain.joints[0].X_PJ));
  EXPECT_THAT(chain.notes, IsEmpty());
}

/// The four axes with one piece replaced, and what must be said about it.
struct Broken {
  std::string from, to;
  Words words;
};

TEST(Urdf, RefusesByNameWithTheMend) {
  const std::string inertia = R"(ixx="0.01" iyy="0.01" izz="0.01")", limit = R"(lower="-3" upper="3" effort="90" velocity="2")";
  const std::vector<Broken> rows{
      {"<robot", "robot", {"four.urdf", "XML"}},
      {"</robot>", "", {"four.urdf", "XML"}},
      {R"(name="a" type)", R"(name="a type)", {"four.urdf:4", "not sound XML"}},
      {"<robot name=\"four\">", "<sdf name=\"four\">", {"four.urdf"}},
      {"<robot name=\"four\">", "<robot>", {"four.urdf:2", "has no name"}},
      {"name=\"l1\"", "", {"four.urdf:5", "a link has no name"}},
      {"name=\"l2\"", "name=\"l1\"", {"four.urdf:7", "link \"l1\" is there twice"}},
      {"name=\"b\"", "name=\"a\"", {"four.urdf:6", "joint \"a\" is there twice"}},
      {"<child link=\"l2\"/>",
       "<child link=\"l22\"/>",
       {"four.urdf:6", "joint \"b\"", "child link \"l22\" does not exist", "did you mean \"l2\""}},
      {"<parent link=\"l2\"/>", "", {"four.urdf:8", "joint \"c\" names no parent link"}},
      {"<child link=\"l2\"/>",
       "<child link=\"l1\"/>",
       {"four.urdf:6", "joint \"b\"", "link \"l1\" hangs on joint \"a\" already"}},
      {"<link name=\"base\">",
       "<link name=\"wall\"/><link name=\"base\">",
       {"four.urdf:3", "link \"wall\" is a second root", "fixed joint"}},
      {"<parent link=\"base\"/>", "<parent link=\"l4\"/>", {"four.urdf", "closed loop"}},
      {"type=\"revolute\"", "type=\"hinge\"", {"four.urdf", "hinge"}},
      {"type=\"revolute\"", "type=\"planar\"", {"four.urdf:4", "joint \"a\"", "planar and floating joints", "fixed"}},
      {"type=\"revolute\"", "type=\"floating\"", {"four.urdf:4", "joint \"a\"", "planar and floating joints"}},
      {"<axis xyz=\"0 0 1\"/>", "<axis xyz=\"0 0 0\"/>", {"four.urdf:4", "joint \"a\"", "axis is 0 0 0"}},
      {"<axis xyz=\"0 0 1\"/>",
       "<axis xyz=\"0 nan 1\"/>",
       {"four.urdf:4", "joint \"a\": axis xyz \"0 nan 1\"", "3 finite numbers"}},
      {"<axis xyz=\"0 0 1\"/>", "<axis xyz=\"0 1\"/>", {"four.urdf:4", "holds 2 numbers, not 3"}},
      {limit, R"(lower="-3" upper="3" effort="90" velocity="0")", {"four.urdf:4", "joint \"a\"", "velocity limit is 0", "rad/s"}},
      {limit, R"(lower="-3" upper="3" effort="0" velocity="2")", {"four.urdf:4", "joint \"a\"", "effort limit is 0", "N m"}},
      {limit, R"(lower="1" upper="1" effort="90" velocity="2")", {"four.urdf:4", "joint \"a\"", "range from 1 to 1 is empty"}},
      {limit, R"(effort="90" velocity="2")", {"four.urdf:4", "joint \"a\"", "range from 0 to 0 is empty"}},
      {limit,
       R"(lower="-3" upper="inf" effort="90" velocity="2")",
       {"four.urdf:4", "joint \"a\": limit upper \"inf\"", "finite"}},
      {limit,
       R"(lower="-3" upper="3" effort="1e300" velocity="2")",
       {"four.urdf:4", "limit effort \"1e300\"", "outside [0, 1000000]"}},
      {limit, R"(lower="-3,5" upper="3" effort="90" velocity="2")", {"four.urdf:4", "limit lower \"-3,5\"", "finite number"}},
      {"<limit " + limit + "/>", "", {"four.urdf", "joint", "a", "limits"}},
      {"<mass value=\"1\"/>", "<mass value=\"-1\"/>", {"four.urdf:5", "link \"l1\": mass value \"-1\"", "outside [0, 10000]"}},
      {"<mass value=\"1\"/>", "<mass value=\"1e400\"/>", {"four.urdf:5", "link \"l1\": mass value \"1e400\""}},
      {inertia, R"(ixx="-0.01" iyy="0.01" izz="0.01")", {"four.urdf:5", "link \"l1\"", "negative principal moment -0.01"}},
      {inertia, R"(ixx="0.01" iyy="0.01")", {"four.urdf:5", "link \"l1\"", "inertia has no izz"}},
      {"<cylinder radius=\"0.04\"", "<cylinder radius=\"-0.04\"", {"four.urdf:5", "link \"l1\": cylinder radius \"-0.04\""}},
      {"<cylinder radius=\"0.04\" length=\"0.2\"/>",
       "<capsule/>",
       {"four.urdf:5", "link \"l1\"", "no geometry \"capsule\"", "cylinder"}},
      {"<cylinder radius=\"0.04\" length=\"0.2\"/>", "", {"four.urdf:5", "link \"l1\"", "geometry is empty"}},
      {"<cylinder radius=\"0.04\" length=\"0.2\"/>",
       R"(<mesh filename="a.stl" scale="0 1 1"/>)",
       {"four.urdf:5", "link \"l1\"", "by 0"}},
      {"<cylinder radius=\"0.04\" length=\"0.2\"/>",
       R"(<mesh filename="http://a.b/c.stl"/>)",
       {"four.urdf", "l1", "http://a.b/c.stl", "package://"}},
      {"<cylinder radius=\"0.04\"", "<cylinder radius=\"${r}\"", {"four.urdf:5", "link \"l1\"", "xacro FILE"}},
      {"<!-- more -->", "<xacro:arm/>", {"four.urdf:12", "xacro"}},
      {"<axis xyz=\"0 0 1\"/>",
       R"(<axis xyz="0 0 1"/><mimic joint="b"/>)",
       {"four.urdf:4", "joint \"a\": mimics joint \"b\"", "remove <mimic>"}},
      {"<!-- more -->",
       R"(<joint name="g" type="revolute"><parent link="l4"/><child link="x"/><limit effort="1" velocity="1"/><mimic joint="gone"/></joint><link name="x"/>)",
       {"four.urdf:12", "joint \"g\": mimics joint \"gone\", which does not exist"}},
      {"<!-- more -->",
       R"(<joint name="g" type="continuous"><parent link="l4"/><child link="x"/><mimic joint="g"/></joint><link name="x"/>)",
       {"four.urdf:12", "joint \"g\"", "leads back to itself"}},
      {"type=\"revolute\"", "type=\"fixed\"", {"four.urdf:11", "link \"l4\"", "3 moving joints", "4 to 8"}},
      {"\"four\"", "\"f\xFFur\"", {"four.urdf:2", "0xFF", "UTF-8"}},
  };
  for (const Broken& row : rows) {
    SCOPED_TRACE(row.from + " -> " + row.to);
    ExpectWords(Refusal([&] { Chain(Replaced(kFourAxes, row.from, row.to)); }), row.words);
  }
}

TEST(Urdf, RefusesHostileFilesAtOnce) {
  std::string links = "<robot name=\"r\">";
  for (int i = 0; i < 100000; ++i) links += fmt::format("<link name=\"l{}\"/>", i);
  links += "</robot>";
  const std::vector<std::pair<std::string, Words>> rows{
      {"", {"no XML element"}},
      {" \n ", {"no XML element"}},
      {std::string(100, '\0'), {"0x00"}},
      {"solid teapot", {"f.urdf"}},
      {"{\"robot\": 1}", {"f.urdf"}},
      {"<robot name=\"r\"/>", {"the robot has no links"}},
      {"<robot name=\"r\">" + Repeat("<a>", 3'000'000), {"more than 60 deep"}},
      {links, {"more than 2000 links"}},
      {"<robot name=\"r\"><link name=\"" + std::string(1'000'000, 'x') + "\"/></robot>", {"1000000 bytes"}},
      {kFourAxes.substr(0, kFourAxes.size() / 2), {"f.urdf"}},
  };
  for (const auto& [text, words] : rows) {
    SCOPED_TRACE(text.substr(0, 60));
    const std::string message = Refusal([&, &t = text] { ParseUrdf(t, "f.urdf"); });
    EXPECT_THAT(message, testing::StartsWith("f.urdf"));
    ExpectWords(message, words);
  }
}

// Every beginning of a good file is refused or, where only the end is missing, read; never more than that.
TEST(Urdf, NoTruncationCrashes) {
  for (size_t n = 0; n < kFourAxes.size(); n += 7) {
    try {
      ParseUrdf(kFourAxes.substr(0, n), "f.urdf");
      EXPECT_GT(n, kFourAxes.rfind("<link")) << "read from " << n << " bytes";
    } catch (const InputError& e) {
      EXPECT_THAT(e.what(), testing::StartsWith("f.urdf"));
    }
  }
}

TEST(Urdf, RefusesAnArmWithoutReach) {
  std::string text = kFourAxes;
  for (int i = 0; i < 4; ++i) text = Replaced(text, R"(<origin xyz="0 0 0.2"/>)", "");
  EXPECT_THAT(Refusal([&] { Chain(text); }), HasSubstr("every joint of the chain is in one point"));
  // One link with a length is enough.
  EXPECT_NO_THROW(Chain(Replaced(text, R"(<child link="l4"/>)", R"(<child link="l4"/><origin xyz="0 0 0.2"/>)")));
}

TEST(Urdf, RefusesTwoArmsUntilTheTipIsNamed) {
  std::string other;
  std::string parent = "base";
  for (int i = 1; i <= 4; ++i) {
    const std::string link = fmt::format("r{}", i);
    other += fmt::format(
        R"(<joint name="j{0}" type="revolute"><parent link="{1}"/><child link="{0}"/><origin xyz="0 0 1"/><limit lower="-1" upper="1" effort="1" velocity="1"/></joint><link name="{0}"/>)",
        link, parent);
    parent = link;
  }
  const UrdfTree tree = ParseUrdf(With(other), "two.urdf");
  EXPECT_THAT(Refusal([&] { ChooseTip(tree); }), HasSubstr("link \"base\" is where 2 chains of 4 moving joints branch off"));
  EXPECT_EQ(ReadUrdfChain(tree, "l4", {}).joints[0].name, "a");
  EXPECT_EQ(ReadUrdfChain(tree, "r4", {}).joints[0].name, "jr1");
}

}  // namespace
}  // namespace dryrig
