#pragma once

// For a policy of your own, built outside this tree and loaded with --policy-library. One header, one line to register:
//
//   #include <dryrig/policy.h>
//   class Still : public dryrig::Policy { ... DoBackToOne, DoDecide ... };
//   DRYRIG_POLICIES(policies) { policies.Add<Still>("still", "stands where it begins"); }
//
// With parameters, a config as in policies/params.h goes before: policies.Add<Circle, CircleConfig>("circle", "..."), and the
// policy is made from it. The library must be built against the same headers as the program, with the same compiler's standard
// library; what differs is refused by name. The policy runs in a process of its own, one a take.

#include <fmt/format.h>

#include <functional>
#include <memory>
#include <string>
#include <type_traits>
#include <vector>

#include "dryrig/version.h"
#include "policies/params.h"
#include "sim/policy.h"

namespace dryrig {

/// Empty for a policy without parameters.
struct NoConfig {
  void Visit(auto&&) {}
};

/// What a library offers.
class PolicyRegister {
 public:
  struct Entry {
    std::string name, meaning;
    std::vector<ParamInfo> params;
    std::function<std::unique_ptr<Policy>(const ParamValues&)> make;
  };
  /// `name`: letters a-z, digits, - and _; `meaning`: half a sentence for `dryrig list policies`.
  template <class P, class Config = NoConfig>
  void Add(std::string name, std::string meaning) {
    entries_.push_back({std::move(name), std::move(meaning), DescribeParams<Config>(), [](const ParamValues& values) {
                          if constexpr (std::is_constructible_v<P, Config>)
                            return std::unique_ptr<Policy>(std::make_unique<P>(MakeConfig<Config>(values)));
                          else
                            return std::unique_ptr<Policy>(std::make_unique<P>());
                        }});
  }
  const std::vector<Entry>& entries() const { return entries_; }

 private:
  std::vector<Entry> entries_;
};

/// What both sides must share: `0.1.0 (interface 5f2a..., alignment 16, GCC 12)`.
#define DRYRIG_INTERFACE                                        \
  DRYRIG_INTERFACE_VERSION " (interface " DRYRIG_INTERFACE_HASH \
                           ", alignment " DRYRIG_TEXT(EIGEN_MAX_ALIGN_BYTES) ", GCC " DRYRIG_TEXT(__GNUC__) ")"
#define DRYRIG_TEXT(value) DRYRIG_TEXT_OF(value)
#define DRYRIG_TEXT_OF(value) #value

/// Names of the two functions of a library.
inline constexpr const char* kInterfaceFunction = "dryrig_interface";
inline constexpr const char* kPoliciesFunction = "dryrig_policies";

}  // namespace dryrig

#define DRYRIG_POLICIES(policies)                                                                    \
  extern "C" __attribute__((visibility("default"))) const char* dryrig_interface() {                 \
    return DRYRIG_INTERFACE;                                                                         \
  }                                                                                                  \
  extern "C" __attribute__((visibility("default"))) void dryrig_policies(::dryrig::PolicyRegister&); \
  void dryrig_policies(::dryrig::PolicyRegister& policies)
