#pragma once

#include <Eigen/Geometry>

#include "metrics/tolerances.h"
#include "scenes/camera.h"
#include "scenes/shot.h"
#include "sim/lens.h"
#include "sim/subject.h"

namespace dryrig {

/// How one frame differs from the shot that is asked for. NaN: that part has no meaning here.
struct FramingParts {
  bool in_front = false;        // the subject's centre lies before the camera
  bool off_frame = true;        // it lies outside the frame, or behind
  ImagePoint centre{0, 0};      // its image, when in front
  double depth_m = 0;           // of the centre along the camera's axis
  double apparent_heights = 0;  // the subject's extent in frame heights, when in front
  double composition_heights;   // image of the centre to the composition point, frame heights
  double size_octaves;          // log2 of apparent over wanted size
  double direction_deg;         // between actual and wanted direction from the subject to the camera, [0, 180]
  double up_deg;                // image-up against the wanted one, about the line of sight, [0, 180]
  double angle_deg;             // root of the sum of both squared
  double facing_deg;            // azimuth of the camera against the torso's normal, [0, 180]; NaN within 20° of overhead
  double error = 0;             // root of the mean of the three squared parts over their tolerances, each capped
};

/// Measures one frame. The wanted image-up is a level horizon; where an overhead is asked for it is carried from the wanted to the
/// actual direction by the least rotation, so that an upside-down overhead is 180° wrong although its direction is right. A view
/// of another kind that looks along the vertical has no horizon: between 40° and 20° off it the second takes over from the first.
FramingParts MeasureFraming(const CameraBody& camera, const Eigen::Isometry3d& X_WC, const LensState& lens,
                            const Eigen::Quaterniond& q_WT, const Shot& shot, const SubjectGeometry& subject,
                            const Tolerances& tolerances);

}  // namespace dryrig
