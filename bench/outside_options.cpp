#include "bench/outside_options.h"

#include "policies/choice.h"

namespace dryrig {

void OutsideChoice::AddTo(const Command& command) {
  command.Add("--policy-library", libraries, "Library (.so) with policies of your own; may be repeated");
  command
      .Add("--patience", options.patience_s,
           "Seconds of wall clock that a policy from outside may take for a decision before its take is given up")
      .Range(0.01, 3600.0)
      .ShowDefault();
}

void OutsideChoice::Load(const std::vector<std::string>& policies) const {
  for (const std::string& file : libraries) AddPolicyLibrary(file, options);
  LoadPython(policies);
}

void OutsideChoice::LoadPython(const std::vector<std::string>& policies) const {
  for (const std::string& text : policies) {
    if (text.starts_with(kPythonPrefix)) AddPythonPolicy(ParsePolicyChoice(text).name, options);
  }
}

}  // namespace dryrig
