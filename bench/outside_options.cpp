#include "bench/outside_options.h"

#include <CLI/CLI.hpp>

#include "policies/choice.h"

namespace dryrig {

void OutsideChoice::AddTo(CLI::App* command) {
  command->add_option("--policy-library", libraries, "Library (.so) with policies of your own; may be repeated")
      ->allow_extra_args(false);
  command
      ->add_option("--patience", options.patience_s,
                   "Seconds of wall clock that a policy from outside may take for a decision before its take is given up")
      ->check(CLI::Range(0.01, 3600.0))
      ->capture_default_str();
}

void OutsideChoice::Load(const std::vector<std::string>& policies) const {
  for (const std::string& file : libraries) AddPolicyLibrary(file, options);
  for (const std::string& text : policies) {
    if (text.starts_with(kPythonPrefix)) AddPythonPolicy(ParsePolicyChoice(text).name, options);
  }
}

}  // namespace dryrig
