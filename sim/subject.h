#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "sim/take.h"

namespace dryrig {

/// A shot's subjects as one: where, how large, and sample points on or in them.
struct SubjectSample {
  Eigen::Vector3d p_W;
  int body = -1;        // scene body that it belongs to (see SightScene); -1: a tool's tip, which its own tool may hide
  bool inside = false;  // a landmark inside its own body (hands), not a point on a surface
  int landmark = -1;    // BodyPoint for hands
};
struct SubjectGeometry {
  Eigen::Vector3d centre_W = Eigen::Vector3d::Zero();  // middle of the samples' bounding box
  double extent_m = 0;   // twice the greatest distance of a sample from the centre, at least the subject's nominal length
};

/// A tool's tip is framed with what lies within half of this about it.
inline constexpr double kTipExtent_m = 0.06;

/// Samples of all subjects of `shot` in this frame. Hands: those in use, both if none is. @pre every prop named exists.
void SubjectSamples(const Take& take, const TakeFrame& frame, const Shot& shot, std::vector<SubjectSample>* out);
SubjectGeometry MeasureSubject(const Take& take, const Shot& shot, const std::vector<SubjectSample>& samples);
/// The least length that a subject counts as: head height, hand length, the prop's diameter, 0.6 m of bench, kTipExtent_m.
double NominalExtent_m(const Take& take, const Subject& subject);

/// Same geometry from plain points: shared with policies, which see tracked points only.
SubjectGeometry MeasurePoints(const std::vector<Eigen::Vector3d>& p_W, double nominal_m);

/// Wanted view of a shot: unit direction from the subject to the camera and the image's up, both in W, from the torso's
/// normal (azimuth 0: in front of the torso) and the angle's elevation. Overhead: the image's top lies toward the instructor,
/// so that screen left stays screen left when the camera rises from the front.
struct WantedView { Eigen::Vector3d to_camera_W, up_W; };
WantedView ViewFor(ShotAngle angle, const Eigen::Quaterniond& q_WT);

}  // namespace dryrig
