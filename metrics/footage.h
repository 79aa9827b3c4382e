#pragma once

#include <array>
#include <string>
#include <vector>

#include "metrics/camera_path.h"
#include "metrics/framing.h"
#include "metrics/tolerances.h"
#include "sim/sight.h"
#include "sim/subject.h"
#include "sim/take.h"

namespace dryrig {

/// What the camera got of an intent's subjects in one frame; the one pass over a take that all footage metrics share.
struct FrameView {
  int intent = -1;      // index in Take::intents; -1: nothing is asked, and the rest is empty
  bool scored = false;  // the intent has run for the settling time, 1.5 s
  SubjectGeometry subject;
  FramingParts framing;
  // Lines of sight, in scored frames alone. A sample is clear, outside the frame, or blocked; a prop's far side has none.
  int samples = 0, clear = 0, outside = 0;
  std::array<int, 9> blocked{};              // by Blocker
  std::array<int, 9> top_blocker{};          // by Blocker: the scene body of that kind that hides most samples, where one does
  int landmarks = 0, landmarks_visible = 0;  // of the hands in use, when the intent has hands
  int landmarks_in_focus = 0;                // visible ones inside the depth of field

  /// The kind that hides most samples; kNone if nothing hides any.
  Blocker TopKind() const;
};

/// Looks at one frame after the other, also of a take that is still running: frames so far and all ahead of them that stands still.
class FrameViewer {
 public:
  /// @pre the take outlives the viewer.
  FrameViewer(const Take& take, const Tolerances& tolerances);
  /// @pre the frame is there.
  FrameView View(size_t frame);
  const std::vector<std::string>& names() const { return names_; }  // of bodies, as blockers

 private:
  const Take* take_;
  Tolerances tolerances_;
  SightScene scene_;
  std::vector<std::string> names_;
  std::vector<int> hits_;
  std::vector<SubjectSample> samples_;
};

class Footage {
 public:
  /// @throws RunError if the take is not whole: a number that is not finite, a list of the wrong length, an unknown prop.
  explicit Footage(const Take& take, const Tolerances& tolerances = {});

  const Take& take() const { return *take_; }
  const Tolerances& tolerances() const { return tolerances_; }
  const std::vector<FrameView>& frames() const { return frames_; }
  const CameraPath& path() const { return path_; }
  /// "blocked by left forearm": the body of a kind that hides most in a frame. @pre it hides something
  std::string BlockedBy(const FrameView& view, Blocker kind) const {
    return "blocked by " + names_[static_cast<size_t>(view.top_blocker[static_cast<size_t>(kind)])];
  }
  double FrameTime_s(size_t frame) const { return static_cast<double>(frame) / take_->id.frame_hz; }

 private:
  const Take* take_;
  Tolerances tolerances_;
  std::vector<FrameView> frames_;
  CameraPath path_;
  std::vector<std::string> names_;
};

/// Does the shot ask for hands?
bool AsksForHands(const Shot& shot);

/// Frames [begin, end) recorded while intent number `intent` runs, until the next one begins at the latest.
struct FrameRange {
  size_t begin, end;
};
FrameRange FramesOf(const Take& take, size_t intent);

/// @throws RunError naming what is not whole in a take.
void RequireWhole(const Take& take);

}  // namespace dryrig
