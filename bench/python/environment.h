#pragma once

#include <memory>
#include <optional>
#include <string>
#include <tuple>

#include "bench/python/convert.h"
#include "metrics/footage.h"
#include "metrics/metric.h"
#include "policies/choice.h"
#include "sim/run.h"

namespace dryrig {

/// A value that became known after its frame.
struct LateValue {
  size_t frame;
  double value;
};

/// The camera's jerk at frames, as soon as the low-pass fits: the numbers of the metric's series, frame by frame.
class LateJerk {
 public:
  explicit LateJerk(const Take& take);
  /// Frames that have become known by `ticks` ticks, in order. When the take is `over`, those too that stay unknown, as NaN.
  std::vector<LateValue> Known(const Take& take, size_t ticks, bool over);

 private:
  std::vector<double> weights_;
  size_t next_ = 0;  // frame
};

/// A lesson that is stepped from Python. See the module's class Environment.
class Environment {
 public:
  Environment(const TakeChoice& choice, double decision_latency_s, double max_s, const std::string& action);

  py::tuple Reset(uint64_t seed);
  py::tuple Step(const py::object& action);
  py::dict Scorecard();
  py::tuple SeriesOf(const std::string& metric);
  py::dict StageInWords() const { return ToPython(setup_.stage); }
  std::pair<Eigen::VectorXd, Eigen::VectorXd> ActionBounds() const;
  std::vector<ObservedArray> ObservationBounds() const;

 private:
  Move MoveFor(const py::object& action, const Observation& seen);
  py::dict Look(const Observation* seen, size_t frame_before, size_t tick_before);
  TakeRun& Running();

  SceneShelf shelf_;
  TakeSetup setup_;
  bool twist_;
  std::unique_ptr<TakeRun> run_;
  std::optional<dryrig::Scorecard> card_;
  std::unique_ptr<FrameViewer> viewer_;
  std::unique_ptr<LateJerk> jerk_;
  Eigen::Isometry3d X_WTarget_;  // of action "twist"
};

}  // namespace dryrig
