#include "sim/performance.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "sim/recorded_play.h"
#include "sim/script.h"

namespace dryrig {

using Eigen::Isometry3d;
using Eigen::Matrix3d;
using Eigen::Vector3d;

struct Performance::Impl {
  PersonBuild build;
  PersonBody body;
  Script script;  // of a recorded lesson its time line alone
  std::optional<RecordedPlay> recorded;

  double Clamp(double t_s) const {
    if (!std::isfinite(t_s)) throw RunError(fmt::format("performance: time {} s is not a number; ask for a finite one", t_s));
    return std::clamp(t_s, 0.0, script.duration_s);
  }

  TrunkPose TrunkAt(double t) const {
    const auto torso = script.torso.At(t);
    TrunkInput in;
    in.turn = torso[0];
    in.lean = torso[1] + script.sway_lean.At(t);
    in.twist = torso[2] + script.sway_twist.At(t);
    in.roll = script.sway_roll.At(t);
    in.shift_W = {script.sway_x.At(t), script.sway_y.At(t), 0};
    in.breath_m = script.breath.At(t);
    in.step_W = {0, -script.back.At(t)[0], 0};
    const auto after = std::upper_bound(script.fidgets.begin(), script.fidgets.end(), t,
                                        [](double time, const Fidget& f) { return time < f.start_s; });
    if (after != script.fidgets.begin()) {
      const Fidget& fidget = *(after - 1);
      const double share = MinJerkBump((t - fidget.start_s) / (fidget.end_s - fidget.start_s));
      in.shift_W.x() += share * fidget.aside_m;
      in.roll -= share * fidget.aside_m / build.shoulder;
      in.twist += share * fidget.twist;
    }
    return PoseTrunk(build, in);
  }

  /// `rolled`: by how much work rolls the forearm beyond its posture.
  ArmPose ArmAt(double t, const TrunkPose& trunk, Side side, double* rolled = nullptr) const {
    const HandScript& hand = script.hands[side];
    auto reach = hand.reach.At(t);
    const auto work = std::upper_bound(hand.work.begin(), hand.work.end(), t,
                                       [](double time, const WorkSpan& span) { return time < span.start_s; });
    if (work != hand.work.begin()) {
      const WorkOffset offset = WorkAt(*(work - 1), t);
      reach.head<3>() += offset.wrist_Y;
      reach[3] += offset.roll;
      if (rolled) *rolled = offset.roll;
    }
    const Vector3d tremor(hand.tremor[0].At(t), hand.tremor[1].At(t), hand.tremor[2].At(t));
    const Vector3d wrist_W = YawToWorld(build, trunk.turn, reach.head<3>() + tremor) + trunk.step_W;
    return PoseArm(build, trunk, side, wrist_W, {reach[3], reach[4], reach[5]}, reach[6]);
  }

  size_t BeatAt(double t) const {
    const auto& beats = script.beats;
    const auto after =
        std::upper_bound(beats.begin(), beats.end(), t, [](double time, const TimedBeat& b) { return time < b.start_s; });
    return static_cast<size_t>(std::max<std::ptrdiff_t>(after - beats.begin() - 1, 0));
  }

  PropPose PropAt(double t, const PropScript& prop) const {
    const auto& carries = prop.carries;
    const auto after =
        std::upper_bound(carries.begin(), carries.end(), t, [](double time, const PropCarry& c) { return time < c.grab_s; });
    const size_t done = static_cast<size_t>(after - carries.begin());
    PropPose pose;
    const auto lie = [&](const PropRest& rest) {
      pose.X_WP.translation() = rest.p_W;
      pose.X_WP.linear() = Eigen::AngleAxisd(rest.yaw_W, Vector3d::UnitZ()).toRotationMatrix();
    };
    if (done == 0 || t >= carries[done - 1].free_s) {
      lie(prop.rests[done]);
      return pose;
    }
    const PropCarry& carry = carries[done - 1];
    const TrunkPose trunk = TrunkAt(t);
    const auto set = carry.set.At(t);
    Matrix3d R_WP = (Eigen::AngleAxisd(trunk.turn, Vector3d::UnitZ()) * Eigen::AngleAxisd(set[0], Vector3d::UnitX()) *
                     Eigen::AngleAxisd(set[1], Vector3d::UnitZ()))
                        .toRotationMatrix();
    const auto in_hand = [&](const PropCarry& c) -> Vector3d {
      double rolled = 0;
      const ArmPose arm = ArmAt(t, trunk, c.side, &rolled);
      if (rolled != 0) R_WP = Eigen::AngleAxisd(rolled, arm.R_WF.col(1)) * R_WP;  // a tool twists with the hand
      return arm.wrist + arm.R_WH * c.p_HG - R_WP * c.p_PG;
    };
    Vector3d p = in_hand(carry);
    pose.carrier = carry.side;
    // While fingers close or open the prop goes over from its place, or from the other hand, to the hand, or back: the two are a
    // hair apart then.
    if (t < carry.held_s) {
      const Vector3d from = carry.passed ? in_hand(carries[done - 2]) : prop.rests[done - 1].p_W;
      p = from + MinJerk((t - carry.grab_s) / (carry.held_s - carry.grab_s)) * (p - from);
      if (carry.passed) pose.carrier = carries[done - 2].side;
    } else if (t > carry.let_s) {
      p += MinJerk((t - carry.let_s) / (carry.free_s - carry.let_s)) * (prop.rests[done].p_W - p);
    }
    pose.X_WP.translation() = p;
    pose.X_WP.linear() = R_WP;
    return pose;
  }
};

Performance::Performance(const Lesson& lesson, const Bench& bench, const PersonSpec& person, uint64_t seed) {
  auto impl = std::make_unique<Impl>();
  if (lesson.recorded) {
    const RecordedPlay& play = impl->recorded.emplace(lesson, bench, person);
    impl->body = play.person();
    impl->script.duration_s = play.duration_s();
    impl->script.beats = play.beats();
    impl->script.intents = play.intents();
    impl->script.sentences = play.sentences();
    impl_ = std::move(impl);
    return;
  }
  impl->build = BuildPerson(person, bench);
  impl->body = MakePersonBody(impl->build);
  impl->script = WriteScript(lesson, bench, person, impl->build, seed);
  impl_ = std::move(impl);
}
Performance::~Performance() = default;
Performance::Performance(Performance&&) noexcept = default;

BodyPose Performance::PoseAt(double t_s) const {
  const double t = impl_->Clamp(t_s);
  if (impl_->recorded) return impl_->recorded->PoseAt(t);
  const Script& script = impl_->script;
  const PersonBuild& build = impl_->build;
  BodyPose pose;
  const auto set = [&](int point, const Vector3d& p) { pose.p_W[static_cast<size_t>(point)] = p; };

  const TrunkPose trunk = impl_->TrunkAt(t);
  pose.q_WT = trunk.q_WT;
  set(kPelvis, trunk.pelvis);
  set(kLumbar, trunk.lumbar);
  set(kThorax, trunk.thorax);
  set(kNeck, trunk.neck);
  PoseLegs(build, trunk, &pose);

  const HeadPose head = PoseHead(build, trunk, script.head_W.At(t));
  pose.q_WHd = head.q_WHd;
  set(kHeadLow, head.low);
  set(kHeadHigh, head.high);
  pose.gaze_W = (script.gaze_W.At(t) - head.eyes).normalized();

  for (const Side side : {kLeft, kRight}) {
    const ArmPose arm = impl_->ArmAt(t, trunk, side);
    set(OfSide(kShoulderL, side), arm.shoulder);
    set(OfSide(kElbowL, side), arm.elbow);
    set(OfSide(kWristL, side), arm.wrist);
    const auto landmarks = HandLandmarks(side, script.hands[side].fingers.At(t), build.hand);
    for (int i = 0; i < kHandLandmarks; ++i) {
      set(HandPoint(side, i), arm.wrist + arm.R_WH * landmarks[static_cast<size_t>(i)]);
    }
  }
  if (!script.beats.empty()) pose.hand_in_use = script.hand_in_use[impl_->BeatAt(t)];
  return pose;
}

void Performance::PropsAt(double t_s, std::vector<PropPose>* out) const {
  const double t = impl_->Clamp(t_s);
  if (impl_->recorded) {
    out->resize(impl_->recorded->props());
    for (size_t i = 0; i < out->size(); ++i) (*out)[i] = impl_->recorded->PropAt(t, i);
    return;
  }
  out->resize(impl_->script.props.size());
  for (size_t i = 0; i < out->size(); ++i) (*out)[i] = impl_->PropAt(t, impl_->script.props[i]);
}

std::vector<PropPose> Performance::PropsAt(double t_s) const {
  std::vector<PropPose> out;
  PropsAt(t_s, &out);
  return out;
}

double Performance::duration_s() const {
  return impl_->script.duration_s;
}
const PersonBody& Performance::body() const {
  return impl_->body;
}
const std::vector<TimedBeat>& Performance::beats() const {
  return impl_->script.beats;
}
const std::vector<TimedIntent>& Performance::intents() const {
  return impl_->script.intents;
}
const std::vector<Sentence>& Performance::sentences() const {
  return impl_->script.sentences;
}
const std::vector<std::string>& Performance::notes() const {
  static const std::vector<std::string> kNone;
  return impl_->recorded ? impl_->recorded->notes() : kNone;
}

}  // namespace dryrig
