#pragma once

#include <algorithm>
#include <ctime>
#include <memory>
#include <vector>

#include "sim/policy.h"

namespace dryrig::testing {

/// Hands everything on to another policy and keeps what each decision took of its thread's processor time, which other load on
/// the machine lengthens less than the clock on the wall.
class TimedPolicy : public Policy {
 public:
  explicit TimedPolicy(std::unique_ptr<Policy> timed) : timed_(std::move(timed)) {}
  bool deployable() const override { return timed_->deployable(); }
  void ReadKey(const std::vector<TimedIntent>& intents) override { timed_->ReadKey(intents); }

  const std::vector<double>& took_ms() const { return took_ms_; }
  double Mean_ms() const {
    double sum = 0;
    for (const double ms : took_ms_) sum += ms;
    return sum / static_cast<double>(took_ms_.size());
  }
  /// @pre at least one decision; share in [0, 1].
  double Quantile_ms(double share) const {
    std::vector<double> sorted = took_ms_;
    std::sort(sorted.begin(), sorted.end());
    return sorted[static_cast<size_t>(share * static_cast<double>(sorted.size() - 1))];
  }

 private:
  static double Now_ms() {
    timespec now{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    return 1e3 * static_cast<double>(now.tv_sec) + 1e-6 * static_cast<double>(now.tv_nsec);
  }
  void DoBackToOne(const Stage& stage, uint64_t seed) override { timed_->BackToOne(stage, seed); }
  Move DoDecide(const Observation& seen) override {
    const double before_ms = Now_ms();
    Move move = timed_->Decide(seen);
    took_ms_.push_back(Now_ms() - before_ms);
    return move;
  }

  std::unique_ptr<Policy> timed_;
  std::vector<double> took_ms_;
};

}  // namespace dryrig::testing
