#include "policies/outside/host.h"

#include <dlfcn.h>
#include <fmt/format.h>

#include <filesystem>
#include <typeinfo>

#include "policies/outside/own_policy.h"
#include "policies/outside/seen.h"

namespace dryrig {

namespace {

class Library : public PolicySource {
 public:
  explicit Library(const std::string& file) {
    const std::string path = std::filesystem::absolute(file).string();
    void* library = dlopen(path.c_str(), RTLD_NOW | RTLD_LOCAL);  // never closed: its policies' code lies in it
    if (library == nullptr) throw InputError(fmt::format("{}: cannot be loaded: {}", file, dlerror()));
    const auto interface = reinterpret_cast<const char* (*)()>(dlsym(library, kInterfaceFunction));
    const auto policies = reinterpret_cast<void (*)(PolicyRegister&)>(dlsym(library, kPoliciesFunction));
    if (interface == nullptr || policies == nullptr)
      throw InputError(fmt::format("{}: not a policy library: it has no DRYRIG_POLICIES", file));
    if (const std::string theirs = interface(); theirs != DRYRIG_INTERFACE) {
      throw InputError(fmt::format("{}: built against Dryrig {}, and this is {}; build it again against this one", file, theirs,
                                   DRYRIG_INTERFACE));
    }
    policies(register_);
    if (register_.entries().empty()) throw InputError(fmt::format("{}: registers no policy", file));
  }
  std::vector<OutsideInfo> List() override {
    std::vector<OutsideInfo> out;
    for (const auto& entry : register_.entries()) out.push_back({entry.name, entry.meaning, entry.params});
    return out;
  }
  std::unique_ptr<Policy> Make(const std::string& name, const ParamValues& values) override {
    for (const auto& entry : register_.entries()) {
      if (entry.name == name) return entry.make(values);
    }
    throw InputError(fmt::format("no policy {} in the library", name));
  }

 private:
  PolicyRegister register_;
};

/// What a policy threw, by type and text.
std::string WhatIsThrown() {
  try {
    throw;
  } catch (const InputError& error) {
    return error.what();
  } catch (const RunError& error) {
    return error.what();
  } catch (const std::exception& error) {
    return fmt::format("threw {}", error.what());
  } catch (...) {
    return "threw what is no std::exception";
  }
}

}  // namespace

void ServePolicies(PolicySource& source, const Channel& channel) {
  std::unique_ptr<Policy> policy;
  Stage stage;
  Seen seen;
  for (Message request; channel.Receive(&request);) {
    WireWriter reply;
    try {
      WireReader in(request.body);
      if (request.kind == 'l') {
        const std::vector<OutsideInfo> list = source.List();
        reply(list.size());
        for (const OutsideInfo& one : list) reply(one.name, one.meaning, one.params);
        reply(source.Runtime());
      } else if (request.kind == 'm') {
        std::string name;
        ParamValues values;
        in(name, values);
        policy = source.Make(name, values);
      } else if (request.kind == 'b') {
        uint64_t seed = 0;
        in(stage, seed);
        policy->BackToOne(stage, seed);
      } else {
        in(seen);
        reply(policy->DecideUnchecked(seen.View(stage)));
      }
      in.Finish();
    } catch (...) {
      channel.Send('n', WhatIsThrown());
      continue;
    }
    channel.Send('y', reply.bytes());
  }
}

void ServeLibrary(const std::string& file) {
  EndWithParent();
  const Channel channel(kHostSocket);
  std::unique_ptr<Library> library;
  try {
    library = std::make_unique<Library>(file);
  } catch (const std::exception& error) {
    channel.Send('n', error.what());
    throw;
  }
  ServePolicies(*library, channel);
}

}  // namespace dryrig
