#pragma once

#include <string>
#include <vector>

#include "policies/table.h"

namespace dryrig {

/// How policies from outside are run.
struct OutsideOptions {
  std::string program = "/proc/self/exe";  // of the host of libraries
  double patience_s =
      2;  // wall clock, a decision; ten times that to start. A watchdog alone: how long one takes changes no result
};

/// Adds the policies of a library to the table. @throws InputError where it is no policy library, was built against another
/// version (both are named), or a name is taken; RunError where it takes too long to load.
void AddPolicyLibrary(const std::string& file, const OutsideOptions& options);

/// Adds `python:FILE.py:CLASS` to the table, if it is not there. @throws InputError, as above.
void AddPythonPolicy(const std::string& name, const OutsideOptions& options);

/// Where the Python module lies: DRYRIG_PYTHON, beside the build, or installed. @throws InputError where it is not.
std::string PythonModuleFolder();

}  // namespace dryrig
