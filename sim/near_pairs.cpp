#include "sim/near_pairs.h"

#include <algorithm>
#include <limits>

#include "sim/arm_span.h"

namespace dryrig {

namespace {

constexpr size_t kNever = std::numeric_limits<size_t>::max();

/// Greatest straight way of a capsule's ends between two poses.
double LimbStraight_m(const PersonCapsule& limb, const BodyPose& from, const BodyPose& to) {
  const auto a = static_cast<size_t>(limb.a), b = static_cast<size_t>(limb.b);
  return std::max((to.p_W[a] - from.p_W[a]).norm(), (to.p_W[b] - from.p_W[b]).norm());
}

/// Balls' gaps of all pairs, by part, then capsule.
void GapsAt(const TakeMotion& motion, const std::vector<Eigen::Isometry3d>& X_WL, const BodyPose& pose,
            std::vector<double>* gaps) {
  std::vector<TakeMotion::Ball> limbs;
  for (size_t c = 0; c < motion.take().person.capsules.size(); ++c) limbs.push_back(motion.BallOfLimb(static_cast<int>(c), pose));
  gaps->clear();
  for (int part = 0; part < motion.parts(); ++part) {
    const TakeMotion::Ball ball = motion.BallOfPart(part, X_WL);
    for (const TakeMotion::Ball& limb : limbs)
      gaps->push_back((ball.middle_W - limb.middle_W).norm() - ball.radius_m - limb.radius_m);
  }
}

/// Walks through the frames in which a pair may come near.
class Scan {
 public:
  using Visit = std::function<void(const TakeInstant&, std::span<const NearPair>)>;
  Scan(const TakeMotion& motion, double watch_m, const Visit& visit)
      : motion_(motion), watch_m_(watch_m), visit_(visit), limbs_(motion.take().person.capsules.size()) {
    const size_t pairs = static_cast<size_t>(motion.parts()) * limbs_;
    last_m_.resize(pairs), last_tick_.assign(pairs, kNever);
  }

  /// One frame's time, ticks from + 1 to `to`; the take's first tick too.
  void Frame(size_t from, size_t to, std::span<const double> least_m) {
    active_.clear();
    for (size_t pair = 0; pair < least_m.size(); ++pair) {
      if (least_m[pair] < watch_m_) active_.push_back(pair);
    }
    if (active_.empty()) return;
    const bool fresh = std::any_of(active_.begin(), active_.end(), [&](size_t pair) { return last_tick_[pair] != from; });
    if (from == 0 || fresh) {
      motion_.At(from, &now_);
      Measure(from, from == 0);
    }
    for (size_t tick = from + 1; tick <= to; ++tick) {
      motion_.At(tick, &now_);
      Measure(tick, true);
    }
  }

 private:
  void Measure(size_t tick, bool tell) {
    const std::vector<PersonCapsule>& capsules = motion_.take().person.capsules;
    const std::vector<double> moved_m =
        tick == 0 ? std::vector<double>(static_cast<size_t>(motion_.parts()), 0.0) : PartsMoved_m(motion_, tick - 1, tick);
    limb_balls_.clear();
    for (size_t c = 0; c < limbs_; ++c) limb_balls_.push_back(motion_.BallOfLimb(static_cast<int>(c), now_.pose));
    found_.clear();
    const double beyond_m = BeyondStraight_m(motion_.dt_s());
    for (const size_t pair : active_) {
      NearPair found{static_cast<int>(pair / limbs_), static_cast<int>(pair % limbs_), {}, 0};
      const auto part = static_cast<size_t>(found.part), capsule = static_cast<size_t>(found.capsule);
      const TakeMotion::Ball ball = motion_.BallOfPart(found.part, now_.X_WL);
      const TakeMotion::Ball& limb = limb_balls_[capsule];
      double now_m = (ball.middle_W - limb.middle_W).norm() - ball.radius_m - limb.radius_m;
      const bool measured = now_m < watch_m_;
      if (measured) {
        found.near = DistanceOf(now_.parts[part], now_.limbs[capsule]);
        now_m = found.near.distance_m;
      }
      found.bound_m = now_m;
      if (tick > 0 && last_tick_[pair] == tick - 1) {
        const double moved = moved_m[part] + LimbStraight_m(capsules[capsule], now_.pose_before, now_.pose) + beyond_m;
        found.bound_m = std::min({now_m, last_m_[pair], 0.5 * (now_m + last_m_[pair] - moved)});
      }
      last_m_[pair] = now_m, last_tick_[pair] = tick;
      if (measured && now_m < watch_m_) found_.push_back(found);
    }
    if (tell && !found_.empty()) visit_(now_, found_);
  }

  const TakeMotion& motion_;
  double watch_m_;
  const Visit& visit_;
  size_t limbs_;
  std::vector<double> last_m_;
  std::vector<size_t> last_tick_, active_;
  std::vector<TakeMotion::Ball> limb_balls_;
  std::vector<NearPair> found_;
  TakeInstant now_;
};

}  // namespace

std::vector<double> PartsMoved_m(const TakeMotion& motion, size_t from, size_t to) {
  const std::vector<TakeTick>& ticks = motion.take().ticks;
  JointVector travel = JointVector::Zero(motion.arm().dof());
  for (size_t k = from; k < to; ++k) travel += (ticks[k + 1].q - ticks[k].q).cwiseAbs();
  std::vector<double> out;
  for (int part = 0; part < motion.parts(); ++part) out.push_back(MostMoved_m(motion.SpanOfPart(part), travel));
  return out;
}

void VisitFrames(const TakeMotion& motion, const std::function<void(size_t, size_t, std::span<const double>)>& visit) {
  const Take& take = motion.take();
  const std::vector<PersonCapsule>& capsules = take.person.capsules;
  if (take.ticks.empty() || take.frames.empty() || capsules.empty()) return;
  const size_t step = motion.ticks_per_frame(), end = take.ticks.size() - 1;
  TakeInstant last;
  motion.At(end, &last);
  std::vector<double> gaps, gaps_after, straight_m(capsules.size());
  GapsAt(motion, take.frames[0].X_WL, take.frames[0].person, &gaps);
  for (size_t f = 0; f < take.frames.size(); ++f) {
    const size_t from = f * step, to = std::min(from + step, end);
    const bool more = f + 1 < take.frames.size();
    const BodyPose &pose = take.frames[f].person, &after = more ? take.frames[f + 1].person : last.pose;
    GapsAt(motion, more ? take.frames[f + 1].X_WL : last.X_WL, after, &gaps_after);
    const double beyond_m = BeyondStraight_m(static_cast<double>(to - from) * motion.dt_s());
    const std::vector<double> moved_m = PartsMoved_m(motion, from, to);
    for (size_t c = 0; c < capsules.size(); ++c) straight_m[c] = LimbStraight_m(capsules[c], pose, after) + beyond_m;
    for (size_t pair = 0; pair < gaps.size(); ++pair) {
      gaps[pair] = 0.5 * (gaps[pair] + gaps_after[pair] - moved_m[pair / capsules.size()] - straight_m[pair % capsules.size()]);
    }
    visit(from, to, gaps);
    gaps.swap(gaps_after);
  }
}

void VisitNearPairs(const TakeMotion& motion, double watch_m,
                    const std::function<void(const TakeInstant&, std::span<const NearPair>)>& visit) {
  Scan scan(motion, watch_m, visit);
  VisitFrames(motion, [&](size_t from, size_t to, std::span<const double> least_m) { scan.Frame(from, to, least_m); });
}

}  // namespace dryrig
