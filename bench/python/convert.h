#pragma once

#include <pybind11/numpy.h>
#include <pybind11/pybind11.h>

#include <string>
#include <vector>

#include "sim/policy.h"

namespace dryrig {

namespace py = pybind11;

/// An array's name, bounds and shape in an observation.
struct ObservedArray {
  std::string name;
  double lo, hi;
  std::vector<py::ssize_t> shape;
};
/// The parts of an observation of `joints` joints and `props` props, in the order in which they lie in memory.
std::vector<ObservedArray> ObservedArrays(int joints, size_t props);

/// An observation as arrays by name: views into one block, fresh, that lives as long as any of them.
py::dict ToPython(const Observation& seen);
/// Sentences as (text, when the last word was spoken, when it was heard).
py::list HeardToPython(std::span<const HeardSentence> heard);
/// What stands still: joint names and limits, home, lens, bench; numbers in SI units.
py::dict ToPython(const Stage& stage);

/// A move from `Move(joints=..., camera=..., ...)`. What is left out is 0 in focal_m and focus_m.
void BindMove(py::module_& module);
/// What was left out, from what is seen: the shortest focal length, focus on the tracked hands.
Move Filled(Move move, const Observation& seen);

}  // namespace dryrig
