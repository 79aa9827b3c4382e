#include "bench/tune_search.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <exception>
#include <map>
#include <nlopt.hpp>

#include "sim/rng.h"

namespace dryrig {

namespace {

constexpr double kFirstStep = 0.2, kShortStep = 0.06;  // shares of the intervals
constexpr double kNearEnough = 2e-3;                   // steps below this end a round
constexpr int kAsksAPoint = 20;                        // rounding makes points meet: so often may a round ask for what is known
constexpr size_t kIdleRounds = 6;                      // rounds in a row that found nothing new to try

/// All that is tried, and when to stop.
class Trial {
 public:
  Trial(const SearchSpace& space, size_t evaluations, const CostOf& cost) : space_(space), left_(evaluations), cost_(cost) {}

  bool done() const { return left_ == 0; }
  size_t tried() const { return out_.course.size(); }
  const SearchPoint& best() const { return out_.best; }
  SearchResult Take() { return std::move(out_); }

  double At(const SearchPoint& point, nlopt::opt* search) {
    const auto known = known_.find(point);
    if (known != known_.end()) return known->second;
    if (done()) {
      if (search != nullptr) search->force_stop();
      return out_.cost;
    }
    const double cost = cost_(point);
    --left_;
    known_[point] = cost;
    if (out_.course.empty() || cost < out_.cost) out_.best = point, out_.cost = cost;
    out_.course.emplace_back(point, cost);
    return cost;
  }

  void Round(std::vector<double> shares, double step) {
    const auto count = static_cast<unsigned>(space_.size());
    nlopt::opt search(count == 1 ? nlopt::LN_NELDERMEAD : nlopt::LN_BOBYQA, count);
    search.set_lower_bounds(0.0);
    search.set_upper_bounds(1.0);
    search.set_initial_step(step);
    search.set_xtol_abs(kNearEnough);
    search.set_maxeval(kAsksAPoint * static_cast<int>(left_ + 1));
    std::exception_ptr failed;
    auto ask = [&](const std::vector<double>& at) {
      SearchPoint point;
      for (size_t i = 0; i < at.size(); ++i) point.push_back(space_[i].ValueAt(at[i]));
      try {
        return At(point, &search);
      } catch (...) {  // NLopt would make another error of it
        failed = std::current_exception();
        search.force_stop();
        return 0.0;
      }
    };
    using Ask = decltype(ask);
    search.set_min_objective(
        [](const std::vector<double>& at, std::vector<double>&, void* of) { return (*static_cast<Ask*>(of))(at); }, &ask);
    double least = 0;
    try {
      search.optimize(shares, least);
    } catch (const nlopt::roundoff_limited&) {  // steps too short to tell apart: the round is over
    } catch (const nlopt::forced_stop&) {       // the evaluations are spent
    }
    if (failed) std::rethrow_exception(failed);
  }

 private:
  const SearchSpace& space_;
  size_t left_;
  const CostOf& cost_;
  std::map<SearchPoint, double> known_;
  SearchResult out_;
};

std::vector<double> SharesOf(const SearchSpace& space, const SearchPoint& point) {
  std::vector<double> out;
  for (size_t i = 0; i < space.size(); ++i) out.push_back(space[i].ShareOf(point[i]));
  return out;
}

/// Chebyshev's weighted distance from the best of both, each in units of its own spread; the sum breaks ties.
double Weighted(const std::array<double, 2>& costs, double weight, const std::array<double, 2>& least,
                const std::array<double, 2>& spread) {
  const double a = weight * (costs[0] - least[0]) / spread[0], b = (1 - weight) * (costs[1] - least[1]) / spread[1];
  return std::max(a, b) + 0.05 * (a + b);
}

}  // namespace

double SearchParam::ShareOf(double value) const {
  const double share = by_ratio() ? std::log(value / lo) / std::log(hi / lo) : (value - lo) / (hi - lo);
  return std::clamp(share, 0.0, 1.0);
}

double SearchParam::ValueAt(double share) const {
  const auto rounded = [](double value) { return std::strtod(fmt::format("{:.4g}", value).c_str(), nullptr); };
  const double value = rounded(by_ratio() ? lo * std::pow(hi / lo, share) : lo + share * (hi - lo));
  return value == rounded(start) ? start : std::clamp(value, lo, hi);
}

SearchPoint StartOf(const SearchSpace& space) {
  SearchPoint out;
  for (const SearchParam& param : space) out.push_back(param.start);
  return out;
}

size_t LeastEvaluations(size_t params) {
  return 2 * params + 3;  // BOBYQA's first model takes 2n + 1
}

SearchResult FindLeast(const SearchSpace& space, size_t evaluations, const CostOf& cost) {
  Trial trial(space, evaluations, cost);
  trial.At(StartOf(space), nullptr);
  RandomStream random(1, "where a search begins again");
  size_t idle = 0;
  for (size_t round = 0; !trial.done() && idle < kIdleRounds; ++round) {
    const size_t before = trial.tried();
    std::vector<double> from = SharesOf(space, round == 0 ? StartOf(space) : trial.best());
    if (round > 0 && round % 2 == 0) {
      for (double& share : from) share = random.Uniform();
    }
    trial.Round(from, round % 2 == 0 ? kFirstStep : kShortStep);
    idle = trial.tried() == before ? idle + 1 : 0;
  }
  return trial.Take();
}

std::vector<FrontPoint> Unbeaten(const std::vector<FrontPoint>& points) {
  std::vector<FrontPoint> sorted = points, out;
  std::stable_sort(sorted.begin(), sorted.end(), [](const FrontPoint& a, const FrontPoint& b) { return a.costs < b.costs; });
  for (const FrontPoint& point : sorted) {
    if (out.empty() || point.costs[1] < out.back().costs[1]) out.push_back(point);
  }
  return out;
}

SearchFront FindFront(const SearchSpace& space, size_t evaluations, size_t searches, const CostsOf& costs) {
  std::map<SearchPoint, std::array<double, 2>> known;
  SearchFront out;
  const auto at = [&](const SearchPoint& point) {
    const auto there = known.find(point);
    if (there != known.end()) return there->second;
    const std::array<double, 2> both = costs(point);
    known[point] = both;
    out.course.push_back({point, both});
    return both;
  };
  std::array<std::array<double, 2>, 2> ends;
  for (size_t i = 0; i < searches; ++i) {
    const size_t share = evaluations / searches + (i < evaluations % searches ? 1 : 0);
    if (i < 2) {
      ends[i] = at(FindLeast(space, share, [&](const SearchPoint& point) { return at(point)[i]; }).best);
      continue;
    }
    const double weight = static_cast<double>(i - 1) / static_cast<double>(searches - 1);
    const std::array<double, 2> least{ends[0][0], ends[1][1]};
    std::array<double, 2> spread{ends[1][0] - ends[0][0], ends[0][1] - ends[1][1]};
    for (double& one : spread) one = one > 0 ? one : 1;
    FindLeast(space, share, [&](const SearchPoint& point) { return Weighted(at(point), weight, least, spread); });
  }
  out.front = Unbeaten(out.course);
  return out;
}

}  // namespace dryrig
