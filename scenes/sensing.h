#pragma once

#include <filesystem>
#include <string>

namespace dryrig {

/// How a policy sees the scene: a body tracker, an object tracker and a speech recogniser, none of them perfect.
struct Sensing {
  std::string name, title;
  double rate_hz = 30;                // tracker's own
  double latency_s = 0;               // capture to policy
  double noise_m = 0;                 // white, per axis, SD
  double bias_m = 0;                  // constant per take and point, per axis, SD
  double orientation_noise_rad = 0;   // torso and head, SD
  double dropout_per_s = 0;           // chance rate of losing the whole person
  double dropout_for_s = 0;           // mean length of such a loss
  bool hidden_is_lost = false;        // points that the tracker's own view cannot see are not delivered
  double heard_delay_s = 0;           // last word to policy
  double word_error_rate = 0;         // share of words lost or replaced, [0,1]
  std::string text;
};

/// @throws InputError (file:line:column).
Sensing ReadSensing(const std::filesystem::path& file);
Sensing ParseSensing(const std::string& text, const std::string& file_name);

}  // namespace dryrig
