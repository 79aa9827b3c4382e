#pragma once

#include <map>
#include <optional>
#include <string>

#include "viewer/layout.h"

namespace dryrig {

/// Where each control stood in the last frame, by name: what a test presses as a hand would, and checks for overlap.
class Places {
 public:
  void Clear() { rects_.clear(); }
  void Put(const std::string& name, const Rect& rect) { rects_[name] = rect; }
  std::optional<Rect> Find(const std::string& name) const {
    const auto at = rects_.find(name);
    return at == rects_.end() ? std::nullopt : std::optional(at->second);
  }
  const std::map<std::string, Rect>& all() const { return rects_; }

 private:
  std::map<std::string, Rect> rects_;
};

}  // namespace dryrig
