#include "policies/table.h"

#include <fmt/format.h>

#include <array>

#include "policies/makers.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr std::array kPolicies{
    PolicyEntry{"tripod", "stands still before the bench: instructor and working area from the front", true, TripodParams,
                MakeTripod},
    PolicyEntry{"topdown", "stands still above the working area, looking straight down", true, TopdownParams, MakeTopdown},
    PolicyEntry{"follow", "keeps the hands in the middle by visual servoing, angle and distance held", true, FollowParams,
                MakeFollow},
    PolicyEntry{"planner", "reads cues and sentences, chooses a shot, moves to the best view of it", true, PlannerParams,
                MakePlanner},
    PolicyEntry{"reference", "knows what will be asked, also what comes next; moves as planner does", false, ReferenceParams,
                MakeReference},
};

}  // namespace

std::span<const PolicyEntry> Policies() {
  return kPolicies;
}

const PolicyEntry& FindPolicy(std::string_view name) {
  std::vector<std::string> known;
  for (const PolicyEntry& entry : kPolicies) {
    if (entry.name == name) return entry;
    known.emplace_back(entry.name);
  }
  throw InputError(fmt::format("no policy \"{}\"{}", name.substr(0, 64), Suggest(name, known)));
}

}  // namespace dryrig
