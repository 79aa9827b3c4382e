#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "metrics/clearance_study.h"

namespace dryrig {

/// Closes everything that tells of clearance.
inline constexpr const char* kClearanceCaution =
    "Caution: this is a simulation, not a risk assessment. Its formulas follow public copies of ISO/TS 15066, ISO 13855 and\n"
    "ISO 13854, not the standards' own texts. The robot's manual, the standards in force, local codes and a qualified person\n"
    "decide whether an arm may move near a person.";

/// One line a rule, the worst moments as a table, the protective separation term by term with where each is from, then the
/// verdict.
std::string ClearanceText(const Take& take, const Profile& profile, const ClearanceStudy& study);
/// `allowed`, or `NOT ALLOWED: contact, head`.
std::string VerdictText(const ClearanceStudy& study);
nlohmann::ordered_json ClearanceJson(const Take& take, const Profile& profile, const ClearanceStudy& study);
/// Distance to the person and the closing speed over the lesson (SVG), each rule's worst moment marked.
std::string ClearanceSvg(const Take& take, const Profile& profile, const ClearanceStudy& study);

}  // namespace dryrig
