#include "tests/bench/mujoco_peer.h"

#include <fmt/format.h>
#include <mujoco/mujoco.h>

#include <Eigen/Eigenvalues>
#include <cmath>
#include <cstring>

#include "scenes/error.h"
#include "sim/performance.h"

namespace dryrig::test {

namespace {

constexpr double kMargin_m = 0.3;

std::string Numbers(const Eigen::Ref<const Eigen::VectorXd>& v) {
  std::string out;
  for (const double x : v) out += fmt::format("{:.9g} ", x);
  return out;
}

std::string Placed(const Eigen::Isometry3d& X) {
  const Eigen::Quaterniond q(X.linear());
  return fmt::format("pos='{}' quat='{}'", Numbers(X.translation()), Numbers(Eigen::Vector4d(q.w(), q.x(), q.y(), q.z())));
}

std::string Geom(const Shape& shape, const Eigen::Isometry3d& X, const std::string& more) {
  std::string kind;
  switch (shape.kind) {
    case ShapeKind::kSphere:
      kind = fmt::format("type='sphere' size='{}'", shape.radius_m);
      break;
    case ShapeKind::kCapsule:
      kind = fmt::format("type='capsule' size='{} {}'", shape.radius_m, std::max(shape.half_length_m, 1e-4));
      break;
    case ShapeKind::kCylinder:
      kind = fmt::format("type='cylinder' size='{} {}'", shape.radius_m, shape.half_length_m);
      break;
    case ShapeKind::kBox:
      kind = fmt::format("type='box' size='{}'", Numbers(shape.half_m));
      break;
    case ShapeKind::kHull:
      throw RunError("MuJoCo peer: hulls are not set up");
  }
  return fmt::format("<geom {} {} {}/>", kind, Placed(X), more);
}

/// Bits of who meets whom: bench and props 1, arm 2, person 4.
constexpr const char *kThing = "contype='1' conaffinity='1'", *kArm = "contype='2' conaffinity='1'";

std::string ArmXml(const Stage& stage) {
  std::string out = fmt::format("<body name='base' {}>", Placed(stage.bench.X_WB));
  for (int i = 0; i < stage.arm.dof(); ++i) {
    const Joint& joint = stage.arm.joints[static_cast<size_t>(i)];
    const Link& link = stage.arm.links[static_cast<size_t>(i)];
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> principal(link.I_LCom);
    Eigen::Isometry3d X_LI = Eigen::Isometry3d::Identity();
    X_LI.translation() = link.p_LCom;
    X_LI.linear() = principal.eigenvectors();
    if (X_LI.linear().determinant() < 0) X_LI.linear().col(0) *= -1;
    out += fmt::format(
        "<body name='link{0}' {1}><inertial {2} mass='{3}' diaginertia='{4}'/><joint name='joint{0}' type='{5}' axis='{6}' "
        "range='{7} {8}' limited='{9}'/>",
        i, Placed(joint.X_PJ), Placed(X_LI), link.mass_kg, Numbers(principal.eigenvalues()),
        joint.kind == JointKind::kRevolute ? "hinge" : "slide", Numbers(joint.axis), joint.lower, joint.upper, !joint.continuous);
    for (const Body& body : link.bodies) out += Geom(body.shape, body.X_LS, kArm);
  }
  for (int i = 0; i <= stage.arm.dof(); ++i) out += "</body>";
  return out;
}

}  // namespace

struct MujocoPeer::Impl {
  std::unique_ptr<mjModel, void (*)(mjModel*)> model{nullptr, mj_deleteModel};
  std::unique_ptr<mjData, void (*)(mjData*)> data{nullptr, mj_deleteData};
  PersonBody person;
  Eigen::VectorXd home;
  double hz = 240;
  int first_person_geom = 0, camera_body = 0;
  long ticks = 0;
};

MujocoPeer::MujocoPeer(const TakeSetup& setup) : impl_(std::make_unique<Impl>()) {
  Impl& s = *impl_;
  const Stage& stage = setup.stage;
  const Performance performance(setup.lesson, stage.bench, setup.person, setup.seed);
  s.person = performance.body();
  s.home = stage.arm.home;
  s.hz = setup.physics_hz;
  const Body top = BenchTop(stage.bench);
  std::string world = Geom(top.shape, top.X_LS, kThing);
  for (size_t i = 0; i < setup.lesson.props.size(); ++i) {
    const Prop& prop = setup.lesson.props[i];
    Eigen::Isometry3d X_WP = Eigen::Isometry3d::Identity();
    X_WP.translation() = Eigen::Vector3d(prop.at_m.x(), prop.at_m.y(), stage.bench.height_m + prop.shape.Below());
    world += fmt::format("<body {}><freejoint/>{}</body>", Placed(X_WP),
                         Geom(prop.shape, Eigen::Isometry3d::Identity(), fmt::format("{} mass='{}'", kThing, prop.mass_kg)));
  }
  world += ArmXml(stage);
  const BodyPose pose = performance.PoseAt(0);
  for (const PersonCapsule& capsule : s.person.capsules) {
    const double length_m = (pose.p_W[static_cast<size_t>(capsule.b)] - pose.p_W[static_cast<size_t>(capsule.a)]).norm();
    world += fmt::format("<body mocap='true'>{}</body>",
                         Geom(Shape::Capsule(capsule.radius_m, length_m / 2), Eigen::Isometry3d::Identity(),
                              fmt::format("contype='0' conaffinity='2' margin='{0}' gap='{0}'", kMargin_m)));
  }
  std::string servos;
  for (int i = 0; i < stage.arm.dof(); ++i) {
    const double effort = stage.arm.joints[static_cast<size_t>(i)].effort;
    servos += fmt::format("<position joint='joint{}' kp='{}' forcelimited='true' forcerange='{} {}'/>", i, 10 * effort, -effort,
                          effort);
  }
  const std::string xml = fmt::format(
      "<mujoco><compiler angle='radian' boundmass='1e-4' boundinertia='1e-7'/><size nconmax='2000' njmax='4000'/><option "
      "timestep='{}' gravity='0 0 -9.81' integrator='Euler' solver='Newton' iterations='10' jacobian='sparse'/><default><joint "
      "damping='20'/></default><worldbody>{}</worldbody>"
      "<actuator>{}</actuator></mujoco>",
      1 / s.hz, world, servos);
  const auto files = std::make_unique<mjVFS>();
  mj_defaultVFS(files.get());
  mj_makeEmptyFileVFS(files.get(), "take.xml", static_cast<int>(xml.size()));
  std::memcpy(files->filedata[0], xml.data(), xml.size());
  char error[500] = "";
  s.model.reset(mj_loadXML("take.xml", files.get(), error, sizeof error));
  mj_deleteVFS(files.get());
  if (!s.model) throw RunError(fmt::format("MuJoCo peer: {}", error));
  s.data.reset(mj_makeData(s.model.get()));
  s.first_person_geom = s.model->ngeom - static_cast<int>(s.person.capsules.size());
  s.camera_body = mj_name2id(s.model.get(), mjOBJ_BODY, fmt::format("link{}", stage.arm.dof() - 1).c_str());
  for (int i = 0; i < stage.arm.dof(); ++i) {
    const int joint = mj_name2id(s.model.get(), mjOBJ_JOINT, fmt::format("joint{}", i).c_str());
    s.data->qpos[s.model->jnt_qposadr[joint]] = s.home[i];
  }
}

MujocoPeer::~MujocoPeer() = default;

void MujocoPeer::Step(const BodyPose& pose) {
  Impl& s = *impl_;
  for (size_t c = 0; c < s.person.capsules.size(); ++c) {
    const PersonCapsule& capsule = s.person.capsules[c];
    const Eigen::Vector3d &a = pose.p_W[static_cast<size_t>(capsule.a)], &b = pose.p_W[static_cast<size_t>(capsule.b)];
    const Eigen::Vector3d middle = 0.5 * (a + b);
    const Eigen::Quaterniond turn = Eigen::Quaterniond::FromTwoVectors(Eigen::Vector3d::UnitZ(), b - a);
    mjtNum* position = s.data->mocap_pos + 3 * c;
    mjtNum* quaternion = s.data->mocap_quat + 4 * c;
    for (int k = 0; k < 3; ++k) position[k] = middle[k];
    quaternion[0] = turn.w(), quaternion[1] = turn.x(), quaternion[2] = turn.y(), quaternion[3] = turn.z();
  }
  const double wave = 0.1 * std::sin(2 * static_cast<double>(s.ticks++) / s.hz);
  for (int i = 0; i < s.model->nu; ++i) s.data->ctrl[i] = s.home[i] + wave;
  mj_step(s.model.get(), s.data.get());
}

int MujocoPeer::Seen(const Eigen::Vector3d& p_WC, std::span<const Eigen::Vector3d> points) {
  Impl& s = *impl_;
  int seen = 0;
  for (const Eigen::Vector3d& point : points) {
    const Eigen::Vector3d way = point - p_WC;
    int geom = -1;
    // A landmark is inside its own capsule: what is met within 3 cm of it is the hand itself.
    const double met = mj_ray(s.model.get(), s.data.get(), p_WC.data(), way.data(), nullptr, 1, s.camera_body, &geom);
    seen += met < 0 || (1 - met) * way.norm() < 0.03;
  }
  return seen;
}

double MujocoPeer::Nearest_m() const {
  const Impl& s = *impl_;
  double nearest = kMargin_m;
  for (int i = 0; i < s.data->ncon; ++i) {
    const mjContact& contact = s.data->contact[i];
    if (std::max(contact.geom1, contact.geom2) >= s.first_person_geom)
      nearest = std::min(nearest, static_cast<double>(contact.dist));
  }
  return nearest;
}

}  // namespace dryrig::test
