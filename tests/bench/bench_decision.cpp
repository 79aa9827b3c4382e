// What a decision of each shipped policy takes of one core. `bench_decision [LESSON ...]`; default: booklet, with its own person.
#include <fmt/format.h>

#include <string>
#include <vector>

#include "tests/metrics/shipped_takes.h"
#include "tests/policies/timed_policy.h"

int main(int argc, char** argv) {
  using namespace dryrig;
  std::vector<std::string> lessons(argv + 1, argv + argc);
  if (lessons.empty()) lessons.emplace_back("booklet");
  fmt::print("{:12} {:10} {:>9} {:>8} {:>8} {:>8} {:>8}   ms of processor time\n", "lesson", "policy", "decisions", "mean",
             "median", "p99", "most");
  for (const std::string& lesson : lessons) {
    const TakeSetup setup = testing::ShippedSetup(lesson);
    for (const PolicyEntry& entry : Policies()) {
      testing::TimedPolicy policy(entry.make({}));
      RunTake(setup, policy);
      fmt::print("{:12} {:10} {:9} {:8.3f} {:8.3f} {:8.3f} {:8.3f}\n", lesson, entry.name, policy.took_ms().size(),
                 policy.Mean_ms(), policy.Quantile_ms(0.5), policy.Quantile_ms(0.99), policy.Quantile_ms(1));
    }
  }
  return 0;
}
