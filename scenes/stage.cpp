#include "scenes/stage.h"

#include <fmt/format.h>

#include <utility>

#include "scenes/error.h"

namespace dryrig {

Stage MakeStage(Bench bench, ArmModel arm, CameraBody camera) {
  if (!(camera.mass_kg <= arm.payload_kg)) {
    throw InputError(fmt::format("camera {}: {} kg, but arm {} carries at most {} kg; choose a lighter camera or a stronger arm",
                                 camera.name, camera.mass_kg, arm.name, arm.payload_kg));
  }
  ArmModel loaded = WithCamera(std::move(arm), camera);
  return {std::move(bench), std::move(camera), std::move(loaded)};
}

}  // namespace dryrig
