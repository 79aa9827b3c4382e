#include "bench/python/policy.h"

#include <fmt/format.h>
#include <pybind11/stl.h>

#include "bench/python/convert.h"
#include "policies/outside/host.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

/// What Python raised, in one line: "raised ValueError: lost my bearings (centre.py:12)".
std::string InOneLine(py::error_already_set& error) {
  std::string out = fmt::format("raised {}: {}", py::str(error.type().attr("__name__")).cast<std::string>(),
                                py::str(error.value()).cast<std::string>());
  if (py::object trace = error.trace(); trace && !trace.is_none()) {
    while (!trace.attr("tb_next").is_none()) trace = trace.attr("tb_next");
    const std::string file = py::str(trace.attr("tb_frame").attr("f_code").attr("co_filename"));
    out += fmt::format(" ({}:{})", file.substr(file.rfind('/') + 1), trace.attr("tb_lineno").cast<int>());
  }
  return out;
}

template <class F>
auto InPython(F&& f) {
  try {
    return f();
  } catch (py::error_already_set& error) {
    throw RunError(InOneLine(error));
  }
}

class PythonPolicy : public Policy {
 public:
  explicit PythonPolicy(py::object policy) : policy_(std::move(policy)) {}

 private:
  void DoBackToOne(const Stage& stage, uint64_t seed) override {
    InPython([&] {
      if (py::hasattr(policy_, "back_to_one")) policy_.attr("back_to_one")(ToPython(stage), seed);
      return 0;
    });
  }
  Move DoDecide(const Observation& seen) override {
    return InPython([&] {
      py::dict arrays = ToPython(seen);
      arrays["heard"] = HeardToPython(seen.heard);
      py::list names;
      for (const TrackedProp& prop : seen.props) names.append(prop.name);
      arrays["prop_names"] = names;
      const py::object answer = policy_.attr("decide")(arrays);
      if (!py::isinstance<Move>(answer)) {
        throw RunError(fmt::format("decide returned {}; it must return a dryrig.Move",
                                   py::str(py::type::of(answer).attr("__name__")).cast<std::string>()));
      }
      return Filled(answer.cast<Move>(), seen);
    });
  }

  py::object policy_;
};

/// A class in a file.
class PythonSource : public PolicySource {
 public:
  PythonSource(const std::string& file, const std::string& type) : name_(type) {
    InPython([&] {
      const py::module_ util = py::module_::import("importlib.util");
      py::module_::import("sys").attr("path").attr("insert")(0, py::module_::import("os.path").attr("dirname")(file));
      const py::object spec = util.attr("spec_from_file_location")("dryrig_policy_file", file);
      const py::object module = util.attr("module_from_spec")(spec);
      py::module_::import("sys").attr("modules")["dryrig_policy_file"] = module;
      spec.attr("loader").attr("exec_module")(module);
      if (!py::hasattr(module, type.c_str())) throw InputError(fmt::format("{}: no class {}", file, type));
      type_ = module.attr(type.c_str());
      return 0;
    });
  }
  std::vector<OutsideInfo> List() override {
    return InPython([&] {
      OutsideInfo info{name_, "a policy in Python", {}};
      if (const py::object text = type_.attr("__doc__"); !text.is_none()) {
        const std::string all = py::str(text.attr("strip")());
        info.meaning = all.substr(0, all.find('\n'));
      }
      if (py::hasattr(type_, "PARAMS")) {
        for (const auto& [key, value] : type_.attr("PARAMS").cast<py::dict>()) {
          const auto [start, lo, hi, unit, meaning] = value.cast<std::tuple<double, double, double, std::string, std::string>>();
          info.params.push_back({key.cast<std::string>(), unit, start, lo, hi, meaning});
        }
      }
      return std::vector{info};
    });
  }
  std::string Runtime() override {
    return InPython([] {
      return fmt::format("python {} numpy {}", py::str(py::module_::import("sys").attr("version")).cast<std::string>(),
                         py::str(py::module_::import("numpy").attr("__version__")).cast<std::string>());
    });
  }
  std::unique_ptr<Policy> Make(const std::string&, const ParamValues& values) override {
    return InPython([&] {
      py::dict all;
      for (const auto& [key, value] : values) all[py::str(key)] = value;
      return std::unique_ptr<Policy>(std::make_unique<PythonPolicy>(type_(**all)));
    });
  }

 private:
  std::string name_;
  py::object type_;
};

}  // namespace

void ServePython(const std::string& file, const std::string& type) {
  EndWithParent();
  const Channel channel(kHostSocket);
  std::unique_ptr<PythonSource> source;
  try {
    source = std::make_unique<PythonSource>(file, type);
  } catch (const std::exception& error) {
    channel.Send('n', error.what());
    return;
  }
  ServePolicies(*source, channel);
}

}  // namespace dryrig
