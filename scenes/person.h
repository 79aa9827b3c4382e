#pragma once

#include <filesystem>
#include <string>

namespace dryrig {

/// Whom an arm that comes fast startles: how near, how fast it closes, and how far the body then leans away. Lean 0: nobody.
struct StartleSpec {
  double within_m = 0, closing_mps = 0, lean = 0;
};

/// An instructor's build. Lengths are measured ones where the file gives them, else published shares of stature
/// (Drillis & Contini 1966 as in Winter 2009, fig. 4.1).
struct PersonSpec {
  std::string name, title;
  double stature_m = 1.75;        // [1.2, 2.2]
  double mass_kg = 75;
  bool left_handed = false;
  bool seated = false;
  double seat_height_m = 0.45;    // seated: floor to seat
  double eye_height_m = 0, shoulder_height_m = 0, hip_height_m = 0, knee_height_m = 0;  // standing, above the floor
  double upper_arm_m = 0, forearm_m = 0, hand_m = 0;
  double shoulder_half_breadth_m = 0;                      // mid-line to shoulder joint
  double hip_half_breadth_m = 0;
  double head_height_m = 0;       // chin to crown
  double pace = 1;                // movement times divided by it, [0.5, 2]
  double fidget = 0;              // small glances and shifts of weight that mean nothing, [0, 1]
  StartleSpec startle;
  std::string text;
};

/// Fills every length that is 0 from the ratios.
PersonSpec WithRatios(PersonSpec spec);

/// @throws InputError (file:line:column).
PersonSpec ReadPerson(const std::filesystem::path& file);
PersonSpec ParsePerson(const std::string& text, const std::string& file_name);

}  // namespace dryrig
