#pragma once

#include <array>
#include <cstddef>
#include <functional>
#include <string>
#include <vector>

namespace dryrig {

/// One number that is searched over, between lo and hi.
struct SearchParam {
  std::string name, unit;
  double start = 0, lo = 0, hi = 1;  // lo <= start <= hi, lo < hi

  /// By ratios where all of the interval is above 0, else evenly.
  bool by_ratio() const { return lo > 0; }
  /// Where a value lies in the interval, [0, 1].
  double ShareOf(double value) const;
  /// The value there, rounded to four digits so that a person can copy it; the start itself where it rounds to the start.
  double ValueAt(double share) const;
};
using SearchSpace = std::vector<SearchParam>;

/// A value for each parameter, in the space's order.
using SearchPoint = std::vector<double>;
SearchPoint StartOf(const SearchSpace& space);
/// Fewest evaluations that a search over so many parameters can begin with.
size_t LeastEvaluations(size_t params);

/// Where a search stands.
struct SearchResult {
  SearchPoint best;
  double cost = 0;
  std::vector<std::pair<SearchPoint, double>> course;  // every point once, in the order in which they were asked for
};
using CostOf = std::function<double(const SearchPoint& point)>;

/// The least cost found with `evaluations` points: BOBYQA (Powell 2009, by NLopt) from the start, then in turn again from the
/// best so far with shorter steps and from drawn points; Nelder and Mead's simplex for one parameter. The first point is the
/// start. The same space, number and costs give the same course, so who remembers costs can go on with a search that was cut
/// off. What `cost` throws ends it. @pre evaluations >= LeastEvaluations(space.size()); costs are finite
SearchResult FindLeast(const SearchSpace& space, size_t evaluations, const CostOf& cost);

/// Two costs at once.
using CostsOf = std::function<std::array<double, 2>(const SearchPoint& point)>;
struct FrontPoint {
  SearchPoint at;
  std::array<double, 2> costs{};
};
struct SearchFront {
  std::vector<FrontPoint> front;   // none of all that were tried is as good in both and better in one; by the first cost
  std::vector<FrontPoint> course;  // every point once, in the order in which they were asked for
};
/// Trade-offs: each cost alone, then weighted Chebyshev sums between the two, `searches` of FindLeast in all, which share
/// `evaluations` and what they know. @pre searches >= 2, evaluations >= searches * LeastEvaluations(space.size())
SearchFront FindFront(const SearchSpace& space, size_t evaluations, size_t searches, const CostsOf& costs);

/// The points that no other beats, equal ones once, by the first cost.
std::vector<FrontPoint> Unbeaten(const std::vector<FrontPoint>& points);

}  // namespace dryrig
