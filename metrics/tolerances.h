#pragma once

#include <string_view>
#include <vector>

namespace dryrig {

/// What counts as acceptable footage: all numbers that framing is judged by.
struct Tolerances {
  double composition_heights = 1.0 / 6;  // half the distance between thirds lines
  double size_octaves = 0.5;
  double angle_deg = 15;
  double cap = 4;            // most that one part counts, in tolerances
  double settle_s = 1.5;     // after an intent begins its framing is response, not footage
  double hold_s = 0.5;       // framed or chosen counts once it has held so long
  double blind_share = 0.5;  // a hand is lost below this share of its landmarks
  double detail_size = 0.5;  // least apparent over wanted size that still teaches

  void Visit(auto&& v) {
    v("composition_heights", "frame heights", composition_heights, 0.01, 1, "subject's centre to the composition point");
    v("size_octaves", "octaves", size_octaves, 0.05, 4, "apparent over wanted size");
    v("angle_deg", "deg", angle_deg, 1, 90, "direction of view and image-up");
    v("cap", "tolerances", cap, 1, 100, "most that one part of the framing error counts");
    v("settle_s", "s", settle_s, 0, 10, "after an intent begins: response, not footage");
    v("hold_s", "s", hold_s, 0, 5, "how long a shot must hold to count as reached");
    v("blind_share", "", blind_share, 0.01, 1, "share of landmarks below which the hands are lost");
    v("detail_size", "", detail_size, 0.01, 1, "least apparent over wanted size for hand detail");
  }
};

/// Sets one tolerance by name. @throws InputError for an unknown name (with the nearest) or a value outside its range.
void SetTolerance(Tolerances* tolerances, std::string_view name, double value);

}  // namespace dryrig
