#pragma once

#include <memory>
#include <vector>

#include "sim/policy.h"

namespace dryrig {

/// Makers and parameter lists, one pair a policy, for the table alone. @throws InputError for an unknown key or a bad value.
std::unique_ptr<Policy> MakeTripod(const ParamValues& values);
std::vector<ParamInfo> TripodParams();
std::unique_ptr<Policy> MakeTopdown(const ParamValues& values);
std::vector<ParamInfo> TopdownParams();
std::unique_ptr<Policy> MakeFollow(const ParamValues& values);
std::vector<ParamInfo> FollowParams();
std::unique_ptr<Policy> MakePlanner(const ParamValues& values);
std::vector<ParamInfo> PlannerParams();
std::unique_ptr<Policy> MakeHorizon(const ParamValues& values);
std::vector<ParamInfo> HorizonParams();
std::unique_ptr<Policy> MakeReference(const ParamValues& values);
std::vector<ParamInfo> ReferenceParams();

}  // namespace dryrig
