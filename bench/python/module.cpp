// The Python module dryrig._core. What is meant for users is in __init__.py.
#include <fmt/format.h>
#include <pybind11/eigen.h>
#include <pybind11/stl.h>

#include "bench/python/environment.h"
#include "bench/python/policy.h"
#include "dryrig/version.h"
#include "scenes/catalogue.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

std::unique_ptr<Environment> MakeEnvironment(const std::string& lesson, const std::string& person, const std::string& sensing,
                                             const std::string& arm, const std::string& bench, const std::string& camera,
                                             double physics_hz, double decision_latency_s, double max_s,
                                             const std::string& action) {
  TakeChoice choice;
  choice.lesson = lesson, choice.person = person, choice.sensing = sensing, choice.arm = arm, choice.bench = bench;
  choice.camera = camera, choice.physics_hz = physics_hz;
  return std::make_unique<Environment>(choice, decision_latency_s, max_s, action);
}

py::list ObservationBounds(const Environment& environment) {
  py::list out;
  for (const ObservedArray& array : environment.ObservationBounds())
    out.append(py::make_tuple(array.name, array.lo, array.hi, py::tuple(py::cast(array.shape))));
  return out;
}

py::dict MetricMeanings() {
  py::dict out;
  for (const Metric& metric : Metrics())
    out[py::str(std::string(metric.name))] = py::make_tuple(std::string(metric.unit), std::string(metric.meaning));
  return out;
}

}  // namespace

PYBIND11_MODULE(_core, module) {
  py::register_exception_translator([](std::exception_ptr thrown) {
    try {
      if (thrown) std::rethrow_exception(thrown);
    } catch (const InputError& error) {
      PyErr_SetString(PyExc_ValueError, error.what());
    }
  });
  BindMove(module);
  py::class_<Environment>(module, "_Environment")
      .def(py::init(&MakeEnvironment))
      .def("reset", &Environment::Reset)
      .def("step", &Environment::Step)
      .def("stage", &Environment::StageInWords)
      .def("action_bounds", &Environment::ActionBounds)
      .def("observation_bounds", &ObservationBounds)
      .def("scorecard", &Environment::Scorecard)
      .def("series", &Environment::SeriesOf);
  module.def("_serve", &ServePython);
  module.def(
      "lessons", [] { return ListScenes(SceneKind::kLesson); }, "Names of the lessons that are shipped.");
  module.def("metrics", &MetricMeanings, "Unit and meaning of every metric.");
  module.attr("version") = DRYRIG_INTERFACE_VERSION;
}

}  // namespace dryrig
