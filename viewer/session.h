#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "viewer/opening.h"
#include "viewer/transport.h"

namespace dryrig {

/// Two takes can be open, shown in step.
inline constexpr int kFirst = 0, kSecond = 1;

struct Slot {
  std::shared_ptr<const FilmedTake> filmed;  // null: nothing is open
  PolicyChoice wish;                         // as set by hand: a policy and every one of its parameters
};

/// Something that went wrong, for people.
struct Problem {
  std::string doing;    // "Opening lesson.yaml"
  std::string message;  // as the readers have it: file:line:column first where there is one
  bool bad_input = true;
};

/// What is open, what is being filmed, where the cursor stands. Knows no window. Nothing here waits for a take.
class Session {
 public:
  /// Opens a lesson, a take, a results folder or a file of parameters; the last sets the first slot's. `policy` is for lessons,
  /// `captions` for recordings. What is open stays until the new one is there. Opening into the first slot closes the second.
  void Open(const std::string& what, int slot = kFirst, const PolicyChoice& policy = {}, const std::string& captions = {});
  /// Opens a take of `list()` and closes the list.
  void OpenListed(size_t index, int slot = kFirst);
  void CloseList() { list_.reset(); }
  /// Films what the first slot shows with another policy into the second; waits for the first where that is still to come.
  void Compare(const PolicyChoice& policy);
  /// Keeps the first slot's take as the second, to tune against.
  void KeepAsSecond();
  void CloseSecond();

  /// The parameters on the panel.
  void SetPolicy(int slot, const std::string& name);
  void SetParam(int slot, const std::string& name, double value);  // held inside its range
  void ResetParams(int slot);                                      // to the policy's defaults
  /// The panel differs from what was filmed.
  bool Changed(int slot) const;
  /// The wish without the parameters that are at their defaults.
  PolicyChoice WishedPolicy(int slot) const;

  /// Back to one, and films again with the panel's parameters in the background. The cursor stays at the moment looked at.
  void Rerun(int slot);
  void Cancel();
  bool busy() const { return runners_[kFirst].state().has_value() || runners_[kSecond].state().has_value(); }
  std::optional<OpenRunner::State> job(int slot) const { return runners_[static_cast<size_t>(slot)].state(); }

  /// Takes in what the background has done. True: something changed.
  bool Poll();

  const Slot& slot(int index) const { return slots_[static_cast<size_t>(index)]; }
  const FilmedTake* filmed(int index) const { return slot(index).filmed.get(); }
  bool comparing() const { return slots_[kSecond].filmed != nullptr; }
  const std::optional<TakeList>& list() const { return list_; }
  const std::vector<Problem>& problems() const { return problems_; }
  void Report(Problem problem) { problems_.push_back(std::move(problem)); }
  void DismissProblems() { problems_.clear(); }
  /// What was last opened with success, as it was named.
  const std::string& opened() const { return opened_; }

  const Reel& reel() const { return reel_; }
  Transport transport;

 private:
  void Show(int slot, std::shared_ptr<const FilmedTake> filmed);
  void StartFilming(int slot, std::shared_ptr<const Recipe> recipe, bool preview_first);
  void OpenParams(const std::string& file);
  void MakeReel();

  std::array<Slot, 2> slots_;
  std::array<std::string, 2> doing_, opening_;
  std::array<PolicyChoice, 2> wish_at_start_;  // of the job that runs
  std::optional<PolicyChoice> compare_next_;
  std::optional<TakeList> list_;
  std::vector<Problem> problems_;
  std::string opened_;
  Reel reel_;
  std::array<OpenRunner, 2> runners_;  // last: their jobs end before the rest is gone
};

/// A policy's parameters, all of them: defaults, and over them `values`.
ParamValues FullParams(const PolicyEntry& policy, const ParamValues& values);

}  // namespace dryrig
