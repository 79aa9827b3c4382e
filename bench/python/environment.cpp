#include "bench/python/environment.h"

#include <fmt/format.h>
#include <pybind11/eigen.h>
#include <pybind11/stl.h>

#include <cmath>

#include "metrics/camera_path.h"
#include "metrics/filter.h"
#include "metrics/frame_values.h"
#include "metrics/summary.h"
#include "policies/outside/limits.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr double kFastest_mps = 1, kFastest_radps = 2;  // of action "twist"
constexpr double kRounded = 1e-5;                       // float32 actions at a bound lie this far beyond it at most

py::object NumberOrNone(const std::optional<double>& value) {
  return value ? py::object(py::float_(*value)) : py::object(py::none());
}

size_t TicksPerFrame(const Take& take) {
  return static_cast<size_t>(std::lround(take.id.physics_hz / take.id.frame_hz));
}

}  // namespace

LateJerk::LateJerk(const Take& take) : weights_(GaussianDerivative(3, kPathCutoff_hz, take.id.physics_hz)) {}

std::vector<LateValue> LateJerk::Known(const Take& take, size_t ticks, bool over) {
  std::vector<LateValue> out;
  const size_t half = weights_.size() / 2;
  for (; next_ < take.frames.size(); ++next_) {
    const size_t tick = next_ * TicksPerFrame(take);
    if (tick + half >= ticks && !over) break;
    double value = kGap;
    if (tick >= half && tick + half < ticks) {
      Eigen::Vector3d jerk = Eigen::Vector3d::Zero();
      for (size_t j = 0; j < weights_.size(); ++j) {
        jerk += weights_[j] * (take.ticks[tick - half + j].p_WC - take.ticks[0].p_WC);
      }
      value = std::sqrt(jerk.x() * jerk.x() + jerk.y() * jerk.y() + jerk.z() * jerk.z());
    }
    out.push_back({next_, value});
  }
  return out;
}

Environment::Environment(const TakeChoice& choice, double decision_latency_s, double max_s, const std::string& action)
    : twist_(action == "twist") {
  if (action != "joints" && action != "twist") {
    throw InputError(fmt::format("action \"{}\"{}", action, Suggest(action, {"joints", "twist"})));
  }
  if (!(max_s >= 0 && std::isfinite(max_s)))
    throw InputError(fmt::format("max_s is {}; it must be 0 (the whole lesson) or above", max_s));
  TakeChoice whole = WithDefaults(choice, shelf_);
  whole.policy = {"tripod", {{kLatencyParam, decision_latency_s}}};  // any: it never films
  setup_ = Prepare(whole, shelf_).setup;
  setup_.policy = "python-environment";
  setup_.params = "";
  setup_.max_s = max_s;
}

py::tuple Environment::Reset(uint64_t seed) {
  setup_.seed = seed;
  viewer_.reset();
  card_.reset();
  {
    const py::gil_scoped_release free;
    run_ = std::make_unique<TakeRun>(setup_);
  }
  viewer_ = std::make_unique<FrameViewer>(run_->take(), Tolerances{});
  jerk_ = std::make_unique<LateJerk>(run_->take());
  const Observation seen = run_->Observe();
  X_WTarget_ = seen.arm.X_WC;
  py::dict info = Look(&seen, 0, 0);
  return py::make_tuple(ToPython(seen), info);
}

TakeRun& Environment::Running() {
  if (!run_) throw RunError("step before reset");
  if (run_->done()) throw RunError("the take is over; reset begins the next");
  return *run_;
}

py::tuple Environment::Step(const py::object& action) {
  TakeRun& run = Running();
  const size_t frame = run.take().frames.size(), tick = run.ticks_done();
  {
    const Observation seen = run.Observe();
    Move move = MoveFor(action, seen);
    RequireWithinLimits(move, seen);
    const py::gil_scoped_release free;
    run.Advance(std::move(move));
  }
  if (!run.done()) {
    const Observation seen = run.Observe();
    return py::make_tuple(ToPython(seen), false, false, Look(&seen, frame, tick));
  }
  // The last observation is what would be seen now; nothing is left to decide.
  const Observation last = run.LastSeen();
  const bool early = setup_.max_s > 0 && setup_.max_s < run.lesson_s();
  return py::make_tuple(ToPython(last), !early, early, Look(&last, frame, tick));
}

Move Environment::MoveFor(const py::object& action, const Observation& seen) {
  if (py::isinstance<Move>(action)) return Filled(action.cast<Move>(), seen);
  auto values = action.cast<Eigen::VectorXd>();
  const auto [low, high] = ActionBounds();
  if (values.size() != low.size()) throw InputError(fmt::format("action has {} values, expected {}", values.size(), low.size()));
  for (Eigen::Index i = 0; i < values.size(); ++i) {
    if (!(values[i] >= low[i] - kRounded && values[i] <= high[i] + kRounded))
      throw InputError(fmt::format("action, element {}: {} is outside [{:g}, {:g}]", i, values[i], low[i], high[i]));
    values[i] = std::clamp(values[i], low[i], high[i]);
  }
  Move move;
  if (!twist_) {
    move.motion = JointTarget{values};
    return Filled(std::move(move), seen);
  }
  CameraTarget target;
  target.v_WC = values.head<3>();
  target.w_WC = values.tail<3>();
  const double dt_s = 1 / setup_.control_hz, angle = target.w_WC.norm() * dt_s;
  X_WTarget_.translation() += target.v_WC * dt_s;
  if (angle > 0) {
    const Eigen::Quaterniond turned =
        Eigen::Quaterniond(Eigen::AngleAxisd(angle, target.w_WC.normalized())) * Eigen::Quaterniond(X_WTarget_.linear());
    X_WTarget_.linear() = turned.normalized().toRotationMatrix();
  }
  target.X_WC = X_WTarget_;
  move.motion = target;
  return Filled(std::move(move), seen);
}

py::dict Environment::Look(const Observation* seen, size_t frame_before, size_t tick_before) {
  const Take& take = run_->take();
  py::dict metrics, late, info;
  const FrameView view = take.frames.size() > frame_before ? viewer_->View(take.frames.size() - 1) : FrameView{};
  for (const FrameValue& value : FrameValues()) metrics[py::str(std::string(value.metric))] = value.of(view);
  double nearest_m = kGap;
  for (size_t k = tick_before; k < run_->ticks_done(); ++k) nearest_m = std::fmin(nearest_m, take.ticks[k].clearance.distance_m);
  metrics["closest_approach"] = nearest_m;
  metrics["jerk"] = py::none();
  py::list jerk;
  for (const LateValue& known : jerk_->Known(take, run_->ticks_done(), run_->done()))
    jerk.append(py::make_tuple(known.frame, known.value));
  late["jerk"] = jerk;
  info["t_s"] = seen->t_s;
  info["frames"] = take.frames.size();
  info["heard"] = HeardToPython(seen->heard);
  info["metrics"] = metrics;
  info["late"] = late;
  return info;
}

py::dict Environment::Scorecard() {
  if (!run_ || !run_->done()) throw RunError("a scorecard is of a take that is over; step it to its end");
  if (!card_) card_ = ScoreTake(run_->take());
  py::dict out;
  for (size_t i = 0; i < Metrics().size(); ++i)
    out[py::str(std::string(Metrics()[i].name))] = NumberOrNone(card_->scores[i].value);
  return out;
}

py::tuple Environment::SeriesOf(const std::string& metric) {
  Scorecard();
  const Series& series = card_->scores[static_cast<size_t>(&FindMetric(metric) - Metrics().data())].series;
  return py::make_tuple(series.rate_hz,
                        py::array_t<double>(static_cast<py::ssize_t>(series.values.size()), series.values.data()));
}

std::pair<Eigen::VectorXd, Eigen::VectorXd> Environment::ActionBounds() const {
  const ArmModel& arm = setup_.stage.arm;
  Eigen::VectorXd low(twist_ ? 6 : arm.dof()), high(low.size());
  if (twist_) {
    high << Eigen::Vector3d::Constant(kFastest_mps), Eigen::Vector3d::Constant(kFastest_radps);
    return {-high, high};
  }
  for (int j = 0; j < arm.dof(); ++j) {
    low[j] = arm.joints[static_cast<size_t>(j)].lower;
    high[j] = arm.joints[static_cast<size_t>(j)].upper;
  }
  return {low, high};
}

std::vector<ObservedArray> Environment::ObservationBounds() const {
  return ObservedArrays(setup_.stage.arm.dof(), setup_.lesson.props.size());
}

}  // namespace dryrig
