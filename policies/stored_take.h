#pragma once

#include "policies/choice.h"
#include "sim/store.h"

namespace dryrig {

/// What films a stored take again, from the texts that the store keeps: whatever has become of the files since. An arm is looked
/// up by its name, or read from `arm_file`, since its meshes are files. @throws InputError: no such take, an arm that is another
/// one now, inputs that do not add up to the take, a policy or parameter that this program does not know.
PreparedTake PrepareStored(const Store& store, int64_t id, const std::string& arm_file = {});

}  // namespace dryrig
