#pragma once

#include <string>

namespace dryrig {

/// Serves the class `type` of a Python file on file 3, until the other side goes. A class may have PARAMS, a dictionary of
/// name: (value, lo, hi, unit, meaning), which its constructor takes by name; back_to_one(stage, seed); it has decide(seen),
/// which returns a Move.
void ServePython(const std::string& file, const std::string& type);

}  // namespace dryrig
