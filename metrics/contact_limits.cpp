#include "metrics/contact_limits.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "scenes/error.h"

namespace dryrig {

namespace {

// ISO/TS 15066:2016 tables A.2 (quasi-static force) and A.3 (spring constant, effective mass), via a public copy.
constexpr std::array kRegions{
    ContactRegion{"skull", 130, 150e3, 4.4, 1},  ContactRegion{"face", 65, 75e3, 4.4, 1},
    ContactRegion{"neck", 150, 50e3, 1.2, 2},    ContactRegion{"back", 210, 35e3, 40, 2},
    ContactRegion{"chest", 140, 25e3, 40, 2},    ContactRegion{"abdomen", 110, 10e3, 40, 2},
    ContactRegion{"pelvis", 180, 25e3, 40, 2},   ContactRegion{"upper arm", 150, 30e3, 3, 2},
    ContactRegion{"lower arm", 160, 40e3, 2, 2}, ContactRegion{"hand", 140, 75e3, 0.6, 2},
    ContactRegion{"thigh", 220, 50e3, 75, 2},    ContactRegion{"lower leg", 130, 60e3, 75, 2},
};

}  // namespace

std::span<const ContactRegion> ContactRegions() {
  return kRegions;
}

const ContactRegion& FindContactRegion(std::string_view name) {
  std::vector<std::string> known;
  for (const ContactRegion& region : kRegions) {
    if (region.name == name) return region;
    known.emplace_back(region.name);
  }
  throw RunError(fmt::format("no contact region \"{}\"{}", name, Suggest(name, known)));
}

double ReducedMass_kg(double region_mass_kg, double moving_mass_kg, double payload_kg) {
  const double robot_kg = 0.5 * moving_mass_kg + payload_kg;
  if (!(robot_kg > 0)) return 0;
  return 1 / (1 / region_mass_kg + 1 / robot_kg);
}

double SpeedForForce_mps(double force_N, double reduced_mass_kg, double stiffness_N_per_m) {
  return force_N / std::sqrt(reduced_mass_kg * stiffness_N_per_m);
}

double ForceForSpeed_N(double speed_mps, double reduced_mass_kg, double stiffness_N_per_m) {
  return speed_mps * std::sqrt(reduced_mass_kg * stiffness_N_per_m);
}

double ProtectiveSeparation_m(const SeparationConstants& constants, double robot_mps, double stopping_s) {
  return constants.human_mps * (constants.reaction_s + stopping_s) + robot_mps * constants.reaction_s +
         0.5 * robot_mps * stopping_s + constants.intrusion_m + constants.person_error_m + constants.robot_error_m;
}

}  // namespace dryrig
