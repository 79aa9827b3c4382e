#include <fmt/format.h>

#include <algorithm>
#include <charconv>

#include "scenes/error.h"
#include "sim/store.h"

namespace dryrig {

namespace fs = std::filesystem;

TakeRef ParseTakeRef(const std::string& text) {
  fs::path path = text;
  std::optional<int64_t> id;
  if (const size_t colon = text.rfind(':'); !fs::exists(path) && colon != std::string::npos) {
    int64_t number = 0;
    const char* end = text.data() + text.size();
    const auto parsed = std::from_chars(text.data() + colon + 1, end, number);
    if (parsed.ec != std::errc() || parsed.ptr != end) {
      throw InputError(fmt::format("\"{}\": what follows the colon is no take's number", text));
    }
    id = number;
    path = text.substr(0, colon);
  }
  if (fs::is_directory(path)) path /= "results.db";
  const std::vector<int64_t> ids = Store(path, Store::Mode::kRead).TakeIds();
  if (ids.empty()) throw InputError(fmt::format("{} holds no take", path.string()));
  if (!id && ids.size() > 1) {
    throw InputError(fmt::format("{} holds {} takes; name one: {}:{} to {}:{}", path.string(), ids.size(), path.string(),
                                 ids.front(), path.string(), ids.back()));
  }
  if (id && std::find(ids.begin(), ids.end(), *id) == ids.end()) {
    throw InputError(fmt::format("{}: no take {}; there are {} to {}", path.string(), *id, ids.front(), ids.back()));
  }
  return {path, id.value_or(ids.front())};
}

}  // namespace dryrig
