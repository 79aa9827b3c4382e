#pragma once

#include <span>
#include <string_view>

namespace dryrig {

/// Published numbers on a robot near or against a person, after ISO/TS 15066:2016 as public copies give them. No
/// standard's own text was read: illustrative, no ground for a claim of conformity.

/// One body region of Annex A. The transient limit is `transient_factor` times the quasi-static force: 2, but 1 for skull and
/// face, where no contact is accepted as a design case.
struct ContactRegion {
  std::string_view name;
  double force_N;  // quasi-static
  double stiffness_N_per_m;
  double mass_kg;  // effective, of the region
  double transient_factor;
  double limit_N() const { return force_N * transient_factor; }
};
std::span<const ContactRegion> ContactRegions();
/// @throws RunError with the nearest name.
const ContactRegion& FindContactRegion(std::string_view name);

/// µ = (1/m_H + 1/m_R)⁻¹ with the robot's effective mass m_R = M/2 + m_L, half of its moving parts and its payload.
double ReducedMass_kg(double region_mass_kg, double moving_mass_kg, double payload_kg);
/// v = F / √(µ k): relative speed at which a collision peaks at the force F.
double SpeedForForce_mps(double force_N, double reduced_mass_kg, double stiffness_N_per_m);
/// Its inverse: F = v √(µ k).
double ForceForSpeed_N(double speed_mps, double reduced_mass_kg, double stiffness_N_per_m);

/// Protective separation distance, constant-speed form: S_h + S_r + S_s + C + Z_d + Z_r with S_h = v_h (T_r + T_s),
/// S_r = v_r T_r, S_s = ½ v_r T_s.
struct SeparationConstants {
  double human_mps = 1.6;        // ISO 13855, walking
  double reaction_s = 0.10;      // sensing to brake
  double intrusion_m = 0.20;     // C
  double person_error_m = 0.10;  // Z_d
  double robot_error_m = 0.05;   // Z_r
};
double ProtectiveSeparation_m(const SeparationConstants& constants, double robot_mps, double stopping_s);

}  // namespace dryrig
