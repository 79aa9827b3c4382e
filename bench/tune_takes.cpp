#include "bench/tune_takes.h"

namespace dryrig {

PointTakes::PointTakes(std::vector<GridTake> grid, const SearchSpace& space, const FilmingOptions& filming, SceneShelf& shelf,
                       Store* store, Progress* progress)
    : grid_(std::move(grid)),
      space_(space),
      filming_(filming),
      shelf_(shelf),
      store_(store),
      progress_(progress),
      first_place_(grid_.front().place) {}

PolicyChoice PointTakes::PolicyAt(const SearchPoint& point) const {
  PolicyChoice out = grid_.front().choice.policy;
  for (size_t i = 0; i < point.size(); ++i) out.values[space_[i].name] = point[i];
  return out;
}

const std::vector<TakeScores>& PointTakes::At(const SearchPoint& point) {
  if (const auto there = known_.find(point); there != known_.end()) return there->second;
  std::vector<GridTake> grid = grid_;
  grid.front().choice.policy = PolicyAt(point);
  const std::string params = Prepare(grid.front().choice, shelf_).setup.params;
  for (size_t i = 0; i < grid.size(); ++i) {
    grid[i].choice.policy = grid.front().choice.policy;
    grid[i].id.params = params;
    grid[i].place = first_place_ + known_.size() * grid.size() + i;
  }
  const std::vector<Failure> failed = FilmMissing(grid, filming_, shelf_, store_, nullptr, progress_);
  failures_.insert(failures_.end(), failed.begin(), failed.end());
  std::vector<TakeScores> scores;
  for (const GridTake& take : grid) {
    if (failed.empty()) scores.push_back({take.id, store_->ReadScores(store_->FindTake(take.id).value())});
  }
  return known_.emplace(point, std::move(scores)).first->second;
}

}  // namespace dryrig
