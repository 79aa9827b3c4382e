#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "scenes/bench.h"
#include "scenes/lesson.h"
#include "scenes/person.h"
#include "sim/performance.h"
#include "sim/recorded_body.h"

namespace dryrig {

/// A recorded lesson played at a bench: what a Performance is made of where no beats were written. The first and the last half
/// second are eased, so that it comes out of rest and goes back to it.
class RecordedPlay {
 public:
  /// @pre lesson.recorded. @throws InputError: a prop on a shelf that the bench has not.
  RecordedPlay(const Lesson& lesson, const Bench& bench, const PersonSpec& like);

  BodyPose PoseAt(double t_s) const;
  PropPose PropAt(double t_s, size_t prop) const;
  size_t props() const { return rests_.size(); }

  double duration_s() const { return duration_s_; }
  const PersonBody& person() const { return person_; }
  const std::vector<TimedBeat>& beats() const { return beats_; }
  const std::vector<TimedIntent>& intents() const { return intents_; }
  const std::vector<Sentence>& sentences() const { return sentences_; }
  const std::vector<std::string>& notes() const { return notes_; }

 private:
  struct Rest {
    Eigen::Vector3d p_W;
    double yaw = 0;
  };
  struct Carry {
    double grab_s, held_s, let_s, free_s;  // as PropCarry
    size_t prop;
    Side side;
    FingerPose grip;
    Eigen::Vector3d p_HG;
    Eigen::Matrix3d R_HP;
    Rest before, after;
  };
  double RowAt(double t_s) const;
  std::array<FingerPose, 2> FingersAt(double t_s) const;
  void LaySpeech(const RecordedLesson& recorded);
  void LayKey(const RecordedLesson& recorded);
  void LayProps(const Lesson& lesson, const Bench& bench);
  void FindHandsInUse(const RecordedLesson& recorded);
  void TakeNotes(const RecordedLesson& recorded, const Bench& bench, const RecordedStand& stand);

  double duration_s_ = 0, length_s_ = 0, rate_hz_ = 0, first_u_ = 0;
  PersonBuild build_;
  PersonBody person_;
  std::optional<RecordedBody> body_;
  std::vector<std::array<bool, 2>> in_use_;  // one a frame played
  std::vector<TimedBeat> beats_;
  std::vector<TimedIntent> intents_;
  std::vector<Sentence> sentences_;
  std::vector<Rest> rests_;     // of each prop, before anything is carried
  std::vector<Carry> carries_;  // in order of time
  std::vector<std::string> notes_;
};

}  // namespace dryrig
