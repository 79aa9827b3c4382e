#pragma once

#include "scenes/arm.h"
#include "scenes/bench.h"
#include "scenes/camera.h"

namespace dryrig {

/// Everything that stands still or is bolted down. No props, nobody: a policy may read it all.
struct Stage {
  Bench bench;
  CameraBody camera;
  ArmModel arm;  // carries the camera
};

/// @throws InputError if the camera is heavier than the arm's payload.
Stage MakeStage(Bench bench, ArmModel arm, CameraBody camera);

}  // namespace dryrig
