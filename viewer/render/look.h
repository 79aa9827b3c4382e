#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "sim/take.h"

namespace dryrig {

/// Linear RGB of a colour as people pick it (sRGB, 0–1).
Eigen::Vector3d FromSrgb(const Eigen::Vector3d& srgb);

/// Colours, linear.
Eigen::Vector3d ColourOf(const PersonCapsule& capsule);  // skin, shirt, trousers, shoes
Eigen::Vector3d ColourOf(const ArmBody& part);
Eigen::Vector3d BenchColour();
Eigen::Vector3d FixtureColour();
Eigen::Vector3d ZoneColour();
Eigen::Vector3d FloorColour();
Eigen::Vector3d LegColour();

/// A piece of a face or of hair, in the head's frame Hd: an ellipsoid or the half of one, the unit ball or dome under X_HdM.
struct HeadPiece {
  bool dome = false;
  Eigen::Affine3d X_HdM = Eigen::Affine3d::Identity();
  Eigen::Vector3d colour;
};
/// Eyes, brows, nose, mouth, ears and hair of a head of this height and radius; nothing stands out by more than 9 mm.
std::vector<HeadPiece> FacePieces(double head_height_m, double head_radius_m);

/// Things that stand still and belong to no body: bench legs, the arm's post, a stool where the person sits and
/// what their feet rest on where those are off the floor.
struct DressingPiece {
  Shape shape;
  Eigen::Isometry3d X_WS = Eigen::Isometry3d::Identity();
  Eigen::Vector3d colour;
};
std::vector<DressingPiece> StageDressing(const Take& take);

}  // namespace dryrig
