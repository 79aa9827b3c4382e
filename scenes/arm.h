#pragma once

#include <Eigen/Geometry>
#include <filesystem>
#include <string>
#include <vector>

#include "scenes/camera.h"
#include "scenes/shape.h"

namespace dryrig {

enum class JointKind { kRevolute, kPrismatic };

/// Moving joint i turns link i in its parent, link i-1 (the base for i = 0). Radians (metres for prismatic), seconds, N·m (N).
struct Joint {
  std::string name;
  JointKind kind = JointKind::kRevolute;
  Eigen::Isometry3d X_PJ = Eigen::Isometry3d::Identity();  // joint frame in the parent link, at q = 0
  Eigen::Vector3d axis = Eigen::Vector3d::UnitZ();         // unit, in J
  bool continuous = false;                                 // no position limit: lower, upper are ∓ 4π
  double lower = 0, upper = 0, velocity = 0, acceleration = 0, jerk = 0, effort = 0;
  double damping = 0, friction = 0;
};

/// A link's frame is its joint's frame. Fixed joints are merged into the link they hang on.
struct Link {
  std::string name;
  double mass_kg = 0;
  Eigen::Vector3d p_LCom = Eigen::Vector3d::Zero();
  Eigen::Matrix3d I_LCom = Eigen::Matrix3d::Zero();  // about the centre of mass, in L's axes, kg·m²
  std::vector<Body> bodies;
};

/// How the joints follow a set point.
struct Servo {
  double bandwidth_hz = 6;  // of the closed position loop
  double damping_ratio = 1;
  double latency_s = 0.008;  // set point to torque
  double payload_known = 1;  // share of the camera's weight that its gravity compensation knows; 1: no sag
};

/// Immutable description of a serial arm with 4 to 8 moving joints. Base frame B is the URDF root link.
struct ArmModel {
  std::string name, title;
  Link base;  // bodies in B; it never moves and has no mass
  std::vector<Joint> joints;
  std::vector<Link> links;                                 // one a joint
  Eigen::Isometry3d X_EC = Eigen::Isometry3d::Identity();  // camera's optical frame in the last link
  Eigen::VectorXd home;                                    // posture before the take, inside the limits
  Servo servo;
  double payload_kg = 0;           // rated
  std::vector<std::string> notes;  // what was assumed, a line a link or joint
  std::string text;                // arm YAML and URDF, for the content hash

  int dof() const { return int(joints.size()); }
};

/// Folders searched for `package://` meshes after the URDF's own folder and its parents; ROS_PACKAGE_PATH comes last.
struct ArmReadOptions {
  std::vector<std::filesystem::path> package_paths;
};

/// An arm file (`arms/NAME.yaml`) and the URDF it refers to, or a bare `.urdf`. What is left out is told in `notes`: tip: where
/// the moving joints end or branch; camera: 140 mm on along the tip's z, looking along it; home: the middle of every range;
/// acceleration 4 × velocity, jerk 10 × acceleration, per second; the servo above; payload 5 kg. No mass: solids at
/// 1000 kg/m³; no geometry: visual geometry, else a thin capsule or a ball; meshes become convex hulls that hold them. `cable:`
/// states the room that a cable takes, run by run along the links; it counts as arm everywhere, without mass.
/// @throws InputError: by name for whatever is refused.
ArmModel ReadArm(const std::filesystem::path& file, const ArmReadOptions& options = {});

/// The same arm carrying the camera: mass, inertia and housing body ("camera") on the last link.
ArmModel WithCamera(ArmModel arm, const CameraBody& camera);

}  // namespace dryrig
