#pragma once

#include <string>

namespace dryrig {

/// What `score --log` is asked for; scenes as files or shipped names.
struct LogChoice {
  std::string log, track, camera_track, captions, arm, bench, camera, lesson, person, out;
  double begins_s = 0;  // of the lesson, on the track's clock
  bool begins_given = false;
  bool json = false, force = false;
};

/// Makes a take of what was recorded, scores it and writes it into `out` as
/// `take` does. @throws InputError, RunError.
int ScoreLog(const LogChoice& choice);

}  // namespace dryrig
