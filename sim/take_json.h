#pragma once

#include <string>
#include <vector>

#include "sim/take.h"

namespace dryrig {

/// Texts of a take that are not series, as JSON that gives every double back bit for bit. All Read* throw InputError on damage.
std::string IdentityJson(const TakeIdentity& id);
TakeIdentity ReadIdentityJson(const std::string& json);
/// Duration, beats, intents, sentences.
std::string TimelineJson(const Take& take);
void ReadTimelineJson(const std::string& json, Take* take);
/// Camera, bodies, joints, props, and the shots that the series chosen_shot counts.
std::string StageJson(const Take& take, const std::vector<Shot>& shots);
void ReadStageJson(const std::string& json, Take* take, std::vector<Shot>* shots);

std::string StringsJson(const std::vector<std::string>& texts);
std::vector<std::string> ReadStringsJson(const std::string& json);

}  // namespace dryrig
