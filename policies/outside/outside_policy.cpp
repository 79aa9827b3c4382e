#include "policies/outside/outside_policy.h"

#include <fmt/format.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "dryrig/version.h"
#include "policies/outside/channel.h"
#include "policies/outside/host.h"
#include "policies/outside/limits.h"
#include "policies/outside/seen.h"
#include "policies/params.h"
#include "scenes/catalogue.h"
#include "sim/rng.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

/// How to start the process that has a policy, and what it is called there.
struct Origin {
  std::vector<std::string> command;
  std::string file;
  uint64_t file_hash = 0;
  double patience_s = 2;
};

uint64_t HashFile(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream bytes;
  bytes << in.rdbuf();
  if (!in || fs::is_directory(file)) throw InputError(fmt::format("{}: cannot be read", file));
  return HashText(bytes.view());
}

/// A policy's process; what goes wrong with it is told in words.
class Host {
 public:
  explicit Host(const Origin& origin) : child_(origin.command), patience_s_(origin.patience_s) {}

  /// @throws RunError: refused, too slow, or gone.
  std::string Ask(char kind, const std::string& body, bool starting) {
    const double patience_s = starting ? 10 * patience_s_ : patience_s_;
    Message reply;
    try {
      child_.channel().Send(kind, body);
    } catch (const RunError&) {
      // Gone; it may have said why.
    }
    const Channel::Got got = child_.channel().Receive(patience_s, &reply);
    if (got == Channel::Got::kNothing) {
      child_.End();
      throw RunError(
          fmt::format("gave no answer within {:g} s of wall clock, and was ended; --patience sets another limit", patience_s));
    }
    if (got == Channel::Got::kEnd) throw RunError(fmt::format("its process ended: {}", child_.Ended()));
    if (reply.kind != 'y') throw RunError(reply.body);
    return std::move(reply.body);
  }

 private:
  ChildProcess child_;
  double patience_s_;
};

/// One take's policy, in a process of its own.
class OutsidePolicy : public Policy {
 public:
  OutsidePolicy(const Origin& origin, std::string name, const ParamValues& values) : name_(std::move(name)), host_(origin) {
    if (HashFile(origin.file) != origin.file_hash)
      throw RunError(fmt::format("policy {}: {} has changed since this run began; run it again", name_, origin.file));
    WireWriter request;
    request(name_, values);
    Told("as it is made", [&] { host_.Ask('m', request.bytes(), true); });
  }

 private:
  template <class F>
  void Told(const std::string& when, F&& ask) const {
    try {
      ask();
    } catch (const std::exception& error) {
      throw RunError(fmt::format("policy {}, {}: {}", name_, when, error.what()));
    }
  }
  void DoBackToOne(const Stage& stage, uint64_t seed) override {
    WireWriter request;
    request(stage, seed);
    Told("as it goes back to one", [&] { host_.Ask('b', request.bytes(), true); });
  }
  Move DoDecide(const Observation& seen) override {
    WireWriter request;
    request(Seen(seen));
    Move move;
    Told(fmt::format("tick {} (t = {:.3f} s)", tick_++, seen.t_s), [&] {
      const std::string reply = host_.Ask('d', request.bytes(), false);
      WireReader in(reply);
      in(move);
      in.Finish();
      RequireWithinLimits(move, seen);
    });
    return move;
  }

  std::string name_;
  Host host_;
  int tick_ = 0;  // control ticks
};

/// Adds all that a process tells of; `only` where it is not empty renames the one that there is.
void AddAll(const Origin& origin, const std::string& only) {
  std::vector<OutsideInfo> list;
  std::string runtime;
  try {
    Host host(origin);
    const std::string reply = host.Ask('l', "", true);
    WireReader in(reply);
    size_t n = 0;
    in(n);
    for (size_t i = 0; i < n; ++i) {
      OutsideInfo& one = list.emplace_back();
      in(one.name, one.meaning, one.params);
    }
    in(runtime);
    in.Finish();
  } catch (const RunError& error) {
    const std::string what = error.what();
    throw InputError(what.starts_with(origin.file) ? what : fmt::format("{}: {}", origin.file, what));
  }
  const std::string code =
      fmt::format("{:016x}", HashText(fmt::format("{:016x} {} {}", origin.file_hash, DRYRIG_INTERFACE_HASH, runtime)));
  for (const OutsideInfo& one : list) {
    const auto params = one.params;
    const std::string name = one.name;
    AddPolicy({only.empty() ? name : only, one.meaning, true, [params] { return params; },
               [origin, name, params](const ParamValues& values) -> std::unique_ptr<Policy> {
                 RequireKnown(params, values);
                 return std::make_unique<OutsidePolicy>(origin, name, values);
               },
               origin.file, code});
  }
}

std::string PythonProgram() {
  const char* set = std::getenv("DRYRIG_PYTHON_PROGRAM");
  return set != nullptr && *set != '\0' ? set : DRYRIG_PYTHON_PROGRAM;
}

}  // namespace

void AddPolicyLibrary(const std::string& file, const OutsideOptions& options) {
  AddAll({{options.program, "policy-host", file}, file, HashFile(file), options.patience_s}, "");
}

void AddPythonPolicy(const std::string& name, const OutsideOptions& options) {
  const size_t colon = name.rfind(':');
  if (!name.starts_with(kPythonPrefix) || colon < kPythonPrefix.size() || colon + 1 >= name.size()) {
    throw InputError(fmt::format("policy \"{}\": expected python:FILE.py:CLASS", name));
  }
  const std::string file = name.substr(kPythonPrefix.size(), colon - kPythonPrefix.size()), type = name.substr(colon + 1);
  const std::string plain = PlainPolicyName(name);
  if (const PolicyEntry* there = FindPolicyIfKnown(plain); there != nullptr && fs::equivalent(there->file, file)) return;
  const uint64_t hash = HashFile(file);
  const std::string serve = "import sys; sys.path.insert(0, sys.argv[1]); import dryrig; dryrig._serve(sys.argv[2], sys.argv[3])";
  AddAll({{"env", "PYTHONHASHSEED=0", PythonProgram(), "-B", "-c", serve, PythonModuleFolder(), file, type},
          file,
          hash,
          options.patience_s},
         plain);
}

std::string PythonModuleFolder() {
  if (const char* set = std::getenv("DRYRIG_PYTHON"); set != nullptr && *set != '\0') return set;
  if (const fs::path beside = InstalledBeside("lib/dryrig/python"); !beside.empty()) return beside;
  for (const char* folder : {DRYRIG_BUILT_PYTHON, DRYRIG_INSTALLED_PYTHON}) {
    if (fs::is_directory(fs::path(folder) / "dryrig")) return folder;
  }
  throw InputError(fmt::format("no Python module in {} or {}; build or install it, or set DRYRIG_PYTHON to its folder",
                               DRYRIG_BUILT_PYTHON, DRYRIG_INSTALLED_PYTHON));
}

}  // namespace dryrig
