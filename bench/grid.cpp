#include "bench/grid.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <charconv>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <nlohmann/json.hpp>
#include <set>
#include <thread>
#include <tuple>

#include "bench/scorecard.h"
#include "bench/sensitivity.h"

namespace dryrig {

namespace {

std::vector<std::string> OrDefault(const std::vector<std::string>& names) {
  return names.empty() ? std::vector<std::string>{""} : names;
}

RanTake RunOne(const GridTake& grid_take, size_t index, SceneShelf& shelf, const std::vector<SuiteVariant>& variants) {
  RanTake out;
  out.index = index;
  try {
    const PreparedTake prepared = Prepare(grid_take.choice, shelf);
    out.inputs = InputsOf(prepared.setup);
    const std::unique_ptr<Policy> policy = prepared.MakePolicy();
    out.take = RunTake(prepared.setup, *policy);
    out.scores = ToStored(ScoreTake(out.take));
    if (prepared.policy->deployable) out.variants = ScoreVariants(&out.take, variants);
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

/// What makes two takes the same.
std::string Key(const GridTake& take) {
  return ToJson(take.id).dump();
}

void RequireDifferent(const std::vector<GridTake>& takes) {
  std::set<std::string> seen;
  for (const GridTake& take : takes) {
    if (seen.insert(Key(take)).second) continue;
    throw InputError(
        fmt::format("the grid holds a take twice: {} by {} ({}) with {}; name each lesson, policy, person and sensing once",
                    take.id.lesson, take.id.policy, take.id.params, take.id.person));
  }
}

/// The whole grid, rules aside.
std::vector<GridTake> Cross(const Suite& suite, SceneShelf& shelf) {
  std::vector<GridTake> out;
  TakeChoice take;
  take.physics_hz = suite.physics_hz;
  const auto each = [](const std::vector<std::string>& names, std::string* into, auto&& then) {
    for (const std::string& name : OrDefault(names)) *into = name, then();
  };
  const auto add = [&] {
    for (const uint64_t seed : suite.seeds) {
      take.seed = seed;
      for (const std::string& policy : suite.policies) {
        take.policy = ParsePolicyChoice(policy);
        const TakeChoice whole = WithDefaults(take, shelf);
        out.push_back({whole, IdentityOf(Prepare(whole, shelf).setup), policy});
      }
    }
  };
  each(suite.lessons, &take.lesson, [&] {
    each(suite.arms, &take.arm, [&] {
      each(suite.benches, &take.bench, [&] {
        each(suite.cameras, &take.camera,
             [&] { each(suite.people, &take.person, [&] { each(suite.sensings, &take.sensing, add); }); });
      });
    });
  });
  return out;
}

bool Names(const SuiteRule& rule, const GridTake& take) {
  const auto same = [](const std::optional<std::string>& wanted, const std::string& as_written, const std::string& name) {
    return !wanted || *wanted == as_written || *wanted == name;
  };
  const TakeChoice& c = take.choice;
  return same(rule.lesson, c.lesson, take.id.lesson) && same(rule.policy, take.policy, take.id.policy) &&
         same(rule.arm, c.arm, take.id.arm) && same(rule.bench, c.bench, take.id.bench) &&
         same(rule.camera, c.camera, take.id.camera) && same(rule.person, c.person, take.id.person) &&
         same(rule.sensing, c.sensing, take.id.sensing) && (!rule.seed || *rule.seed == c.seed);
}

/// The suite with the rule's parts in place of its own.
Suite Narrowed(Suite suite, const SuiteRule& rule) {
  const auto put = [](const std::optional<std::string>& part, std::vector<std::string>* into) {
    if (part) *into = {*part};
  };
  put(rule.lesson, &suite.lessons);
  put(rule.policy, &suite.policies);
  put(rule.arm, &suite.arms);
  put(rule.bench, &suite.benches);
  put(rule.camera, &suite.cameras);
  put(rule.person, &suite.people);
  put(rule.sensing, &suite.sensings);
  if (rule.seed) suite.seeds = {*rule.seed};
  return suite;
}

std::string ToText(const SuiteRule& rule) {
  std::string out;
  const auto add = [&out](const char* key, const std::optional<std::string>& value) {
    if (value) out += fmt::format("{}{}: {}", out.empty() ? "{" : ", ", key, *value);
  };
  add("lesson", rule.lesson);
  add("policy", rule.policy);
  add("arm", rule.arm);
  add("bench", rule.bench);
  add("camera", rule.camera);
  add("person", rule.person);
  add("sensing", rule.sensing);
  if (rule.seed) out += fmt::format("{}seed: {}", out.empty() ? "{" : ", ", *rule.seed);
  return out + "}";
}

}  // namespace

Suite SuiteOf(const std::vector<std::string>& lessons, const std::vector<std::string>& policies) {
  Suite suite;
  suite.lessons = lessons;
  suite.policies = policies;
  return suite;
}

Shard ParseShard(const std::string& text) {
  Shard shard;
  const size_t slash = text.find('/');
  const auto whole = [&](size_t from, size_t to, int* out) {
    const auto parsed = std::from_chars(text.data() + from, text.data() + to, *out);
    return parsed.ec == std::errc() && parsed.ptr == text.data() + to;
  };
  if (slash == std::string::npos || !whole(0, slash, &shard.k) || !whole(slash + 1, text.size(), &shard.n) || shard.k < 1 ||
      shard.n < shard.k) {
    throw InputError(fmt::format("shard \"{}\": expected k/n with k from 1 to n, such as 2/4", text));
  }
  return shard;
}

std::vector<GridTake> TakesOf(const Shard& shard, std::vector<GridTake> grid) {
  std::erase_if(grid,
                [&](const GridTake& take) { return static_cast<int>(take.place % static_cast<size_t>(shard.n)) != shard.k - 1; });
  return grid;
}

std::vector<GridTake> MakeGrid(const Suite& suite, SceneShelf& shelf) {
  std::vector<GridTake> out = Cross(suite, shelf);
  RequireDifferent(out);
  for (const SuiteRule& rule : suite.exclude) {
    const size_t before = out.size();
    std::erase_if(out, [&](const GridTake& take) { return Names(rule, take); });
    if (out.size() == before) throw InputError(fmt::format("suite {}: exclude {} names no take", suite.name, ToText(rule)));
  }
  for (const SuiteRule& rule : suite.include) {
    for (GridTake& take : Cross(Narrowed(suite, rule), shelf)) {
      const bool there = std::any_of(out.begin(), out.end(), [&](const GridTake& other) { return Key(other) == Key(take); });
      if (!there) out.push_back(std::move(take));
    }
  }
  if (out.empty()) throw InputError(fmt::format("suite {} excludes all its takes", suite.name));
  for (size_t i = 0; i < out.size(); ++i) out[i].place = i;
  for (const SuiteRule& rule : suite.keep_series) {
    const auto keep = [&](GridTake& take) { return Names(rule, take) && (take.keep_series = true); };
    if (std::count_if(out.begin(), out.end(), keep) == 0)
      throw InputError(fmt::format("suite {}: keep_series {} names no take", suite.name, ToText(rule)));
  }
  std::set<std::tuple<std::string, std::string, std::string, uint64_t>> performed;
  for (const GridTake& take : out) {
    const TakeChoice& c = take.choice;
    if (!performed.emplace(c.lesson, c.bench, c.person, c.seed).second) continue;
    Performance(shelf.GetLesson(c.lesson), shelf.GetBench(c.bench), shelf.GetPerson(c.person), c.seed);
  }
  return out;
}

void RunGrid(const std::vector<GridTake>& takes, const std::vector<size_t>& which, int jobs, SceneShelf& shelf,
             const std::function<void(RanTake)>& done, const std::vector<SuiteVariant>& variants) {
  Finished finished;
  std::atomic<size_t> next = 0;
  std::vector<std::jthread> workers;  // joined before what they use is gone
  const auto work = [&](const std::stop_token& stop) {
    while (!stop.stop_requested()) {
      const size_t i = next++;
      if (i >= which.size()) return;
      finished.Put(RunOne(takes[which[i]], which[i], shelf, variants));
    }
  };
  const size_t count = std::min(which.size(), static_cast<size_t>(std::max(jobs, 1)));
  for (size_t i = 0; i < count; ++i) workers.emplace_back(work);
  for (size_t i = 0; i < which.size(); ++i) done(finished.Get());
}

}  // namespace dryrig
