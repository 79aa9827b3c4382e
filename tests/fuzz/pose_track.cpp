#include "scenes/pose_track.h"

#include "tests/fuzz/one_input.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  return dryrig::OneInput(data, size, [](const std::string& text) {
    const dryrig::Recording recording = dryrig::ParsePoseTrack(text, "f.csv");
    for (const Eigen::Vector3d& p : recording.p_R) {
      if (!p.allFinite()) __builtin_trap();
    }
  });
}
