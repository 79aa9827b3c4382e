#pragma once

#include <optional>
#include <string>
#include <vector>

#include "scenes/shot.h"

namespace dryrig {

/// What a sentence asks of the camera. Empty: nothing.
struct Ask {
  int closer = 0;                  // +1 closer, -1 wider
  std::optional<ShotAngle> angle;  // from above, level
  std::string look_at;             // a prop's name
  bool back_to_normal = false;

  bool empty() const { return closer == 0 && !angle && look_at.empty() && !back_to_normal; }
  bool operator==(const Ask&) const = default;
};

/// Reads an English sentence as a recogniser delivers it: any case, with or without punctuation, a word lost now and then.
/// Known phrases first, then wordings learnt from examples (policies/wish_reader.h).
/// Words of the craft ("the wider side", "closer to the edge") ask nothing; neither does a wish that is denied.
Ask ReadSentence(const std::string& text, const std::vector<std::string>& prop_names);

}  // namespace dryrig
