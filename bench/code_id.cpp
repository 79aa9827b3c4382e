#include "bench/code_id.h"

#include <fmt/format.h>
#include <gnu/libc-version.h>

#include "code_ids.h"
#include "policies/table.h"
#include "scenes/error.h"

namespace dryrig {

std::string CodeOf(const std::string& policy) {
  const auto with = [](std::string_view code) {
    return fmt::format("libc={} sim={} policy={} metrics={}", gnu_get_libc_version(), kSimCode, code, kMetricsCode);
  };
  for (const auto& [name, code] : kPolicyCode) {
    if (name == policy) return with(code);
  }
  if (const std::string& code = FindPolicy(policy).code; !code.empty()) return with(code);
  throw RunError(fmt::format("policy {}: the build does not know what code it is made of", FindPolicy(policy).name));
}

bool DifferInMetricsAlone(const std::string& a, const std::string& b) {
  const size_t metrics = a.find(" metrics=");
  return a != b && metrics != std::string::npos && metrics == b.find(" metrics=") && a.compare(0, metrics, b, 0, metrics) == 0;
}

}  // namespace dryrig
