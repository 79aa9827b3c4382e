#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "scenes/arm.h"

namespace dryrig {

/// A stretch of a log without samples, or without whole ones, on the log's
/// clock.
struct LogGap {
  double from_s = 0, to_s = 0;
};

/// What an arm's controller logged: joints as measured and, where they are in
/// the file, as commanded; a row a sample, a column a joint in the arm's order,
/// rad or m.
struct JointLog {
  std::string name;         // file stem
  std::vector<double> t_s;  // strictly increasing, on the log's clock
  std::vector<Eigen::VectorXd> q,
      q_commanded;                       // one a sample; q_commanded is empty where the file has none
  std::vector<double> focal_m, focus_m;  // one a sample; empty: not in the file
  double rate_hz = 0;                    // from the median step
  std::vector<LogGap> gaps;              // steps of more than three times the median, and more than 20 ms
  std::vector<std::string> notes;        // what was repaired or taken for granted, one sentence each

  double start_s() const { return t_s.front(); }
  double end_s() const { return t_s.back(); }
};

/// A joint log as CSV: lines with # are comments; a header line names the
/// columns, in any order:
///   t_s, t_ms, t_us or t_ns                     the log's clock
///   JOINT_position_rad (_deg; sliding: _m, _mm)  as measured, every joint of
///   the arm JOINT_commanded_rad (...)                    as commanded; all
///   joints or none focal_mm, focus_m                            of the lens
/// A bare JOINT is its position, in a unit that the values tell. Other columns
/// are passed over, with a note. What can only be meant one way is repaired and
/// told: rows in reversed or slightly disturbed order, rows that stand twice, a
/// last row cut short, empty fields, whole turns that an encoder jumped by. All
/// else is refused: units that contradict the joint's range, two clocks in one
/// file, jumps no joint can make, gaps of more than a second. @throws
/// InputError (file:line).
JointLog ParseJointLog(std::string_view text, const std::string& file_name, const ArmModel& arm);

}  // namespace dryrig
