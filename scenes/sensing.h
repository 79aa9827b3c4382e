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
  double noise_distance_m = 0;        // where that holds, from the tracker; it grows with distance squared. 0: it does not
  double partly_hidden_noise = 1;     // times as much for points that the tracker sees only just past another part of the body
  double bias_m = 0;                  // constant per take and point, per axis, SD
  double orientation_noise_rad = 0;   // torso and head, SD
  double dropout_per_s = 0;           // chance rate of losing the whole person
  double dropout_for_s = 0;           // mean length of such a loss
  double swap_per_s = 0, swap_for_s = 0;  // chance rate and mean length of left and right arm being taken for one another
  bool hidden_is_lost = false;        // points that the tracker's own view cannot see are not delivered
  double heard_delay_s = 0;           // last word to policy
  double word_error_rate = 0;         // share of words lost or replaced, [0,1]
  double missed_sentence_rate = 0;    // share of sentences not heard at all
  double split_sentence_rate = 0;     // share of sentences delivered in two parts
  std::string text;
};

/// @throws InputError (file:line:column).
Sensing ReadSensing(const std::filesystem::path& file);
Sensing ParseSensing(const std::string& text, const std::string& file_name);

/// A sensing as `NAME` or `NAME:key=value,key=value`: a file or shipped name, with keys of its file set otherwise, in the file's
/// units (`good:noise_mm=20,hidden_is_lost=false`). Its name is `spelled`; its text a whole sensing file with those values.
/// @throws InputError: no such sensing, no such key, a value out of range, a key set twice.
Sensing FindSensing(const std::string& spelled);

}  // namespace dryrig
