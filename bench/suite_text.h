#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "policies/choice.h"
#include "scenes/suite.h"

namespace dryrig {

/// What a suite holds, counted: its takes, what they cross, how long they last, what it sets out to compare and to forbid.
/// @throws InputError for a suite that could not be filmed: an unknown name or metric, a person who cannot perform a lesson.
std::string TellSuite(const Suite& suite, SceneShelf& shelf);

/// The shipped suites, a row each; every take of theirs is looked up as for filming.
std::string ListSuites(bool json);

}  // namespace dryrig
