#include "scenes/urdf.h"

#include <fmt/format.h>
#include <urdf_model/model.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "scenes/inertia.h"
#include "scenes/urdf_link.h"

namespace dryrig {

namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;

constexpr int kLeastJoints = 4, kMostJoints = 8;
constexpr double kThinRadius_m = 0.03;  // of the capsule that stands for a link without any geometry
constexpr double kLightMass_kg = 0.1;   // of a moving link without any mass
constexpr double kCoincident_m = 1e-3;

bool Turns(const urdf::Joint& joint) {
  return joint.type == urdf::Joint::REVOLUTE || joint.type == urdf::Joint::CONTINUOUS;
}
bool Moves(const urdf::Joint& joint) {
  return joint.type != urdf::Joint::FIXED;
}

std::vector<const urdf::Joint*> PathTo(const UrdfTree& tree, const std::string& tip) {
  std::vector<const urdf::Joint*> path;
  for (urdf::LinkConstSharedPtr link = tree.model->getLink(tip); link->parent_joint; link = link->getParent()) {
    path.push_back(link->parent_joint.get());
  }
  std::reverse(path.begin(), path.end());
  return path;
}

/// Moving joints on the longest way from here to a leaf.
int MovingBelow(const urdf::Link& link) {
  int most = 0;
  for (size_t i = 0; i < link.child_links.size(); ++i) {
    most = std::max(most, MovingBelow(*link.child_links[i]) + (Moves(*link.child_joints[i]) ? 1 : 0));
  }
  return most;
}

/// Links that hang on this one by fixed joints alone, itself included, with how many.
void FixedBelow(const urdf::Link& link, int hops, std::vector<std::pair<int, std::string>>* found) {
  found->emplace_back(hops, link.name);
  for (size_t i = 0; i < link.child_links.size(); ++i) {
    if (!Moves(*link.child_joints[i])) FixedBelow(*link.child_links[i], hops + 1, found);
  }
}

std::string MountBelow(const urdf::Link& link) {
  std::vector<std::pair<int, std::string>> frames;
  FixedBelow(link, 0, &frames);
  for (const std::string_view usual : {"tool0", "flange", "ee_link", "tcp"}) {
    for (const auto& [hops, name] : frames) {
      if (name.ends_with(usual)) return name;
    }
  }
  const auto deepest =
      std::max_element(frames.begin(), frames.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  return deepest->second;
}

/// The vector along which or about which a joint moves. @throws InputError for a zero one.
Vector3d UnitAxis(const UrdfTree& tree, const urdf::Joint& joint) {
  const Vector3d axis(joint.axis.x, joint.axis.y, joint.axis.z);
  if (axis.norm() < 1e-9) tree.FailJoint(joint.name, "its axis is 0 0 0; give it a direction");
  return axis.normalized();
}

Joint ToJoint(const UrdfTree& tree, const urdf::Joint& from, const Isometry3d& X_PJ, std::vector<std::string>* notes) {
  if (from.type != urdf::Joint::PRISMATIC && !Turns(from)) {
    tree.FailJoint(from.name, "planar and floating joints cannot be part of an arm; make it fixed, or begin the URDF after it");
  }
  if (from.mimic) {
    tree.FailJoint(from.name,
                   fmt::format("mimics joint \"{}\" and lies between the root and the tip; a coupled arm is not modelled: "
                               "remove <mimic>, or choose a tip before it",
                               from.mimic->joint_name));
  }
  Joint to;
  to.name = from.name;
  to.kind = Turns(from) ? JointKind::kRevolute : JointKind::kPrismatic;
  to.X_PJ = X_PJ;
  to.axis = UnitAxis(tree, from);
  to.continuous = from.type == urdf::Joint::CONTINUOUS;
  if (!from.limits) tree.FailJoint(from.name, "has no <limit>; an arm's joint needs effort and velocity");
  to.velocity = from.limits->velocity;
  to.effort = from.limits->effort;
  if (to.velocity <= 0)
    tree.FailJoint(from.name, "its velocity limit is 0, so it could not move; give its rated speed in rad/s or m/s");
  if (to.effort <= 0)
    tree.FailJoint(from.name, "its effort limit is 0, so it could not hold itself; give its rated torque in N m or force in N");
  if (to.continuous) {
    to.upper = 4 * std::numbers::pi;
    to.lower = -to.upper;
    notes->push_back(fmt::format("joint \"{}\": continuous; held within -720 to 720 deg, two turns each way", from.name));
  } else {
    to.lower = from.limits->lower;
    to.upper = from.limits->upper;
    if (to.lower >= to.upper) {
      tree.FailJoint(from.name,
                     fmt::format("its range from {} to {} is empty; give <limit> lower below upper, or make the joint fixed or "
                                 "continuous",
                                 to.lower, to.upper));
    }
  }
  if (from.dynamics) {
    to.damping = from.dynamics->damping;
    to.friction = from.dynamics->friction;
  }
  return to;
}

/// Where a joint off the chain is frozen: at 0 or the nearest position it may have; a mimic where its master puts it.
double FrozenAt(const UrdfTree& tree, const urdf::Joint& joint, int depth = 0) {
  if (joint.mimic) {
    const urdf::JointConstSharedPtr master = tree.model->getJoint(joint.mimic->joint_name);
    if (!master) tree.FailJoint(joint.name, fmt::format("mimics joint \"{}\", which does not exist", joint.mimic->joint_name));
    if (depth > 20) tree.FailJoint(joint.name, "its <mimic> leads back to itself");
    return joint.mimic->multiplier * FrozenAt(tree, *master, depth + 1) + joint.mimic->offset;
  }
  if (!joint.limits || joint.type == urdf::Joint::CONTINUOUS || joint.limits->lower > joint.limits->upper) return 0;
  return std::clamp(0.0, joint.limits->lower, joint.limits->upper);
}

Isometry3d FrozenMotion(const UrdfTree& tree, const urdf::Joint& joint, std::vector<std::string>* notes) {
  Isometry3d X = Isometry3d::Identity();
  if (!Moves(joint)) return X;
  if (Turns(joint)) {
    const double q = FrozenAt(tree, joint);
    X.linear() = Eigen::AngleAxisd(q, UnitAxis(tree, joint)).toRotationMatrix();
    notes->push_back(fmt::format("joint \"{}\": not between root and tip; frozen at {:.4g} deg{}", joint.name,
                                 q * 180 / std::numbers::pi, joint.mimic ? ", where its mimic puts it" : ""));
  } else if (joint.type == urdf::Joint::PRISMATIC) {
    const double q = FrozenAt(tree, joint);
    X.translation() = q * UnitAxis(tree, joint);
    notes->push_back(fmt::format("joint \"{}\": not between root and tip; frozen at {:.4g} mm{}", joint.name, 1e3 * q,
                                 joint.mimic ? ", where its mimic puts it" : ""));
  } else {
    notes->push_back(fmt::format("joint \"{}\": not between root and tip; frozen at its origin", joint.name));
  }
  return X;
}

Body ThinCapsule(const std::string& name, const Vector3d& to) {
  Body body;
  body.name = name;
  body.shape = to.norm() < kCoincident_m ? Shape::Sphere(kThinRadius_m) : Shape::Capsule(kThinRadius_m, to.norm() / 2);
  body.X_LS.linear() = Eigen::Quaterniond::FromTwoVectors(Vector3d::UnitZ(), to).toRotationMatrix();
  if (to.norm() < kCoincident_m) body.X_LS.linear().setIdentity();
  body.X_LS.translation() = to / 2;
  return body;
}

/// One walk over the tree: every URDF link goes to the moving link that carries it.
class ChainBuilder {
 public:
  ChainBuilder(const UrdfTree& tree, const std::string& tip, const std::vector<std::filesystem::path>& package_paths)
      : tree_(tree), path_(PathTo(tree, tip)), reader_(tree, package_paths, &chain_.notes) {
    chain_.tip = tip;
  }

  UrdfChain Build() {
    RequireJointCount();
    if (!tree_.complaints.empty()) chain_.notes.push_back(fmt::format("urdfdom: {}", tree_.complaints));
    Add(*tree_.model->getRoot(), -1, Isometry3d::Identity());
    FillIn();
    double reach_m = chain_.X_LTip.translation().norm();
    for (size_t i = 1; i < chain_.joints.size(); ++i) reach_m += chain_.joints[i].X_PJ.translation().norm();
    for (const Joint& joint : chain_.joints) reach_m += joint.kind == JointKind::kPrismatic ? joint.upper - joint.lower : 0;
    if (reach_m < kCoincident_m) tree_.FailLink(chain_.tip, "cannot leave its place: every joint of the chain is in one point");
    chain_.shapes_text = reader_.shapes_text();
    return std::move(chain_);
  }

 private:
  void RequireJointCount() const {
    const auto n = std::count_if(path_.begin(), path_.end(), [](const urdf::Joint* j) { return Moves(*j); });
    if (n < kLeastJoints || n > kMostJoints) {
      tree_.FailLink(
          chain_.tip,
          fmt::format("is {} moving joints away from the root \"{}\"; an arm has {} to {}: choose another tip in an arm "
                      "file, or make joints fixed",
                      n, tree_.model->getRoot()->name, kLeastJoints, kMostJoints));
    }
  }

  void Add(const urdf::Link& link, int owner, const Isometry3d& X_OL) {
    if (link.name == chain_.tip) chain_.X_LTip = X_OL;
    Link& group = owner < 0 ? chain_.base : chain_.links[size_t(owner)];
    if (group.name.empty()) group.name = link.name;
    std::vector<Body> bodies = reader_.Bodies(link);
    MassProperties mass;
    if (owner >= 0) {
      mass = reader_.Mass(link, bodies);
      SetMass(&group, Sum(MassOf(group), SeenFrom(X_OL, mass)));
    } else if (link.inertial) {  // what never moves needs no mass, but it is there
      mass.mass_kg = link.inertial->mass;
      mass.p_ACom = ToIsometry(link.inertial->origin).translation();
    }
    if (bodies.empty() && group.name != link.name && mass.mass_kg > 0) bodies.push_back(BallFor(link.name, mass));
    if (group.name == link.name) bare_.push_back(bodies.empty());
    for (Body& body : bodies) {
      body.X_LS = X_OL * body.X_LS;
      group.bodies.push_back(std::move(body));
    }
    for (size_t i = 0; i < link.child_links.size(); ++i) {
      const urdf::Joint& joint = *link.child_joints[i];
      const Isometry3d X_OJ = X_OL * ToIsometry(joint.parent_to_joint_origin_transform);
      const bool on_path = std::find(path_.begin(), path_.end(), &joint) != path_.end();
      if (on_path && Moves(joint)) {
        later_.push_back({&joint, link.child_links[i].get(), X_OJ});
      } else {
        Add(*link.child_links[i], owner, X_OJ * FrozenMotion(tree_, joint, &chain_.notes));
      }
    }
    // The next moving link comes when all that hangs on this one is done, so that notes run from base to tip.
    if (group.name == link.name && !later_.empty()) {
      const Later next = later_.back();
      later_.pop_back();
      chain_.joints.push_back(ToJoint(tree_, *next.joint, next.X_PJ, &chain_.notes));
      chain_.links.emplace_back();
      Add(*next.link, owner + 1, Isometry3d::Identity());
    }
  }

  /// Stands for a heavy thing without geometry that hangs on a link by a fixed or frozen joint.
  Body BallFor(const std::string& name, const MassProperties& mass) {
    const double radius_m = std::cbrt(mass.mass_kg / SolidOf(Shape::Sphere(1), 1000).mass_kg);
    chain_.notes.push_back(fmt::format(
        "link \"{}\": no geometry; a ball of its mass at 1000 kg/m3 stands for it, {:.0f} mm in radius", name, 1e3 * radius_m));
    Body ball;
    ball.name = name;
    ball.shape = Shape::Sphere(radius_m);
    ball.X_LS.translation() = mass.p_ACom;
    return ball;
  }

  /// No moving link is left without a solid or a mass.
  void FillIn() {
    for (int i = -1; i < int(chain_.links.size()); ++i) {
      Link& link = i < 0 ? chain_.base : chain_.links[size_t(i)];
      const Vector3d next =
          i + 1 < int(chain_.links.size()) ? chain_.joints[size_t(i + 1)].X_PJ.translation() : chain_.X_LTip.translation();
      const bool far = next.norm() >= kCoincident_m;
      if (bare_[size_t(i + 1)] && (i < 0 ? far && link.bodies.empty() : far || link.bodies.empty())) {
        link.bodies.push_back(ThinCapsule(link.name, next));
        chain_.notes.push_back(fmt::format("link \"{}\": no geometry; a {} of {:.0f} mm radius stands for it", link.name,
                                           far ? "capsule to the next joint" : "ball", 1e3 * kThinRadius_m));
      }
      if (i < 0 || link.mass_kg > 1e-6) continue;
      MassProperties light;
      light.mass_kg = kLightMass_kg;
      light.I_ACom =
          SolidOf(Shape::Sphere(kThinRadius_m), 1).I_ACom / SolidOf(Shape::Sphere(kThinRadius_m), 1).mass_kg * kLightMass_kg;
      SetMass(&link, light);
      chain_.notes.push_back(fmt::format(
          "link \"{}\": no mass and no solid to take it from; a ball of {} kg at its joint is used", link.name, kLightMass_kg));
    }
  }

  struct Later {
    const urdf::Joint* joint;
    const urdf::Link* link;
    Isometry3d X_PJ;
  };
  const UrdfTree& tree_;
  std::vector<const urdf::Joint*> path_;
  UrdfChain chain_;
  UrdfLinkReader reader_;
  std::vector<Later> later_;
  std::vector<bool> bare_;  // base and every moving link: its own URDF link has no geometry
};

}  // namespace

std::string ChooseTip(const UrdfTree& tree) {
  const urdf::Link* link = tree.model->getRoot().get();
  for (int moving = 0;;) {
    std::vector<size_t> onward;  // children on the longest ways
    int most = 0, ways = 0;
    for (size_t i = 0; i < link->child_links.size(); ++i) {
      const int below = MovingBelow(*link->child_links[i]) + (Moves(*link->child_joints[i]) ? 1 : 0);
      if (below == 0) continue;
      ++ways;
      if (below > most) {
        most = below;
        onward.clear();
      }
      if (below == most) onward.push_back(i);
    }
    if (ways == 0 || (ways > 1 && moving >= kLeastJoints)) return MountBelow(*link);
    if (onward.size() > 1) {
      tree.FailLink(link->name,
                    fmt::format("is where {} chains of {} moving joints branch off; say which one in an arm file: tip: LINK",
                                onward.size(), most));
    }
    moving += Moves(*link->child_joints[onward[0]]) ? 1 : 0;
    link = link->child_links[onward[0]].get();
  }
}

UrdfChain ReadUrdfChain(const UrdfTree& tree, const std::string& tip, const std::vector<std::filesystem::path>& package_paths) {
  return ChainBuilder(tree, tip, package_paths).Build();
}

}  // namespace dryrig
