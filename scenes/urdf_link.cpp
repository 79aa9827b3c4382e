#include "scenes/urdf_link.h"

#include <fmt/format.h>
#include <urdf_model/link.h>

#include <Eigen/Eigenvalues>

namespace dryrig {

namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

constexpr double kDensity_kg_m3 = 1000;

bool HasVolume(const Shape& shape) {
  switch (shape.kind) {
    case ShapeKind::kSphere:
      return shape.radius_m > 0;
    case ShapeKind::kBox:
      return shape.half_m.minCoeff() > 0;
    case ShapeKind::kHull:
      return true;
    case ShapeKind::kCapsule:
    case ShapeKind::kCylinder:
      return shape.radius_m > 0 && shape.half_length_m > 0;
  }
  return false;
}

MassProperties SolidsOf(const std::vector<Body>& bodies) {
  MassProperties sum;
  for (const Body& body : bodies) sum = Sum(sum, SeenFrom(body.X_LS, SolidOf(body.shape, kDensity_kg_m3)));
  return sum;
}

/// Rotational inertia of the solids scaled to this mass; of a ball of water without solids.
Matrix3d UsualInertia(const std::vector<Body>& bodies, double mass_kg) {
  const MassProperties solids = SolidsOf(bodies);
  if (solids.mass_kg > 0) return solids.I_ACom * (mass_kg / solids.mass_kg);
  const double radius_m = std::cbrt(mass_kg / kDensity_kg_m3 * 0.75 / 3.141592653589793);
  return SolidOf(Shape::Sphere(radius_m), kDensity_kg_m3).I_ACom;
}

}  // namespace

Eigen::Isometry3d ToIsometry(const urdf::Pose& pose) {
  const urdf::Rotation& r = pose.rotation;
  Eigen::Isometry3d X = Eigen::Isometry3d::Identity();
  X.linear() = Eigen::Quaterniond(r.w, r.x, r.y, r.z).normalized().toRotationMatrix();
  X.translation() = Vector3d(pose.position.x, pose.position.y, pose.position.z);
  return X;
}

UrdfLinkReader::UrdfLinkReader(const UrdfTree& tree, std::vector<std::filesystem::path> package_paths,
                               std::vector<std::string>* notes)
    : tree_(tree), package_paths_(std::move(package_paths)), notes_(notes) {}

const MeshHull& UrdfLinkReader::Hull(const std::string& link, const std::string& uri, const Vector3d& scale) {
  const auto key = std::make_tuple(uri, scale.x(), scale.y(), scale.z());
  const auto known = hulls_.find(key);
  if (known != hulls_.end()) return known->second;
  if (scale.cwiseAbs().minCoeff() == 0)
    tree_.FailLink(link, fmt::format("scales mesh \"{}\" by 0; use 1, or 0.001 for millimetres", uri));
  try {
    return hulls_.emplace(key, ReadMeshHull(FindMesh(uri, tree_.file, package_paths_), scale)).first->second;
  } catch (const InputError& e) {
    throw InputError(fmt::format("{} (link \"{}\" of {})", e.what(), link, tree_.file));
  }
}

Shape UrdfLinkReader::ToShape(const std::string& link, const urdf::Geometry& geometry) {
  switch (geometry.type) {
    case urdf::Geometry::SPHERE:
      return Shape::Sphere(static_cast<const urdf::Sphere&>(geometry).radius);
    case urdf::Geometry::BOX: {
      const urdf::Vector3& size = static_cast<const urdf::Box&>(geometry).dim;
      return Shape::Box(0.5 * Vector3d(size.x, size.y, size.z));
    }
    case urdf::Geometry::CYLINDER: {
      const auto& cylinder = static_cast<const urdf::Cylinder&>(geometry);
      return Shape::Cylinder(cylinder.radius, 0.5 * cylinder.length);
    }
    case urdf::Geometry::MESH: {
      const auto& mesh = static_cast<const urdf::Mesh&>(geometry);
      const MeshHull& hull = Hull(link, mesh.filename, Vector3d(mesh.scale.x, mesh.scale.y, mesh.scale.z));
      notes_->push_back(fmt::format(
          "link \"{}\": mesh \"{}\" of {} vertices became a convex hull of {} that holds it, at most {:.1f} mm larger{}", link,
          mesh.filename, hull.vertices, hull.shape.points.size(), 1e3 * hull.excess_m, hull.thickened ? " (it was flat)" : ""));
      return hull.shape;
    }
  }
  tree_.FailLink(link, "has a geometry of unknown kind");
}

std::vector<Body> UrdfLinkReader::Bodies(const urdf::Link& link) {
  std::vector<Body> bodies;
  const auto add = [&](const urdf::Pose& origin, const urdf::GeometrySharedPtr& geometry) {
    if (!geometry) return;
    Shape shape = ToShape(link.name, *geometry);
    if (!HasVolume(shape)) {
      notes_->push_back(fmt::format("link \"{}\": a solid of size 0 is left out", link.name));
      return;
    }
    const std::string name = bodies.empty() ? link.name : fmt::format("{} ({})", link.name, bodies.size() + 1);
    bodies.push_back({name, std::move(shape), ToIsometry(origin)});
  };
  for (const urdf::CollisionSharedPtr& c : link.collision_array) add(c->origin, c->geometry);
  if (!link.collision_array.empty()) return bodies;
  for (const urdf::VisualSharedPtr& v : link.visual_array) add(v->origin, v->geometry);
  if (!bodies.empty())
    notes_->push_back(fmt::format("link \"{}\": no collision geometry; its visual geometry is used", link.name));
  return bodies;
}

MassProperties UrdfLinkReader::Mass(const urdf::Link& link, const std::vector<Body>& bodies) {
  if (!link.inertial || link.inertial->mass == 0) {
    const MassProperties solids = SolidsOf(bodies);
    if (solids.mass_kg > 0) {
      notes_->push_back(fmt::format("link \"{}\": {}; its solids at {} kg/m3 make {:.3g} kg", link.name,
                                    link.inertial ? "mass 0" : "no inertia", kDensity_kg_m3, solids.mass_kg));
    }
    return solids;
  }
  const urdf::Inertial& stated = *link.inertial;
  MassProperties own;
  own.mass_kg = stated.mass;
  own.I_ACom << stated.ixx, stated.ixy, stated.ixz, stated.ixy, stated.iyy, stated.iyz, stated.ixz, stated.iyz, stated.izz;
  const Eigen::SelfAdjointEigenSolver<Matrix3d> principal(own.I_ACom);
  const Vector3d moments = principal.eigenvalues();  // rising
  const double largest = moments.cwiseAbs().maxCoeff();
  if (moments[0] < -1e-3 * largest) {
    tree_.FailLink(link.name,
                   fmt::format("has an inertia with the negative principal moment {:.4g} kg m2; no body has that: correct "
                               "ixx, iyy, izz and the products",
                               moments[0]));
  }
  if (moments[0] <= 1e-9 * largest) {
    own.I_ACom = UsualInertia(bodies, own.mass_kg);
    notes_->push_back(fmt::format("link \"{}\": its inertia is not positive definite; that of {} at its {:.3g} kg is used",
                                  link.name, bodies.empty() ? "a ball" : "its solids", own.mass_kg));
  } else if (moments[0] + moments[1] < moments[2] * (1 - 1e-3)) {
    notes_->push_back(
        fmt::format("link \"{}\": principal moments {:.3g}, {:.3g}, {:.3g} kg m2 break the triangle inequality; kept as stated",
                    link.name, moments[0], moments[1], moments[2]));
  }
  return SeenFrom(ToIsometry(stated.origin), own);
}

std::string UrdfLinkReader::shapes_text() const {
  std::string text;
  for (const auto& [key, hull] : hulls_) {
    text += fmt::format("mesh {} {} {} {}\n", std::get<0>(key), std::get<1>(key), std::get<2>(key), std::get<3>(key));
    for (const Vector3d& p : hull.shape.points) text += fmt::format("{} {} {}\n", p.x(), p.y(), p.z());
  }
  return text;
}

}  // namespace dryrig
