#include "viewer/policy_file.h"

#include <fmt/format.h>

#include <fstream>
#include <iterator>

#include "scenes/error.h"

namespace dryrig {

namespace fs = std::filesystem;

std::string PolicyLine(const PolicyChoice& policy) {
  std::string out = policy.name;
  char before = ':';
  for (const auto& [key, value] : policy.values) {
    out += fmt::format("{}{}={}", before, key, value);
    before = ',';
  }
  return out;
}

void SavePolicyFile(const fs::path& file, const PolicyChoice& policy, bool replace) {
  if (file.empty() || !file.has_filename()) throw InputError("name a file to save the parameters in");
  std::error_code error;
  if (!replace && fs::exists(file, error)) throw InputError(file.string() + " is there already");
  const fs::path part = file.string() + ".part";
  {
    std::ofstream out(part, std::ios::binary);
    out << PolicyLine(policy) << '\n';
    out.flush();
    if (!out) {
      fs::remove(part, error);
      throw RunError(file.string() + " cannot be written; choose another folder");
    }
  }
  fs::rename(part, file, error);
  if (error) {
    const std::string why = error.message();
    fs::remove(part, error);
    throw RunError(fmt::format("{} cannot be written: {}", file.string(), why));
  }
}

PolicyChoice ReadPolicyFile(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  constexpr size_t kLongest = 65536;
  std::string text;
  text.resize(kLongest);
  in.read(text.data(), static_cast<std::streamsize>(kLongest));
  text.resize(static_cast<size_t>(std::max<std::streamsize>(0, in.gcount())));
  if (text.empty()) throw InputError({file.string()}, "no parameters in it, or it cannot be read");
  while (!text.empty() && (text.back() == '\n' || text.back() == '\r' || text.back() == ' ')) text.pop_back();
  try {
    if (text.size() + 2 >= kLongest || text.find('\n') != std::string::npos) {
      throw InputError("expected one line, NAME:key=value,key=value");
    }
    PolicyChoice policy = ParsePolicyChoice(text);
    FindPolicy(policy.name).make(policy.values);
    return policy;
  } catch (const InputError& wrong) {
    throw InputError({file.string(), 1, 0}, wrong.what());
  }
}

std::string CommandWithPolicyFile(const std::string& lesson, const fs::path& file) {
  const auto quoted = [](const std::string& text) {
    std::string out;
    for (const char c : text) out += c == '\'' ? std::string("'\\''") : std::string(1, c);
    return "'" + out + "'";
  };
  return fmt::format("dryrig take {} --policy \"$(cat {})\" --out out/tuned", quoted(lesson), quoted(file.string()));
}

}  // namespace dryrig
