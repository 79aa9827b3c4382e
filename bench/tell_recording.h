#pragma once

#include <string>

#include "scenes/captions.h"
#include "scenes/recorded_lesson.h"
#include "sim/performance.h"

namespace dryrig {

/// What was understood of a recording, for people: joints, scale, frames, gaps, bones. Ends with a line end.
std::string TellRecording(const Recording& recording);
std::string TellCaptions(const Captions& captions, const std::string& name);
/// Both of a recorded lesson, the part of it that is played, and what its performance has to say.
std::string TellRecorded(const RecordedLesson& recorded, const Performance& performance);

}  // namespace dryrig
