#include "bench/tune_space.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <set>

#include "scenes/error.h"

namespace dryrig {

namespace {

/// `NAME`, or `NAME=LO..HI`.
SearchParam ParseSearchParam(const std::string& text, const PolicyEntry& policy, const ParamValues& start) {
  const size_t equals = text.find('=');
  SearchParam out;
  out.name = text.substr(0, equals);
  std::vector<std::string> known;
  const ParamInfo* info = nullptr;
  const std::vector<ParamInfo> params = policy.params();
  for (const ParamInfo& one : params) {
    known.push_back(one.name);
    if (one.name == out.name) info = &one;
  }
  if (info == nullptr)
    throw InputError(fmt::format("parameter \"{}\": policy {} has no such parameter{}", out.name.substr(0, 64), policy.name,
                                 Suggest(out.name, known)));
  const auto set = start.find(out.name);
  out.unit = info->unit;
  out.start = set == start.end() ? info->value : set->second;
  if (equals == std::string::npos) {
    // Four times less to four times more, where that means anything.
    const bool ratio = out.start > 0 && info->lo >= 0;
    out.lo = ratio ? std::max(info->lo, out.start / 4) : info->lo;
    out.hi = ratio ? std::min(info->hi, out.start * 4) : info->hi;
  } else {
    const size_t dots = text.find("..", equals);
    const auto number = [&](size_t from, size_t to, double* into) {
      const auto parsed = std::from_chars(text.data() + from, text.data() + to, *into);
      return parsed.ec == std::errc() && parsed.ptr == text.data() + to && std::isfinite(*into);
    };
    if (dots == std::string::npos || !number(equals + 1, dots, &out.lo) || !number(dots + 2, text.size(), &out.hi))
      throw InputError(fmt::format("parameter \"{}\": expected NAME or NAME=LOW..HIGH, such as {}={}..{}", text.substr(0, 200),
                                   out.name, info->lo, info->hi));
  }
  for (const double end : {out.lo, out.hi}) {
    if (end < info->lo || end > info->hi)
      throw InputError(fmt::format("parameter {}: {} is outside [{}, {}] {}", out.name, end, info->lo, info->hi, info->unit));
  }
  if (!(out.lo < out.hi)) throw InputError(fmt::format("parameter {}: nothing lies from {} to {}", out.name, out.lo, out.hi));
  if (out.start < out.lo || out.start > out.hi)
    throw InputError(
        fmt::format("parameter {}: the search would start at {}, outside {}..{}; start elsewhere with --policy {}:{}={}",
                    out.name, out.start, out.lo, out.hi, policy.name, out.name, out.lo));
  return out;
}

}  // namespace

SearchSpace ParseSpace(const std::vector<std::string>& texts, const PolicyEntry& policy, const ParamValues& start) {
  std::vector<std::string> names = texts;
  if (texts.size() == 1 && texts.front() == "all") {
    names.clear();
    for (const ParamInfo& info : policy.params()) names.push_back(info.name);
  }
  if (names.empty())
    throw InputError(fmt::format("name parameters of {} to tune with --param; all: every one of them", policy.name));
  SearchSpace out;
  std::set<std::string> seen;
  for (const std::string& text : names) {
    out.push_back(ParseSearchParam(text, policy, start));
    if (!seen.insert(out.back().name).second)
      throw InputError(fmt::format("parameter {} is named twice; keep one", out.back().name));
  }
  return out;
}

}  // namespace dryrig
