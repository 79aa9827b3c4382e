#pragma once

#include <map>
#include <string>
#include <vector>

#include "bench/comparison.h"
#include "bench/filming.h"
#include "bench/tune_search.h"

namespace dryrig {

/// The same takes by every setting of a policy's parameters: common random numbers, so that settings differ in nothing else.
/// What the store holds is not filmed again, so a search that was cut off goes on where it stopped.
class PointTakes {
 public:
  /// `grid` is of one policy; its values stay but for those of `space`. All but the grid outlive this.
  PointTakes(std::vector<GridTake> grid, const SearchSpace& space, const FilmingOptions& filming, SceneShelf& shelf, Store* store,
             Progress* progress);

  /// Scores in the grid's order; empty where a take failed. Remembered.
  const std::vector<TakeScores>& At(const SearchPoint& point);
  size_t takes_each() const { return grid_.size(); }
  const std::vector<Failure>& failures() const { return failures_; }
  /// The policy with the point's values.
  PolicyChoice PolicyAt(const SearchPoint& point) const;

 private:
  std::vector<GridTake> grid_;
  const SearchSpace& space_;
  const FilmingOptions& filming_;
  SceneShelf& shelf_;
  Store* store_;
  Progress* progress_;
  size_t first_place_;
  std::map<SearchPoint, std::vector<TakeScores>> known_;
  std::vector<Failure> failures_;
};

}  // namespace dryrig
