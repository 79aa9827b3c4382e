#include "policies/table.h"

#include <fmt/format.h>

#include <algorithm>

#include "policies/makers.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

std::deque<PolicyEntry>& Table() {
  static std::deque<PolicyEntry> table{
      PolicyEntry{"tripod", "stands still before the bench: instructor and working area from the front", true, TripodParams,
                  MakeTripod},
      PolicyEntry{"topdown", "stands still above the working area, looking straight down", true, TopdownParams, MakeTopdown},
      PolicyEntry{"follow", "keeps the hands in the middle by visual servoing, angle and distance held", true, FollowParams,
                  MakeFollow},
      PolicyEntry{"planner", "reads cues and sentences, chooses a shot, moves to the best view of it", true, PlannerParams,
                  MakePlanner},
      PolicyEntry{"horizon", "films as planner does, but weighs the pictures of the coming two seconds against the camera's jerk",
                  true, HorizonParams, MakeHorizon},
      PolicyEntry{"reference", "knows what will be asked, also what comes next; moves as planner does", false, ReferenceParams,
                  MakeReference},
  };
  return table;
}

bool IsPlain(std::string_view name) {
  return !name.empty() && name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-_") == std::string_view::npos;
}

}  // namespace

std::string PlainPolicyName(std::string_view name) {
  if (!name.starts_with(kPythonPrefix)) return std::string(name);
  const size_t slash = name.rfind('/');
  return slash == std::string_view::npos ? std::string(name) : std::string(kPythonPrefix) + std::string(name.substr(slash + 1));
}

const std::deque<PolicyEntry>& Policies() {
  return Table();
}

void AddPolicy(PolicyEntry entry) {
  if (!IsPlain(entry.name) && !entry.name.starts_with(kPythonPrefix)) {
    throw InputError(fmt::format("{}: policy \"{}\": a name is of letters a-z, digits, - and _", entry.file, entry.name));
  }
  if (const PolicyEntry* there = FindPolicyIfKnown(entry.name)) {
    throw InputError(fmt::format("{}: policy {} is there already{}; give it another name", entry.file, entry.name,
                                 there->file.empty() ? "" : ", from " + there->file));
  }
  Table().push_back(std::move(entry));
}

const PolicyEntry* FindPolicyIfKnown(std::string_view name) {
  const std::string plain = PlainPolicyName(name);
  for (const PolicyEntry& entry : Table()) {
    if (entry.name == plain) return &entry;
  }
  return nullptr;
}

const PolicyEntry& FindPolicy(std::string_view name) {
  if (const PolicyEntry* entry = FindPolicyIfKnown(name)) return *entry;
  std::vector<std::string> known;
  for (const PolicyEntry& entry : Table()) known.push_back(entry.name);
  throw InputError(fmt::format("no policy \"{}\"{}", name.substr(0, 64), Suggest(name, known)));
}

bool IsDeployable(std::string_view name) {
  const PolicyEntry* entry = FindPolicyIfKnown(name);
  return entry == nullptr || entry->deployable;
}

}  // namespace dryrig
