#pragma once

#include <string>
#include <vector>

#include "metrics/plan_check.h"

namespace dryrig {

/// What the first lines of a joint trajectory say: for whom it was planned, that they will not move so again, what was checked.
std::vector<std::string> JointNotice(const Take& take, const ArmModel& arm, const JointPlan& plan, const PlanCheck& check,
                                     double least_m, const BuiltTogether& together);

/// Forms of a joint trajectory, by the file's ending.
enum class JointForm { kYaml, kJson, kCsv };
/// @throws InputError for an ending that is none of .yaml, .yml, .json, .csv.
JointForm JointFormOf(const std::string& file);

/// YAML and JSON have the fields of trajectory_msgs/JointTrajectory (header, joint_names, points with positions, velocities,
/// accelerations, effort, time_from_start); the notice is YAML comments, in JSON one more field `notice` before them. CSV: the
/// notice as lines with #, then a header line with units. Numbers read back to the plan's bits.
std::string JointText(const ArmModel& arm, const JointPlan& plan, const std::vector<std::string>& notice, JointForm form);

/// One sentence a broken limit: joint or pair, time, value, limit.
std::string BreachText(const PlanBreach& breach);

/// What `export TAKE --joints FILE` is asked for.
struct JointExport {
  std::string file, arm, park;  // park: empty: the arm's home
  double rate_hz = 100, least_mm = 100;
  std::vector<std::string> together;  // `BODY:BODY`, see BuiltTogether
};
/// Writes the file and answers 0, or writes nothing, tells each broken limit on standard error and answers 1. @throws InputError,
/// RunError.
int ExportJoints(const std::string& take, const JointExport& options);

}  // namespace dryrig
