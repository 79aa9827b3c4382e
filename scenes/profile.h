#pragma once

#include <array>
#include <filesystem>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace dryrig {

/// What a profile may enforce.
enum class ClearanceRule {
  kSpeed,       // no point of arm or camera faster than `tool_speed`
  kSeparation,  // protective separation from every part of the person
  kContact,     // permissible speed where a contact could be, by body region
  kHead,        // no contact with head and face: the arm can always stop short of them
  kClamping,    // permissible speed and force where a part of the body could be pressed against something
};
inline constexpr std::array kClearanceRules{ClearanceRule::kSpeed, ClearanceRule::kSeparation, ClearanceRule::kContact,
                                            ClearanceRule::kHead, ClearanceRule::kClamping};
std::string_view ToString(ClearanceRule rule);

/// A number of a profile in SI, and where it is from.
struct ProfileTerm {
  double value = 0;
  std::string source;
};

/// Numbers of a body region that a profile sets in place of Annex A's; 0: as there.
struct RegionChange {
  double force_N = 0;           // quasi-static
  double transient_factor = 0;  // of that force; 1 and a region is one where no contact is accepted
};

/// By what limits nearness is judged. A profile gives every term, so that what it does not enforce is told too.
struct Profile {
  std::string name, title;
  std::vector<ClearanceRule> enforced;  // at least one
  ProfileTerm tool_speed;               // m/s
  ProfileTerm human_speed;              // m/s, of the constant-speed form
  bool measured = false;                // separation enforced by the person's own speed in place of that
  ProfileTerm reaction;                 // s, T_r: from what happens to the brakes' beginning
  ProfileTerm intrusion;                // m, C
  ProfileTerm person_error;             // m, Z_d
  ProfileTerm robot_error;              // m, Z_r
  ProfileTerm watch;                    // m: nearer than this a contact could be
  ProfileTerm press_limit;              // N: the robot's own limit of what it presses with; 0: it has none
  std::map<std::string, RegionChange> regions;
  std::string text;

  bool Enforces(ClearanceRule rule) const;
};

/// @throws InputError (file:line:column).
Profile ReadProfile(const std::filesystem::path& file);
Profile ParseProfile(const std::string& text, const std::string& file_name);

}  // namespace dryrig
