#include "viewer/session.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <exception>
#include <utility>

#include "scenes/error.h"
#include "viewer/policy_file.h"

namespace dryrig {

namespace {

Slot SlotOf(std::shared_ptr<const FilmedTake> filmed) {
  Slot slot{std::move(filmed), {}};
  if (slot.filmed->recipe) {
    const PolicyChoice& policy = slot.filmed->recipe->policy;
    slot.wish = {policy.name, FullParams(FindPolicy(policy.name), policy.values)};
  }
  return slot;
}

bool Same(const PolicyChoice& a, const PolicyChoice& b) {
  return a.name == b.name && a.values == b.values;
}

Problem ProblemOf(const std::string& doing, const std::exception_ptr& failure) {
  try {
    std::rethrow_exception(failure);
  } catch (const InputError& error) {
    return {doing, error.what(), true};
  } catch (const std::bad_alloc&) {
    return {doing, "out of memory", false};
  } catch (const std::exception& error) {
    return {doing, error.what(), false};
  }
}

}  // namespace

ParamValues FullParams(const PolicyEntry& policy, const ParamValues& values) {
  ParamValues all;
  for (const ParamInfo& info : policy.params()) all[info.name] = info.value;
  for (const auto& [key, value] : values) all[key] = value;
  return all;
}

void Session::Open(const std::string& what, int slot, const PolicyChoice& policy, const std::string& captions) {
  if (std::filesystem::path(what).extension() == ".policy") return OpenParams(what);
  TakeChoice how;
  how.policy = policy;
  how.captions = captions;
  const auto index = static_cast<size_t>(slot);
  doing_[index] = "Opening " + what;
  opening_[index] = what;
  wish_at_start_[index] = slots_[index].wish;
  if (slot == kFirst) compare_next_.reset();
  const std::string name = std::filesystem::path(what).filename().string();
  runners_[index].Start("Opening " + (name.empty() ? what : name),
                        [what, how](OpenRunner::Desk& desk) { OpenWhat(what, how, desk); });
}

void Session::OpenListed(size_t index, int slot) {
  const StoredTake take = list_->takes.at(index);
  list_.reset();
  Open(fmt::format("{}:{}", take.db.string(), take.id), slot);
}

void Session::OpenParams(const std::string& file) {
  try {
    const PolicyChoice read = ReadPolicyFile(file);
    slots_[kFirst].wish = {read.name, FullParams(FindPolicy(read.name), read.values)};
  } catch (const InputError& error) {
    Report({"Opening " + file, error.what(), true});
  }
}

void Session::Compare(const PolicyChoice& policy) {
  try {
    FindPolicy(policy.name).make(policy.values);
  } catch (const InputError& error) {
    return Report({"Comparing with " + policy.name, error.what(), true});
  }
  const FilmedTake* first = filmed(kFirst);
  if (first == nullptr || !opening_[kFirst].empty()) {
    compare_next_ = policy;
    return;
  }
  if (!first->recipe) return Report({"Comparing with " + policy.name, first->why_not, true});
  auto recipe = std::make_shared<Recipe>(*first->recipe);
  recipe->policy = policy;
  StartFilming(kSecond, std::move(recipe), true);
}

void Session::KeepAsSecond() {
  if (filmed(kFirst) == nullptr || filmed(kFirst)->preview()) return;
  runners_[kSecond].Cancel();
  slots_[kSecond] = slots_[kFirst];
  MakeReel();
}

void Session::CloseSecond() {
  runners_[kSecond].Cancel();
  slots_[kSecond] = {};
  compare_next_.reset();
  MakeReel();
}

void Session::SetPolicy(int slot, const std::string& name) {
  slots_[static_cast<size_t>(slot)].wish = {name, FullParams(FindPolicy(name), {})};
}

void Session::SetParam(int slot, const std::string& name, double value) {
  PolicyChoice& wish = slots_[static_cast<size_t>(slot)].wish;
  for (const ParamInfo& info : FindPolicy(wish.name).params()) {
    if (info.name == name && std::isfinite(value)) wish.values[name] = std::clamp(value, info.lo, info.hi);
  }
}

void Session::ResetParams(int slot) {
  SetPolicy(slot, slots_[static_cast<size_t>(slot)].wish.name);
}

bool Session::Changed(int slot) const {
  const Slot& now = this->slot(slot);
  if (!now.filmed || !now.filmed->recipe) return false;
  const PolicyChoice& was = now.filmed->recipe->policy;
  return now.wish.name != was.name || now.wish.values != FullParams(FindPolicy(was.name), was.values);
}

PolicyChoice Session::WishedPolicy(int slot) const {
  PolicyChoice out = this->slot(slot).wish;
  if (out.name.empty()) return out;
  for (const ParamInfo& info : FindPolicy(out.name).params()) {
    const auto at = out.values.find(info.name);
    if (at != out.values.end() && at->second == info.value) out.values.erase(at);
  }
  return out;
}

void Session::StartFilming(int slot, std::shared_ptr<const Recipe> recipe, bool preview_first) {
  const auto index = static_cast<size_t>(slot);
  doing_[index] = fmt::format("Filming {} by {}", recipe->setup.lesson.name, recipe->policy.name);
  opening_[index].clear();
  wish_at_start_[index] = slots_[index].wish;
  runners_[index].Start(doing_[index], [recipe = std::move(recipe), preview_first](OpenRunner::Desk& desk) {
    FilmAndDeliver(recipe, preview_first, desk);
  });
}

void Session::Rerun(int slot) {
  const FilmedTake* now = filmed(slot);
  if (now == nullptr) return;
  if (!now->recipe) return Report({"Filming again", now->why_not, true});
  auto recipe = std::make_shared<Recipe>(*now->recipe);
  recipe->policy = WishedPolicy(slot);
  transport.speed = 0;
  StartFilming(slot, std::move(recipe), false);
}

void Session::Cancel() {
  compare_next_.reset();
  for (OpenRunner& runner : runners_) runner.Cancel();
}

bool Session::Poll() {
  bool changed = false;
  for (const int index : {kFirst, kSecond}) {
    const auto i = static_cast<size_t>(index);
    for (OpenRunner::News& news : runners_[i].Poll()) {
      changed = true;
      if (news.failure) {
        Report(ProblemOf(doing_[i], news.failure));
        opening_[i].clear();
      } else if (news.cancelled) {
        opening_[i].clear();
      } else if (std::holds_alternative<TakeList>(*news.result)) {
        list_ = std::get<TakeList>(std::move(*news.result));
        opened_ = opening_[i];
        opening_[i].clear();
      } else {
        Show(index, std::get<std::shared_ptr<const FilmedTake>>(std::move(*news.result)));
      }
    }
  }
  return changed;
}

void Session::Show(int index, std::shared_ptr<const FilmedTake> filmed) {
  const auto i = static_cast<size_t>(index);
  if (!opening_[i].empty()) {
    opened_ = opening_[i];
    opening_[i].clear();
    if (index == kFirst) {
      runners_[kSecond].Cancel();
      slots_[kSecond] = {};
    }
  }
  Slot shown = SlotOf(std::move(filmed));
  const bool moved = !Same(slots_[i].wish, wish_at_start_[i]);
  wish_at_start_[i] = shown.wish;
  if (moved) shown.wish = slots_[i].wish;  // sliders moved while the take was on its way stay as they were set
  slots_[i] = std::move(shown);
  MakeReel();
  if (index == kFirst && compare_next_) {
    const PolicyChoice policy = *std::exchange(compare_next_, std::nullopt);
    Compare(policy);
  }
}

void Session::MakeReel() {
  const FilmedTake* first = filmed(kFirst);
  if (first == nullptr) return;
  reel_.frame_hz = first->take.id.frame_hz;
  reel_.marks_s = BeatStarts_s(first->take);
  reel_.length_s = 0;
  for (const Slot& slot : slots_) {
    if (!slot.filmed) continue;
    reel_.length_s = std::max(reel_.length_s, slot.filmed->length_s());
    if (!slot.filmed->preview()) continue;
    const Take& take = slot.filmed->take;
    for (const TimedBeat& beat : take.beats) reel_.length_s = std::max(reel_.length_s, beat.end_s);
    for (const TimedIntent& intent : take.intents) reel_.length_s = std::max(reel_.length_s, intent.end_s);
  }
  transport = Scrub(transport, transport.t_s, reel_);
}

}  // namespace dryrig
