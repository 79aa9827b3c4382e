#pragma once

#include <chrono>
#include <exception>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include "scenes/error.h"

namespace dryrig {

/// Does one job at a time on a thread of its own. None of its functions waits, but the destructor, until the job
/// sees that it shall stop. `T` is what jobs deliver.
template <class T>
class Runner {
 public:
  /// The job's side, to be used on its thread alone.
  class Desk {
   public:
    /// Tells how much is done, 0–1; false: stop now. The share begins anew for the next part of the job.
    bool GoOn(double share) {
      const std::lock_guard lock(runner_->mutex_);
      runner_->share_ = share;
      return !stop_.stop_requested();
    }
    /// A result; a job may have several, the later better.
    void Deliver(T result) {
      const std::lock_guard lock(runner_->mutex_);
      if (!stop_.stop_requested()) runner_->news_.push_back({std::move(result), nullptr, false});
    }

   private:
    friend class Runner;
    Desk(Runner* runner, std::stop_token stop) : runner_(runner), stop_(std::move(stop)) {}
    Runner* runner_;
    std::stop_token stop_;
  };
  using Job = std::function<void(Desk&)>;

  /// What came of a job: a result, or how it ended without one.
  struct News {
    std::optional<T> result;
    std::exception_ptr failure;
    bool cancelled = false;
  };
  struct State {
    std::string what;
    double share = 0;
    double elapsed_s = 0;
    std::optional<double> left_s;  // none before anything can be said
    bool stopping = false;
  };

  Runner() = default;
  Runner(const Runner&) = delete;
  Runner& operator=(const Runner&) = delete;

  /// Begins the job; one that runs is stopped first, and what it still delivers is dropped.
  void Start(std::string what, Job job) {
    next_.emplace(std::move(what), std::move(job));
    if (busy_) {
      superseded_ = true;
      thread_.request_stop();
    } else {
      Begin();
    }
  }
  /// Asks the job to stop; Poll says when it has.
  void Cancel() {
    next_.reset();
    if (busy_) thread_.request_stop();
  }
  /// None: nothing runs.
  std::optional<State> state() const {
    if (!busy_) return std::nullopt;
    const std::lock_guard lock(mutex_);
    State out{next_ ? next_->first : what_, share_, 0, std::nullopt, thread_.get_stop_token().stop_requested()};
    out.elapsed_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count();
    if (share_ > kTellingShare) out.left_s = out.elapsed_s * (1 - share_) / share_;
    return out;
  }
  /// Everything that happened since the last call, in order. Begins the next job when the last has ended.
  std::vector<News> Poll() {
    std::vector<News> out;
    bool ended = false;
    {
      const std::lock_guard lock(mutex_);
      out.swap(news_);
      ended = ended_;
    }
    if (superseded_) out.clear();
    if (!busy_ || !ended) return out;
    thread_.join();
    busy_ = false;
    superseded_ = false;
    if (next_) Begin();
    return out;
  }

 private:
  static constexpr double kTellingShare = 0.03;

  void Begin() {
    Job job = std::move(next_->second);
    what_ = std::move(next_->first);
    next_.reset();
    busy_ = true;
    ended_ = false;
    share_ = 0;
    start_ = std::chrono::steady_clock::now();
    thread_ = std::jthread([this, job = std::move(job)](const std::stop_token& stop) { Work(job, stop); });
  }
  void Work(const Job& job, const std::stop_token& stop) {
    Desk desk(this, stop);
    std::exception_ptr failure;
    try {
      job(desk);
    } catch (...) {
      failure = std::current_exception();
    }
    const std::lock_guard lock(mutex_);
    if (stop.stop_requested()) {
      news_.push_back({std::nullopt, nullptr, true});
    } else if (failure) {
      news_.push_back({std::nullopt, failure, false});
    }
    ended_ = true;
  }

  mutable std::mutex mutex_;
  std::vector<News> news_;  // the thread writes these three
  double share_ = 0;
  bool ended_ = false;

  bool busy_ = false, superseded_ = false;
  std::string what_;
  std::optional<std::pair<std::string, Job>> next_;
  std::chrono::steady_clock::time_point start_;
  std::jthread thread_;  // last, so that it is stopped and joined before the rest is gone
};

}  // namespace dryrig
