#include "metrics/tolerances.h"

#include <fmt/format.h>

#include <string>
#include <vector>

#include "scenes/error.h"

namespace dryrig {

void SetTolerance(Tolerances* tolerances, std::string_view name, double value) {
  std::vector<std::string> known;
  bool found = false;
  tolerances->Visit([&](std::string_view key, std::string_view unit, double& field, double lo, double hi, std::string_view) {
    known.emplace_back(key);
    if (key != name) return;
    if (!(value >= lo && value <= hi)) {
      throw InputError(fmt::format("tolerance {}: {} is outside [{}, {}] {}", key, value, lo, hi, unit));
    }
    field = value;
    found = true;
  });
  if (!found) throw InputError(fmt::format("no tolerance \"{}\"{}", name, Suggest(name, known)));
}

}  // namespace dryrig
