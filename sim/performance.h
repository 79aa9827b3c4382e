#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "scenes/bench.h"
#include "scenes/lesson.h"
#include "scenes/person.h"
#include "sim/body_pose.h"

namespace dryrig {

/// A sentence as spoken.
struct Sentence {
  double start_s = 0, end_s = 0;
  std::string text;
};

/// An intent on the time line: from its cue's completion to its beat's end, at least 3 s. One that would begin within 3 s of the
/// one before is put off until those are over; one that would run into the next ends there. The lesson lasts until the last one
/// has had its 3 s.
struct TimedIntent {
  double start_s = 0, end_s = 0;
  Shot shot;
  int beat = 0;
};

/// A beat on the time line: [start, end), its approach over at `ready_s`.
struct TimedBeat {
  double start_s = 0, ready_s = 0, end_s = 0;
  int beat = 0;       // index in the lesson
  std::string label;  // "point at thread"
};

/// Where a prop is by the instructor's doing. `carrier`: the side of the hand that holds it, or -1 when it lies free.
struct PropPose {
  Eigen::Isometry3d X_WP = Eigen::Isometry3d::Identity();
  int carrier = -1;
};

/// A lesson as one person performs it with one seed, or as it was recorded, whatever the seed: a pure function of time, any t,
/// any order. Before 0 and after duration_s it holds its ends. Positions are C2 in t. Two seeds differ in timing, paths, pointing error and tremor.
class Performance {
 public:
  /// @throws InputError where this person cannot perform the lesson (a target beyond reach with the torso leant).
  Performance(const Lesson& lesson, const Bench& bench, const PersonSpec& person, uint64_t seed);
  ~Performance();
  Performance(Performance&&) noexcept;
  Performance(const Performance&) = delete;
  Performance& operator=(const Performance&) = delete;

  BodyPose PoseAt(double t_s) const;
  /// One a prop of the lesson, in its order.
  std::vector<PropPose> PropsAt(double t_s) const;
  void PropsAt(double t_s, std::vector<PropPose>* out) const;  // the same into a vector kept by the caller

  double duration_s() const;
  const PersonBody& body() const;
  const std::vector<TimedBeat>& beats() const;
  const std::vector<TimedIntent>& intents() const;
  const std::vector<Sentence>& sentences() const;
  /// Of a recorded lesson: what was made up or stands where it should not, one sentence each.
  const std::vector<std::string>& notes() const;

 private:
  struct Impl;
  std::unique_ptr<const Impl> impl_;
};

}  // namespace dryrig
