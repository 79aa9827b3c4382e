#pragma once

#include <array>
#include <optional>
#include <string>

#include "sim/reach.h"
#include "sim/script.h"

namespace dryrig {

/// Moves a person from one posture to the next and writes it into a script's tracks: the verbs that beats are made of.
/// Every verb starts at the time given (not before the last one's end) and returns when it is over.
class Stager {
 public:
  Stager(const Lesson& lesson, const Bench& bench, const PersonSpec& person, const PersonBuild& build, uint64_t seed,
         Script* script);

  /// For messages: the beat at work and the prop it is about.
  void SetContext(const Beat* beat, int number, const std::string& what);

  /// Where gaze goes meanwhile; it gets to `p_W` about half a second before the hands do, if they move to it.
  struct Look {
    Eigen::Vector3d p_W;
    bool leads_hand = false;
  };
  /// Both hands and the torso move at once (two hands that reach together arrive together: Kelso et al. 1979).
  double Move(double t_s, const std::array<HandGoal, 2>& wanted, const std::optional<Look>& look);
  /// Looks only. Returns when the head is still.
  double LookAt(double t_s, const Look& look);
  /// Gets hold of a prop and carries it from then on; first puts down what else that hand holds. The other hand goes to
  /// `other`, or rests.
  double Take(double t_s, Side side, int prop, const std::optional<HandGoal>& other = {});
  /// Where a prop is laid: bench coordinates, on a shelf or, if empty, the bench's top.
  struct Place {
    Eigen::Vector2d at_m;
    std::string on;
  };
  /// Lays what the hand holds there, or where it first lay, as it first lay, while the other hand stays or goes to `other`.
  /// Nothing held: nothing is done.
  double PutDown(double t_s, Side side, const std::optional<Place>& place, const std::optional<HandGoal>& other = {});
  /// Brings what the hand holds before the chest, where the other hand takes it over. @pre the other one is empty.
  double Pass(double t_s, Side from);
  /// The whole person from the bench, or to it again: feet or chair glide, no step is modelled. The hands go along.
  double MoveBack(double t_s, double back_m);
  /// Small unrest between two instants in which nothing else is planned: shifts of weight, glances aside and back.
  void Fidget(double from_s, double to_s);

  /// Faces `turn_rad` from the next Move on.
  void SetTurn(double turn_rad) { turn_ = turn_rad, at_shelf_ = false; }
  /// Turns so that this hand gets to the shelf that a prop lies on, or back to the bench from farther than a reach goes; -1: to
  /// the bench.
  void Face(int prop, Side side = kRight);
  /// Back to the bench, if it was a shelf that the person turned to.
  void LeaveShelf();
  double turn() const { return turn_; }

  /// At rest on the bench near its front edge, or hovering over it with what the hand holds.
  HandGoal RestGoal(Side side) const;
  HandGoal TouchGoal(Side side, int prop) const;   // on top of a prop, fingers as for gripping it
  HandGoal HoldUpGoal(Side side, int prop) const;  // a held prop before the upper chest
  /// Fingertips work on a prop; `aside` shares it with the other hand. A held tool's underside gets there.
  HandGoal WorkGoal(Side side, int prop, bool aside) const;
  HandGoal SteadyGoal(Side side, int prop) const;
  HandGoal OverBenchGoal(Side side, int prop) const;  // a held prop, low over the middle of the working place
  HandGoal BeforeBodyGoal(Side side) const;           // off the bench, before the belly
  /// The pointing finger before a prop, off by the pointing error; tries goals until one can be reached.
  HandGoal PointGoal(Side side, int prop, const HandGoal& other);

  /// Fits a motion about this hand's goal: shrunk until the arm reaches all of it, lifted until no fingertip meets the bench.
  void FitWork(Side side, WorkSpan* span) const;

  const HandGoal& goal(Side side) const { return hands_[side].goal; }
  const HandSolution& solution(Side side) const { return hands_[side].solved; }
  int held(Side side) const { return hands_[side].held; }
  int carrier(int prop) const { return props_[static_cast<size_t>(prop)].carrier; }
  void SetTilt(Side side, double tilt) { hands_[side].tilt = tilt; }
  /// A thin prop shows its face when it is held up on edge: its tilt then.
  bool IsThin(int prop) const;
  static constexpr double ShowTilt() { return -1.25; }
  Eigen::Vector3d PropInWorld(int prop) const;           // its centre now
  Eigen::Vector3d CrewPoint() const { return crew_W_; }  // where a camera crew would be
  Eigen::Vector3d BenchPoint() const { return {0, 0.25, top_z_}; }
  Eigen::Vector3d TorsoPoint(double aside = 0) const;  // ahead of the torso at eye height; aside: radians to the left of that
  double Vary(double share) { return std::clamp(1 + share * timing_.Normal(), 1 - 2.5 * share, 1 + 2.5 * share); }
  double pace() const { return pace_; }
  RandomStream& paths() { return paths_; }
  RandomStream& timing() { return timing_; }
  int FindProp(const std::string& name) const;

 private:
  struct HandState {
    HandGoal goal;
    HandSolution solved;
    int held = -1;
    double tilt = 0, yaw = 0;           // of what it holds, in the yaw frame
    std::optional<double> opens_for_m;  // for the next Move: the fingers open on the way, to close over so much
  };
  struct PropState {
    int carrier = -1;
    PropRest rest, first;
    std::string on, first_on;    // the shelf of each; empty: the bench's top
    double height = 0, top = 0;  // half of its height; of its shape over its centre
  };
  struct Grip {
    Eigen::Vector3d p_PG;
    double gap_m;
  };
  Eigen::Vector2d FreeRest(Side side) const;
  Grip GripFor(int prop, Side side) const;
  Eigen::Vector3d PropInYaw(int prop) const;
  Grip SecondGrip(int prop, Side side) const;  // for the other hand, on a prop in the air
  HandGoal PassGoal(int prop, const Eigen::Vector3d& p_PG, const Eigen::Vector3d& p_H, const FingerPose& fingers) const;
  Eigen::Matrix3d HeldRotation(const HandState& hand, double tilt) const;
  void FacePlace(const Eigen::Vector3d& p_W, const std::string& on, Side side);
  double GripPitch(double over_m, double higher_m) const;  // how far a hand falls that grips so far over a top
  double Higher_m(int prop) const;                         // what it lies on, over the bench's top
  PropCarry& CarryOf(int prop) const { return script_->props[static_cast<size_t>(prop)].carries.back(); }
  /// A hand that only rests makes room for what the other does.
  std::array<HandGoal, 2> MakeRoom(std::array<HandGoal, 2> goals) const;
  /// A Move as it will go, both hands at once.
  using Reach = MinJerkTrack<7>::Value;
  using Torso = MinJerkTrack<3>::Value;
  struct HandSweep {
    Reach from = Reach::Zero(), to = Reach::Zero(), arc = Reach::Zero();
    double early = 0, detour_m = 0;
    double start = 0, end = 1;  // shares of the move in which this hand goes
    FingerPose fingers_from, fingers_to;
    Reach At(double tau) const;  // tau: share of the whole move
  };
  struct Sweep {
    Torso torso_from, torso_to;
    std::array<HandSweep, 2> hands;
    double runs_into = 0;  // what RunsInto says of it
  };
  /// From where the body is, or from `from`.
  Sweep WayFor(const std::array<HandGoal, 2>& goals, const BodySolution& body, const Torso& torso_from,
               const BodySolution* from = nullptr) const;
  double MoveStraight(double t_s, const std::array<HandGoal, 2>& goals, const BodySolution& body, const std::optional<Look>& look,
                      const Sweep& sweep);
  static Reach ToReach(const HandSolution& solved);
  /// Changes the arcs where a hand or forearm would run into the other or into bench or shelf on the way.
  void ClearTheWay(Sweep* sweep) const;
  /// Changes the arcs in small steps, each for the better.
  void BendAside(Sweep* sweep) const;
  /// Nobody takes the same way twice: the way with its arcs changed a little, or `plain` where that would run into something.
  Sweep VariedWay(const Sweep& plain);
  /// Sum of squared depths, m², over some instants: hands nearer to each other, deeper in bench or shelf, elbows bent or
  /// stretched, upper arms turned farther than at both ends.
  double RunsInto(const Sweep& sweep) const;
  /// Greatest speed of a wrist if the move takes a second, m/s.
  static double PeakSpeed(const Sweep& sweep);
  BodySolution SolveOrThrow(const std::array<HandGoal, 2>& goals) const;
  /// As wide as what is under them lets them.
  FingerPose OpenedFingers(Side side, double gap_m, const HandGoal& closed, const HandSolution& solved) const;
  void LookBy(double from_s, double arrive_s, const Eigen::Vector3d& p_W);
  Eigen::Vector3d ToYaw(const Eigen::Vector3d& p_W) const { return WorldToYaw(build_, turn_, p_W); }
  Eigen::Vector3d ToWorld(const Eigen::Vector3d& p_Y) const { return YawToWorld(build_, turn_, p_Y); }

  const Lesson& lesson_;
  const Bench& bench_;
  const PersonSpec& person_;
  const PersonBuild& build_;
  Script* script_;
  RandomStream timing_, paths_, pointing_, fidgeting_;
  double pace_, turn_ = 0, least_lean_, rest_lift_ = 0, top_z_;
  bool at_shelf_ = false;   // turned to reach one
  double last_move_s_ = 0;  // how long the last Move took
  double next_shift_s_ = 0, next_glance_s_ = 0;
  Eigen::Vector3d crew_W_;
  std::vector<Solid> still_W_;              // bench and shelves
  std::array<double, 2> swivel_{};          // of the elbows at ease
  std::array<Eigen::Vector2d, 2> rest_at_;  // of the middle finger's tip, bench coordinates
  std::array<HandState, 2> hands_;
  std::vector<PropState> props_;
  const Beat* beat_ = nullptr;
  int beat_number_ = 0;
  std::string what_;
};

}  // namespace dryrig
