#pragma once

#include <memory>
#include <string>
#include <vector>

#include "policies/outside/channel.h"
#include "sim/policy.h"

namespace dryrig {

/// A policy from outside as its process tells it.
struct OutsideInfo {
  std::string name, meaning;
  std::vector<ParamInfo> params;
};
/// Where a host's policies come from.
class PolicySource {
 public:
  virtual ~PolicySource() = default;
  virtual std::vector<OutsideInfo> List() = 0;
  /// What else they are made of, such as the interpreter's version; part of the code's hash.
  virtual std::string Runtime() { return ""; }
  virtual std::unique_ptr<Policy> Make(const std::string& name, const ParamValues& values) = 0;
};

/// Serves policies over a channel until the other side goes. Requests, each answered by `y` and a body or by `n` and why not:
/// `l` list; `m` make (name, values); `b` back to one (stage, seed); `d` decide (an observation), answered by a Move.
void ServePolicies(PolicySource& source, const Channel& channel);

/// The program's command `policy-host`: serves a library's policies on file 3. @throws InputError naming what is wrong with the
/// library, told to the other side first.
void ServeLibrary(const std::string& file);

}  // namespace dryrig
