#pragma once

#include <string>
#include <vector>

#include "bench/time_code.h"
#include "sim/take.h"

namespace dryrig {

/// A stretch of a take for an editor: the policy holds a shot, or the camera is on its way to it.
struct EditClip {
  double start_s = 0, end_s = 0;
  bool moving = false;  // the camera still travels to the shot that it has just cut to
  Shot shot;
};
/// The whole take in clips, one after another without a gap. A clip of a shot begins once the camera has slowed to 30 mm/s and
/// 3 deg/s after the choice.
std::vector<EditClip> ClipsOf(const Take& take);

/// A cue whose subjects the policy chose for less than half of the intent's time.
struct MissedCue {
  double start_s = 0, end_s = 0;
  std::string what;  // the shot asked for
};
std::vector<MissedCue> MissedCues(const Take& take);

/// Where the footage comes from, as an editor knows it.
struct EditSource {
  std::string title, media;  // title of the edit; name or path of the film
  int64_t first_frame = 0;   // time code of the film's first frame
};

/// CMX 3600 edit list; one event a clip, cuts only, record times equal to the source's. @throws InputError above 30 frames a
/// second, which the form does not know.
std::string EditList(const Take& take, const EditSource& source, const FrameRate& rate);
/// OpenTimelineIO timeline (JSON), missed cues as markers.
std::string EditTimeline(const Take& take, const EditSource& source, const FrameRate& rate);
/// The sentences as spoken, as WebVTT.
std::string SpokenWebVtt(const Take& take);

}  // namespace dryrig
