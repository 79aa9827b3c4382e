#pragma once

#include <array>
#include <optional>
#include <vector>

#include "sim/lens.h"
#include "sim/sight.h"
#include "sim/subject.h"
#include "sim/take.h"

namespace dryrig {

/// What the camera got of an intent's subjects in one frame; the one pass over a take that all footage metrics share.
struct FrameView {
  int intent = -1;               // index in Take::intents; -1: nothing is asked
  bool scored = false;           // an intent runs for at least 1.5 s
  SubjectGeometry subject;
  bool in_front = false;         // subject's centre lies before the camera
  ImagePoint centre{0, 0};       // its image, when in front
  bool off_frame = true;         // centre outside the frame or behind
  double apparent_heights = 0;   // its extent in frame heights
  int samples = 0, clear = 0, outside = 0;
  std::array<int, 9> blocked{};  // by Blocker
  int landmarks = 0, landmarks_visible = 0;  // of the hands in use, when the intent has hands
  int landmarks_in_focus = 0;                // visible ones inside the depth of field
};

class Footage {
 public:
  explicit Footage(const Take& take);
  const Take& take() const { return *take_; }
  const std::vector<FrameView>& frames() const { return frames_; }

 private:
  const Take* take_;
  std::vector<FrameView> frames_;
};

}  // namespace dryrig
