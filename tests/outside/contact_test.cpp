// Separation and contact numbers after ISO/TS 15066:2016, as public copies and worked examples print them. The standard's
// own text was not read; metrics built on these are illustrative.
#include <gtest/gtest.h>

#include <map>
#include <string>

#include "metrics/contact_limits.h"
#include "tests/outside/listed.h"

namespace dryrig {
namespace {

// v_max = F / √(µ k) with M = 20 kg, m_L = 2 kg, so m_R = 12 kg; tables A.2 and A.3 via a public copy, speeds computed
// from them and printed to four digits. Second number: the transient limit, twice the force; none for skull and face.
TEST(ContactOutside, PermissibleSpeedsOfAllRegions) {
  const std::map<std::string, std::pair<double, double>> table{
      {"skull", {0.1871, 0}},       {"face", {0.1323, 0}},           {"neck", {0.6423, 1.2845}},
      {"back", {0.3695, 0.7389}},   {"chest", {0.2914, 0.5829}},     {"abdomen", {0.3621, 0.7241}},
      {"pelvis", {0.3747, 0.7494}}, {"upper arm", {0.5590, 1.1180}}, {"lower arm", {0.6110, 1.2220}},
      {"hand", {0.6763, 1.3525}},   {"thigh", {0.3059, 0.6118}},     {"lower leg", {0.1650, 0.3300}}};
  ASSERT_EQ(ContactRegions().size(), table.size());
  for (const ContactRegion& region : ContactRegions()) {
    const double mass_kg = ReducedMass_kg(region.mass_kg, 20, 2);
    const auto& [quasi_static, transient] = table.at(std::string(region.name));
    EXPECT_NEAR(SpeedForForce_mps(region.force_N, mass_kg, region.stiffness_N_per_m), quasi_static, 6e-5) << region.name;
    EXPECT_NEAR(SpeedForForce_mps(region.limit_N(), mass_kg, region.stiffness_N_per_m), transient > 0 ? transient : quasi_static,
                6e-5)
        << region.name;
  }
}

// Energy at the transient limit: E = F² / (2k) = ½ µ v², two ways to one number.
TEST(ContactOutside, EnergyAgreesBothWays) {
  const std::map<std::string, double> energy_J{{"neck", 0.9},     {"back", 2.52},       {"chest", 1.568},    {"abdomen", 2.42},
                                               {"pelvis", 2.592}, {"upper arm", 1.5},   {"lower arm", 1.28}, {"hand", 0.5227},
                                               {"thigh", 1.936},  {"lower leg", 0.5633}};
  for (const auto& [name, want_J] : energy_J) {
    const ContactRegion& region = FindContactRegion(name);
    const double mass_kg = ReducedMass_kg(region.mass_kg, 20, 2);
    const double v = SpeedForForce_mps(region.limit_N(), mass_kg, region.stiffness_N_per_m);
    EXPECT_NEAR(0.5 * mass_kg * v * v, want_J, 6e-5) << name;
    EXPECT_NEAR(ForceForSpeed_N(v, mass_kg, region.stiffness_N_per_m), region.limit_N(), 1e-9) << name;
  }
}

// A published run: M = 0.49884 kg, no load, face, 110 N/cm² on 22 mm². v = pA / √(µ k) = 181.88 mm/s.
TEST(ContactOutside, PublishedFaceRun) {
  const double mass_kg = ReducedMass_kg(4.4, 0.49884, 0);
  EXPECT_NEAR(mass_kg, 0.236040, 5e-7);
  EXPECT_NEAR(SpeedForForce_mps(110e4 * 22e-6, mass_kg, 75e3), 0.18188, 5e-6);
}

// The worked case of a public copy: S_h 0.64, S_r 0.10, S_s 0.15, constants 0.35, together 1.24 m; with T_s held.
TEST(ContactOutside, ProtectiveSeparationWorkedCase) {
  const SeparationConstants constants{1.6, 0.10, 0.20, 0.10, 0.05};
  EXPECT_NEAR(ProtectiveSeparation_m(constants, 1.0, 0.30), 1.24, 1e-12);
  EXPECT_NEAR(ProtectiveSeparation_m(constants, 0.5, 0.30), 1.115, 1e-12);
  EXPECT_NEAR(ProtectiveSeparation_m(constants, 0.25, 0.30), 1.0525, 1e-12);
  EXPECT_NEAR(ProtectiveSeparation_m(constants, 0, 0.30), 0.99, 1e-12);
}

// T_s = v_r / a with a = 2 m/s² is another test than T_s held.
TEST(ContactOutside, ProtectiveSeparationWithStoppingTimeFromSpeed) {
  const SeparationConstants constants{1.6, 0.10, 0.20, 0.10, 0.05};
  EXPECT_NEAR(ProtectiveSeparation_m(constants, 0.25, 0.25 / 2), 0.750625, 1e-12);
  EXPECT_NEAR(ProtectiveSeparation_m(constants, 0.5, 0.5 / 2), 1.0225, 1e-12);
  EXPECT_NEAR(ProtectiveSeparation_m(constants, 1.0, 1.0 / 2), 1.66, 1e-12);
}

// Printed sensitivities: 2.6 m/s to T_r, 0.25 s to v_r, 0.40 s to v_h. The formula is linear in each, so differences are exact.
TEST(ContactOutside, ProtectiveSeparationSensitivities) {
  const SeparationConstants base{1.6, 0.10, 0.20, 0.10, 0.05};
  const double at = ProtectiveSeparation_m(base, 1.0, 0.30);
  SeparationConstants slower = base, faster = base;
  slower.reaction_s += 0.1;
  faster.human_mps += 0.1;
  EXPECT_NEAR((ProtectiveSeparation_m(slower, 1.0, 0.30) - at) / 0.1, 2.6, 1e-9);
  EXPECT_NEAR((ProtectiveSeparation_m(base, 1.1, 0.30) - at) / 0.1, 0.25, 1e-9);
  EXPECT_NEAR((ProtectiveSeparation_m(faster, 1.0, 0.30) - at) / 0.1, 0.40, 1e-9);
}

}  // namespace
}  // namespace dryrig
