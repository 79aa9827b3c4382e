#include "metrics/clearance_study.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "metrics/worst_separation.h"
#include "scenes/error.h"
#include "sim/near_pairs.h"

namespace dryrig {

namespace {

constexpr double kNone = std::numeric_limits<double>::infinity();

/// What is kept of a pair while the take goes by.
struct PairRecord {
  double least_m = kNone, bound_m = kNone, contact_mps = kNone, clamping_mps = kNone;
  size_t least_tick = 0, contact_tick = 0, clamping_tick = 0;
};

class Study {
 public:
  Study(const TakeMotion& motion, const Profile& profile)
      : motion_(motion), profile_(profile), examiner_(motion, profile), limbs_(motion.take().person.capsules.size()) {
    records_.resize(static_cast<size_t>(motion.parts()) * limbs_);
  }

  ClearanceStudy Run() {
    VisitNearPairs(motion_, profile_.watch.value,
                   [this](const TakeInstant& now, std::span<const NearPair> pairs) { See(now, pairs); });
    FindNearest();
    FindPairs();
    for (const ClearanceRule rule : kClearanceRules) {
      RuleResult result = Judge(rule);
      result.rule = rule;
      result.enforced = profile_.Enforces(rule);
      out_.rules.push_back(std::move(result));
    }
    out_.gaps = SolidGaps(motion_);
    return std::move(out_);
  }

 private:
  void See(const TakeInstant& now, std::span<const NearPair> pairs) {
    bool touch = false, by_arm = false;
    for (const NearPair& pair : pairs) {
      PairRecord& record = records_[static_cast<size_t>(pair.part) * limbs_ + static_cast<size_t>(pair.capsule)];
      record.bound_m = std::min(record.bound_m, pair.bound_m);
      const double d = pair.near.distance_m;
      if (d < record.least_m) record.least_m = d, record.least_tick = now.tick;
      const PairExaminer::Approach approach = examiner_.ApproachOf(now, pair.part, pair.capsule, pair.near);
      constexpr double kStill_mps = 0.005;  // as PairMoment::robot_approaches
      const bool comes = approach.robot_mps > kStill_mps;
      touch |= d <= 0;
      by_arm |= d <= 0 && comes;
      if (!comes) continue;
      const double closing_mps = approach.robot_mps + approach.person_mps;
      // Where no contact is accepted the rule `head` keeps the distance; a touch breaks this one too.
      const bool judged = examiner_.RegionOf(pair.capsule).transient_factor > 1 || d <= 0;
      if (judged && examiner_.LeastPermissible_mps(pair.capsule) - closing_mps < record.contact_mps) {
        double reflected_kg = 0, reduced_kg = 0;
        const double margin =
            examiner_.Permissible_mps(now, pair.part, pair.capsule, pair.near, approach.n_W, &reflected_kg, &reduced_kg) -
            closing_mps;
        if (margin < record.contact_mps) record.contact_mps = margin, record.contact_tick = now.tick;
      }
      if (d < LeastGap_m(examiner_.RegionOf(pair.capsule).name)) {
        if (const auto clamping = examiner_.ClampingOf(now, pair.part, pair.capsule, pair.near, approach)) {
          const double margin = clamping->permissible_mps - closing_mps;
          if (margin < record.clamping_mps) record.clamping_mps = margin, record.clamping_tick = now.tick;
        }
      }
    }
    out_.touches += touch;
    out_.touches_by_person += touch && !by_arm;
  }

  PairMoment MomentAt(size_t tick, int part, int capsule) const {
    TakeInstant now;
    motion_.At(tick, &now);
    return examiner_.Examine(now, part, capsule);
  }

  void FindNearest() {
    const std::vector<TakeTick>& ticks = motion_.take().ticks;
    size_t at = 0;
    for (size_t k = 0; k < ticks.size(); ++k) {
      if (ticks[k].clearance.distance_m < ticks[at].clearance.distance_m) at = k;
    }
    const Clearance& clearance = ticks[at].clearance;
    out_.nearest = MomentAt(at, clearance.arm_body - motion_.first_part(), clearance.capsule);
    out_.nearest_bound_m = out_.nearest.distance_m;
    for (const PairRecord& record : records_) out_.nearest_bound_m = std::min(out_.nearest_bound_m, record.bound_m);
    if (out_.nearest.distance_m >= profile_.watch.value) {
      // No pair was followed from tick to tick: the frames' own bounds, coarser.
      VisitFrames(motion_, [&](size_t, size_t, std::span<const double> least_m) {
        for (const double m : least_m) out_.nearest_bound_m = std::min(out_.nearest_bound_m, std::max(m, profile_.watch.value));
      });
    }
  }

  void FindPairs() {
    for (size_t pair = 0; pair < records_.size(); ++pair) {
      const PairRecord& record = records_[pair];
      if (record.least_m == kNone) continue;
      const bool judged = record.contact_mps < kNone;
      const size_t tick = judged ? record.contact_tick : record.least_tick;
      out_.pairs.push_back({MomentAt(tick, static_cast<int>(pair / limbs_), static_cast<int>(pair % limbs_)), record.least_m,
                            static_cast<double>(record.least_tick) / motion_.take().id.physics_hz, record.bound_m});
    }
    std::stable_sort(out_.pairs.begin(), out_.pairs.end(), [](const PairWorst& a, const PairWorst& b) {
      const bool a_comes = a.moment.robot_approaches() && !a.moment.no_contact,
                 b_comes = b.moment.robot_approaches() && !b.moment.no_contact;
      if (a_comes != b_comes) return a_comes;
      if (!a_comes) return a.least_m < b.least_m;
      return a.moment.contact_margin_mps() < b.moment.contact_margin_mps();
    });
  }

  /// The pair whose record is least.
  std::optional<size_t> Least(double PairRecord::*margin) const {
    std::optional<size_t> out;
    for (size_t pair = 0; pair < records_.size(); ++pair) {
      if (records_[pair].*margin < (out ? records_[*out].*margin : kNone)) out = pair;
    }
    return out;
  }

  RuleResult OfMoment(const PairMoment& moment) const {
    RuleResult out;
    out.t_s = moment.t_s;
    out.what = PairText(motion_.take(), moment);
    out.moment = moment;
    return out;
  }

  RuleResult Judge(ClearanceRule rule) {
    if (rule == ClearanceRule::kSpeed) return Speed();
    if (rule == ClearanceRule::kSeparation || rule == ClearanceRule::kHead) {
      const bool head = rule == ClearanceRule::kHead, measured = head || profile_.measured;
      // The search costs most of a study: what is only told is told of the nearest moment.
      const bool search = head || profile_.Enforces(rule);
      const auto moment = search ? WorstSeparation(motion_, examiner_, head, measured) : std::optional(out_.nearest);
      if (!moment) return {};
      RuleResult out = OfMoment(*moment);
      out.searched = search;
      out.value = moment->distance_m;
      out.limit = (measured ? moment->measured : moment->constant).total_m();
      out.margin = out.value - out.limit;
      return out;
    }
    const bool clamping = rule == ClearanceRule::kClamping;
    const auto pair = Least(clamping ? &PairRecord::clamping_mps : &PairRecord::contact_mps);
    if (!pair) return {};
    const PairRecord& record = records_[*pair];
    RuleResult out = OfMoment(MomentAt(clamping ? record.clamping_tick : record.contact_tick, static_cast<int>(*pair / limbs_),
                                       static_cast<int>(*pair % limbs_)));
    out.value = out.moment->closing_mps();
    out.limit = clamping ? out.moment->clamping->permissible_mps : out.moment->permissible_mps;
    out.margin = clamping ? record.clamping_mps : record.contact_mps;
    out.presses = clamping && out.moment->clamping->press_N > out.moment->clamping->limit_N;
    return out;
  }

  /// Of any point of an arm body: its middle's speed and its ball's turning, which is never too little.
  RuleResult Speed() {
    const Take& take = motion_.take();
    RuleResult out;
    double worst_mps = -1;
    std::vector<Eigen::Isometry3d> X_WL;
    std::vector<Solid> parts;
    TakeInstant now;
    for (size_t tick = 0; tick < take.ticks.size(); ++tick) {
      const JointVector rates = take.ticks[tick].qd.cwiseAbs();
      double most_mps = 0;
      for (int part = 0; part < motion_.parts(); ++part) most_mps = std::max(most_mps, motion_.SpanOfPart(part).dot(rates));
      if (most_mps <= worst_mps) continue;
      motion_.PartsAt(take.ticks[tick].q, &now.X_WL, &parts);
      for (int part = 0; part < motion_.parts(); ++part) {
        const double mps = motion_.MostSpeed_mps(now.X_WL, part, take.ticks[tick].qd);
        if (mps <= worst_mps) continue;
        worst_mps = mps;
        out.t_s = static_cast<double>(tick) / take.id.physics_hz;
        out.what = take.arm_bodies[static_cast<size_t>(motion_.first_part() + part)].body.name;
      }
    }
    out.value = worst_mps;
    out.limit = profile_.tool_speed.value;
    out.margin = out.limit - out.value;
    return out;
  }

  const TakeMotion& motion_;
  const Profile& profile_;
  PairExaminer examiner_;
  size_t limbs_;
  std::vector<PairRecord> records_;
  ClearanceStudy out_;
};

}  // namespace

bool ClearanceStudy::strikes(GapKind kind) const {
  return std::any_of(gaps.begin(), gaps.end(), [kind](const SolidGap& gap) { return gap.kind == kind && gap.least_m <= 0; });
}

bool ClearanceStudy::allowed() const {
  return !strikes(GapKind::kStill) && !strikes(GapKind::kZone) &&
         std::none_of(rules.begin(), rules.end(), [](const RuleResult& rule) { return rule.enforced && rule.broken(); });
}

ClearanceStudy StudyClearance(const TakeMotion& motion, const Profile& profile) {
  if (motion.take().ticks.empty() || motion.take().frames.empty() || motion.parts() == 0 || motion.take().person.capsules.empty())
    throw RunError("clearance: the take has no ticks, no moving arm or no person; film it with series kept");
  return Study(motion, profile).Run();
}

std::string PairText(const Take& take, const PairMoment& moment) {
  return take.person.capsules[static_cast<size_t>(moment.capsule)].name + " – " +
         take.arm_bodies[static_cast<size_t>(moment.arm_body)].body.name;
}

}  // namespace dryrig
