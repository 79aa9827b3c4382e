#include "bench/grid.h"

#include <fmt/format.h>

#include <atomic>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <nlohmann/json.hpp>
#include <set>
#include <thread>
#include <tuple>

#include "bench/scorecard.h"

namespace dryrig {

namespace {

std::vector<std::string> OrDefault(const std::vector<std::string>& names) {
  return names.empty() ? std::vector<std::string>{""} : names;
}

RanTake RunOne(const GridTake& grid_take, size_t index, SceneShelf& shelf) {
  RanTake out;
  out.index = index;
  try {
    const PreparedTake prepared = Prepare(grid_take.choice, shelf);
    out.inputs = InputsOf(prepared.setup);
    const std::unique_ptr<Policy> policy = prepared.MakePolicy();
    out.take = RunTake(prepared.setup, *policy);
    out.scores = ToStored(ScoreTake(out.take));
  } catch (const std::exception& error) {
    out.error = error.what();
    if (out.error.empty()) out.error = "failed without a word";
  }
  return out;
}

/// Finished takes on their way from the workers to the caller.
class Finished {
 public:
  void Put(RanTake take) {
    const std::lock_guard lock(mutex_);
    takes_.push_back(std::move(take));
    some_.notify_one();
  }
  RanTake Get() {
    std::unique_lock lock(mutex_);
    some_.wait(lock, [this] { return !takes_.empty(); });
    RanTake take = std::move(takes_.front());
    takes_.pop_front();
    return take;
  }

 private:
  std::mutex mutex_;
  std::condition_variable some_;
  std::deque<RanTake> takes_;
};

}  // namespace

std::vector<GridTake> MakeGrid(const GridChoice& choice, SceneShelf& shelf) {
  std::vector<GridTake> out;
  std::set<std::tuple<std::string, std::string, std::string, uint64_t>> performed;
  for (const std::string& lesson : choice.lessons) {
    for (const std::string& arm : OrDefault(choice.arms)) {
      for (const std::string& person : OrDefault(choice.people)) {
        for (const std::string& sensing : OrDefault(choice.sensings)) {
          for (int seed = 1; seed <= choice.seeds; ++seed) {
            for (const PolicyChoice& policy : choice.policies) {
              const TakeChoice take = WithDefaults({lesson, policy, arm, choice.bench, person, choice.camera, sensing,
                                                    static_cast<uint64_t>(seed), choice.physics_hz},
                                                   shelf);
              const PreparedTake prepared = Prepare(take, shelf);
              out.push_back({take, IdentityOf(prepared.setup)});
              if (performed.emplace(take.lesson, take.bench, take.person, take.seed).second) {
                Performance(prepared.setup.lesson, prepared.setup.stage.bench, prepared.setup.person, take.seed);
              }
            }
          }
        }
      }
    }
  }
  std::set<std::string> seen;
  for (const GridTake& take : out) {
    if (!seen.insert(ToJson(take.id).dump()).second) {
      throw InputError(
          fmt::format("the grid holds a take twice: {} by {} ({}) with {}; name each lesson, policy, person and sensing once",
                      take.id.lesson, take.id.policy, take.id.params, take.id.person));
    }
  }
  return out;
}

void RunGrid(const std::vector<GridTake>& takes, const std::vector<size_t>& which, int jobs, SceneShelf& shelf,
             const std::function<void(RanTake)>& done) {
  Finished finished;
  std::atomic<size_t> next = 0;
  std::vector<std::jthread> workers;  // joined before what they use is gone
  const auto work = [&](const std::stop_token& stop) {
    while (!stop.stop_requested()) {
      const size_t i = next++;
      if (i >= which.size()) return;
      finished.Put(RunOne(takes[which[i]], which[i], shelf));
    }
  };
  const size_t count = std::min(which.size(), static_cast<size_t>(std::max(jobs, 1)));
  for (size_t i = 0; i < count; ++i) workers.emplace_back(work);
  for (size_t i = 0; i < which.size(); ++i) done(finished.Get());
}

}  // namespace dryrig
