#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "bench/mount_text.h"

namespace dryrig {

/// What mounts are tried with: every lesson's views by each person, for one camera.
struct MountCast {
  std::string camera;
  std::vector<LessonViews> views;
};

struct MountRunOptions {
  double clearance_m = 0.25;
  int jobs = 1;
  bool quiet = false;
  std::filesystem::path tries;  // what has been tried is kept here, line by line, and not tried again
  std::string key;              // of all that a try depends on; tries under another key are forgotten
};

/// Tries every place with every camera on `jobs` threads; the result does not depend on their number. Places outer, cameras
/// inner.
std::vector<RankedMount> TryMounts(const std::vector<MountPlace>& places, const std::vector<MountCast>& casts,
                                   const MountRunOptions& options);

}  // namespace dryrig
