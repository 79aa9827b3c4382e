#pragma once

#include <string>
#include <string_view>

#include "scenes/joint_mapping.h"
#include "scenes/recording.h"

namespace dryrig {

/// How a pose track is made whole. Low-pass: Butterworth of the second order, run forwards and backwards so that nothing is
/// delayed, at 6 Hz (common practice for human movement after Winter 2009), its cutoff corrected for the second pass.
struct TrackRepair {
  double least_confidence = 0.3;  // points below it count as missing
  double most_gap_s = 0.5;        // shorter gaps are filled by a cubic through their neighbours; longer ones are lost
  double cutoff_hz = 6;
};

/// A pose-track CSV: a header line with the columns t, joint, x, y, z and, if there is one, confidence, in any order and case;
/// then one point a line. `t` in seconds; lines with # are comments, of which `# unit: mm` and `# up: y` are read. Rows of one
/// time make a frame; frames are brought to the steady rate nearest to their median step.
/// @throws InputError (file:line:column).
Recording ParsePoseTrack(std::string_view text, const std::string& file_name, const JointMapping& mapping = {},
                         const RecordingHints& hints = {}, const TrackRepair& repair = {});

}  // namespace dryrig
