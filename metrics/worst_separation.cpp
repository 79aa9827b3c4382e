#include "metrics/worst_separation.h"

#include <algorithm>
#include <limits>
#include <numeric>

#include "sim/arm_span.h"
#include "sim/near_pairs.h"

namespace dryrig {

namespace {

constexpr double kNone = std::numeric_limits<double>::infinity();

/// What bounds the margins of a tick: how far joints go while the arm reacts and stops, and how long that takes.
struct TickBound {
  JointVector travel;
  double until_still_s = 0;
};

/// The arm while it reacts and stops, at a few of the instants that PairExaminer looks at: a bound of what that will find.
class StopPath {
 public:
  StopPath(const TakeMotion& motion, const PairExaminer& examiner, const TakeInstant& now) : motion_(motion), now_(now) {
    const TakeTick& tick = motion.take().ticks[now.tick];
    const StopPlan plan = examiner.PlanAt(now);
    const double reaction_s = examiner.profile().reaction.value;
    JointVector last = tick.q;
    const auto add = [&](const JointVector& q) {
      Instant& one = path_.emplace_back();
      motion.PartsAt(q, &one.X_WL, &one.parts);
      one.travel = (q - last).cwiseAbs();
      last = q;
    };
    for (const double share : {0.5, 1.0}) add(tick.q + share * reaction_s * tick.qd);
    const JointVector reacted = last;
    for (const double share : {1.0 / 6, 1.0 / 3, 0.5, 1.0}) add(plan.At(reacted, share * plan.time_s()));
  }

  /// The pair is nowhere nearer than this, by balls or exactly; the person stands.
  double Least_m(int part, int capsule, bool exact) const {
    const TakeMotion::Ball limb = motion_.BallOfLimb(capsule, now_.pose);
    const auto p = static_cast<size_t>(part);
    const auto distance = [&](const std::vector<Eigen::Isometry3d>& X_WL, const std::vector<Solid>& parts) {
      if (exact) return DistanceOf(parts[p], now_.limbs[static_cast<size_t>(capsule)]).distance_m;
      const TakeMotion::Ball ball = motion_.BallOfPart(part, X_WL);
      return (ball.middle_W - limb.middle_W).norm() - ball.radius_m - limb.radius_m;
    };
    double last = distance(now_.X_WL, now_.parts), least = last;
    for (const Instant& one : path_) {
      const double d = distance(one.X_WL, one.parts);
      least = std::min({least, d, 0.5 * (last + d - MostMoved_m(motion_.SpanOfPart(part), one.travel))});
      last = d;
    }
    return least;
  }

 private:
  struct Instant {
    std::vector<Eigen::Isometry3d> X_WL;
    std::vector<Solid> parts;
    JointVector travel;  // since the one before
  };
  const TakeMotion& motion_;
  const TakeInstant& now_;
  std::vector<Instant> path_;
};

}  // namespace

std::optional<PairMoment> WorstSeparation(const TakeMotion& motion, const PairExaminer& examiner, bool head, bool measured) {
  const Take& take = motion.take();
  const Profile& profile = examiner.profile();
  const size_t limbs = take.person.capsules.size();
  const auto parts = static_cast<size_t>(motion.parts());
  std::vector<int> capsules;
  for (size_t c = 0; c < limbs; ++c) {
    if (!head || examiner.RegionOf(static_cast<int>(c)).transient_factor == 1) capsules.push_back(static_cast<int>(c));
  }
  if (capsules.empty()) return std::nullopt;
  const double constants_m = profile.intrusion.value + profile.person_error.value + profile.robot_error.value;

  std::vector<TickBound> ticks(take.ticks.size());
  TakeInstant now;
  for (size_t k = 0; k < ticks.size(); ++k) {
    now.tick = k;
    const StopPlan plan = examiner.PlanAt(now);
    ticks[k].travel = profile.reaction.value * take.ticks[k].qd.cwiseAbs() + plan.Travel();
    ticks[k].until_still_s = profile.reaction.value + plan.time_s();
  }

  struct Frame {
    size_t from, to;
    double least_margin_m, human_mps;
    std::vector<double> gap_m;  // one a part
  };
  std::vector<Frame> frames;
  VisitFrames(motion, [&](size_t from, size_t to, std::span<const double> least_m) {
    double least_gap_m = kNone, until_s = 0, human_mps = profile.human_speed.value;
    std::vector<double> gaps;
    JointVector travel = JointVector::Zero(motion.arm().dof());
    for (size_t k = from; k <= to; ++k) {
      travel = travel.cwiseMax(ticks[k].travel);
      until_s = std::max(until_s, ticks[k].until_still_s);
    }
    for (size_t part = 0; part < parts; ++part) {
      double gap_m = kNone;
      for (const int c : capsules) gap_m = std::min(gap_m, least_m[part * limbs + static_cast<size_t>(c)]);
      least_gap_m = std::min(least_gap_m, gap_m - MostMoved_m(motion.SpanOfPart(static_cast<int>(part)), travel));
      gaps.push_back(gap_m);
    }
    if (measured) {
      // Mean speed over the frame, and what it can change by within.
      const double frame_s = static_cast<double>(motion.ticks_per_frame()) * motion.dt_s();
      const size_t f = from / motion.ticks_per_frame(), after = std::min(f + 1, take.frames.size() - 1);
      double straight_m = 0;
      for (const int c : capsules) {
        const PersonCapsule& limb = take.person.capsules[static_cast<size_t>(c)];
        for (const int end : {limb.a, limb.b}) {
          const auto i = static_cast<size_t>(end);
          straight_m = std::max(straight_m, (take.frames[after].person.p_W[i] - take.frames[f].person.p_W[i]).norm());
        }
      }
      human_mps = straight_m / frame_s + 0.5 * kMostPersonAcceleration_mps2 * (frame_s + motion.dt_s());
    }
    frames.push_back({from, to, least_gap_m - constants_m - human_mps * until_s, human_mps, std::move(gaps)});
  });
  std::stable_sort(frames.begin(), frames.end(),
                   [](const Frame& a, const Frame& b) { return a.least_margin_m < b.least_margin_m; });

  std::optional<PairMoment> worst;
  double worst_m = kNone;
  const auto examine = [&](int part, int capsule) {
    PairMoment moment = examiner.Examine(now, part, capsule);
    const double margin_m = moment.distance_m - (measured ? moment.measured : moment.constant).total_m();
    if (margin_m < worst_m) worst_m = margin_m, worst = std::move(moment);
  };
  for (const Frame& frame : frames) {
    if (frame.least_margin_m >= worst_m) break;
    for (size_t tick = frame.from; tick <= frame.to; ++tick) {
      const double until_s = ticks[tick].until_still_s;
      const auto part_may = [&](int part) {
        return frame.gap_m[static_cast<size_t>(part)] - MostMoved_m(motion.SpanOfPart(part), ticks[tick].travel) - constants_m -
                   frame.human_mps * until_s <
               worst_m;
      };
      bool may = false;
      for (int part = 0; part < motion.parts() && !may; ++part) may = part_may(part);
      if (!may) continue;
      motion.At(tick, &now);
      std::optional<StopPath> path;
      for (int part = 0; part < motion.parts(); ++part) {
        if (!part_may(part)) continue;
        const double travel_m = MostMoved_m(motion.SpanOfPart(part), ticks[tick].travel);
        const TakeMotion::Ball ball = motion.BallOfPart(part, now.X_WL);
        for (const int c : capsules) {
          const TakeMotion::Ball limb = motion.BallOfLimb(c, now.pose);
          const double human_mps = measured ? now.MostLimbSpeed_mps(take, c, motion.dt_s()) : profile.human_speed.value;
          const double less_m = constants_m + human_mps * until_s;
          if ((ball.middle_W - limb.middle_W).norm() - ball.radius_m - limb.radius_m - travel_m - less_m >= worst_m) continue;
          if (!path) path.emplace(motion, examiner, now);
          if (path->Least_m(part, c, false) - less_m >= worst_m) continue;
          const double least_m = path->Least_m(part, c, true);
          if (least_m - less_m >= worst_m) continue;
          if (measured) {
            const Nearest near = DistanceOf(now.parts[static_cast<size_t>(part)], now.limbs[static_cast<size_t>(c)]);
            const double person_mps = std::max(0.0, examiner.ApproachOf(now, part, c, near).person_mps);
            if (least_m - constants_m - person_mps * until_s >= worst_m) continue;
          }
          examine(part, c);
        }
      }
    }
  }
  return worst;
}

}  // namespace dryrig
