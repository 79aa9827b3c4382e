#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "bench/statistics.h"
#include "bench/tune_search.h"
#include "bench/tune_wish.h"
#include "policies/choice.h"

namespace dryrig {

inline constexpr int kTuningDraws = 4000;  // of the intervals

/// A metric before and after, over the lessons that were tuned on and those held out. Means over lessons, closest_approach the
/// least of all takes.
struct TunedMetric {
  const Metric* metric = nullptr;
  std::optional<double> tuning_start, tuning_best, held_start, held_best;
  std::optional<Interval> held_change;  // 95 %, of the mean change on the lessons held out; none where nothing was compared
};
/// Of the wished metrics first, then of those that policies are compared by.
std::vector<TunedMetric> CompareMetrics(const WishJudge& judge, const std::vector<TakeScores>& tuning_start,
                                        const std::vector<TakeScores>& tuning_best, const std::vector<TakeScores>& held_start,
                                        const std::vector<TakeScores>& held_best);

/// A setting of the parameters that is handed out, and what it was worth.
struct TunedSetting {
  PolicyChoice policy;
  SearchPoint at;
  double tuning_gain = 0;  // per cent, by the wishes
  double held_gain = 0;
  Interval held_interval{};
  bool compared = false;    // on the lessons held out: not where the search found nothing better than the start
  bool limits_hold = true;  // there
  /// Better on lessons it was not tuned on, beyond the interval, with every limit kept. On a front: better in one of the two,
  /// and not worse in the other, beyond their intervals.
  bool gained = false;
  std::vector<TunedMetric> metrics{};
};

/// One evaluation of the search.
struct TriedPoint {
  SearchPoint at;
  std::vector<double> costs;  // one, or a front's two
  bool failed = false, broken = false;
};

/// All that a search found. A front has a setting each, any other search one.
struct Tuning {
  std::string policy;
  SearchSpace space;
  std::vector<std::string> wishes, limits;  // as told to people
  std::vector<std::string> front;           // the two metrics of a trade-off; else empty
  std::vector<std::string> tuned_on, held_out;
  size_t takes_each = 0, held_takes = 0, evaluations_allowed = 0;
  std::vector<TriedPoint> course;
  std::vector<TunedSetting> settings;
  size_t failed_takes = 0;
  std::string first_failure;

  bool gained() const;
};

/// Whether something was gained where it was not looked for, in plain words.
std::string VerdictLine(const Tuning& tuning);
std::string ToText(const Tuning& tuning);
nlohmann::ordered_json ToJson(const Tuning& tuning);
/// A row an evaluation.
std::string CourseCsv(const Tuning& tuning);
/// The course of the search, or the front (SVG).
std::string TuningSvg(const Tuning& tuning);

}  // namespace dryrig
