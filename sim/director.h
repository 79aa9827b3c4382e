#pragma once

#include <array>
#include <optional>
#include <string>

#include "sim/script.h"
#include "sim/stager.h"

namespace dryrig {

/// Plays a lesson's beats one after another through a Stager and keeps the time line. Inside of sim.
class Director {
 public:
  Director(const Lesson& lesson, const Bench& bench, const PersonSpec& person, const PersonBuild& build, uint64_t seed,
           Script* out);

  void Play();

 private:
  /// What one beat did: when its approach was over, when it ends, which hands it used.
  struct Played {
    double ready_s = 0, end_s = 0;
    std::array<bool, 2> in_use{false, false};
  };

  Side SideOf(HandChoice hand) const;
  std::array<HandGoal, 2> Resting() const;  // what hands that a beat does not use do
  double Begin(double t);
  void FaceBench();
  void EndWork(double end_s);
  void OpenWork(Side side, double start_s, WorkSpan span);
  Eigen::Vector3d Ahead() const;  // the crew, or where a turned torso faces

  Played PlayBeat(const Beat& beat, double t);
  Played Address(const Beat& beat, double t);
  Played Reach(const Beat& beat, double t);
  Played Work(const Beat& beat, double t);
  Played Point(const Beat& beat, double t);
  Played HoldUp(const Beat& beat, double t);
  Played PutDown(const Beat& beat, double t);
  Played Turn(const Beat& beat, double t);
  Played Say(const Beat& beat, double t);
  Played Glance(const Beat& beat, double t);
  Played Pass(const Beat& beat, double t);
  Played StepBack(const Beat& beat, double t);
  Played Pause(const Beat& beat, double t);

  const Lesson& lesson_;
  const PersonSpec& person_;
  Stager stager_;
  RandomStream work_, speech_;
  Script* out_;
  double speech_end_s_ = 0;
  bool idle_ = true;  // nothing is under the hands that a sentence could be about
};

/// "point at thread".
std::string LabelOf(const Beat& beat);

}  // namespace dryrig
