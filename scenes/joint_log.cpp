#include "scenes/joint_log.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>
#include <numeric>

#include "scenes/error.h"
#include "scenes/joint_samples.h"
#include "scenes/number_table.h"

namespace dryrig {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kLeastRate_hz = 10, kMostRate_hz = 5000, kLeast_s = 1;
constexpr double kMostGap_s = 1, kLeastGap_s = 0.02, kGapSteps = 3;
constexpr double kMostBack_s = 0.5;   // rows disturbed by more than that are of two clocks
constexpr double kMostMissing = 0.2;  // share of rows without whole numbers
constexpr double kSpeedSlack = 1.5;   // times the velocity limit: differences of noisy samples
constexpr double kFollowed = 0.35;    // rad, m: commanded and measured differ by less, typically

struct TimeColumn {
  const char* name;
  double seconds;
};
constexpr TimeColumn kTimes[] = {{"t_s", 1}, {"t_ms", 1e-3}, {"t_us", 1e-6}, {"t_ns", 1e-9}};

/// Where one joint's numbers stand in the table, and what one of them is in rad or m. `factor` 0: not told.
struct JointColumn {
  int column = -1;
  double factor = 0;
};

class LogReader {
 public:
  LogReader(const NumberTable& table, const std::string& file, const ArmModel& arm) : table_(table), file_(file), arm_(arm) {}

  JointLog Read() {
    out_.name = std::filesystem::path(file_).stem().string();
    FindColumns();
    if (table_.cut_short) out_.notes.emplace_back("the last row is cut short: left out");
    OrderRows();
    DropBrokenRows();
    Times();
    Values(position_, &out_.q);
    Unwrap(&out_.q);
    RequireUnits(&position_, &out_.q, "position");
    RequireRange(out_.q);
    RequireSpeed();
    if (commanded_.front().column >= 0) ReadCommanded();
    Lens("focal_mm", 1e-3, &out_.focal_m);
    Lens("focus_m", 1, &out_.focus_m);
    return std::move(out_);
  }

 private:
  [[noreturn]] void Fail(const std::string& message, size_t row = SIZE_MAX) const {
    throw InputError({file_, row == SIZE_MAX ? 0 : table_.lines[row]}, message);
  }
  const Joint& JointAt(int j) const { return arm_.joints[static_cast<size_t>(j)]; }
  double At(size_t row, int column) const { return table_.rows[row][static_cast<size_t>(column)]; }

  JointColumn FindJoint(const Joint& joint, const std::string& quantity, bool bare) {
    const bool turns = joint.kind == JointKind::kRevolute;
    const std::pair<const char*, double> units[] = {{turns ? "rad" : "m", 1}, {turns ? "deg" : "mm", turns ? kPi / 180 : 1e-3}};
    JointColumn out;
    for (const auto& [unit, factor] : units) {
      const int column = table_.Find(fmt::format("{}_{}_{}", joint.name, quantity, unit));
      if (column < 0) continue;
      if (out.column >= 0) Fail(fmt::format("joint \"{}\" stands in two units; keep one", joint.name));
      out = {column, factor};
    }
    if (out.column < 0 && bare) out.column = table_.Find(joint.name);
    if (out.column >= 0) used_[static_cast<size_t>(out.column)] = true;
    return out;
  }

  void FindColumns() {
    used_.assign(table_.columns.size(), false);
    int time = -1;
    for (const TimeColumn& one : kTimes) {
      const int column = table_.Find(one.name);
      if (column < 0) continue;
      if (time >= 0) Fail("the time stands in two columns; keep one clock");
      time = column, seconds_ = one.seconds;
    }
    if (time < 0) Fail(fmt::format("no column t_s, t_ms, t_us or t_ns for the time{}", Found()));
    time_ = time;
    used_[static_cast<size_t>(time)] = true;
    for (const Joint& joint : arm_.joints) {
      position_.push_back(FindJoint(joint, "position", true));
      commanded_.push_back(FindJoint(joint, "commanded", false));
    }
    for (int j = 0; j < arm_.dof(); ++j) {
      if (position_[static_cast<size_t>(j)].column >= 0) continue;
      const std::string wanted =
          fmt::format("{}_position_{}", JointAt(j).name, JointAt(j).kind == JointKind::kRevolute ? "rad" : "m");
      std::vector<std::string> spare;
      for (size_t c = 0; c < used_.size(); ++c) {
        if (!used_[c]) spare.push_back(table_.columns[c]);
      }
      Fail(fmt::format("no column {} for joint \"{}\" of arm {}{}", wanted, JointAt(j).name, arm_.name, Suggest(wanted, spare)));
    }
    const auto has = [](const JointColumn& column) { return column.column >= 0; };
    const auto commanded = std::count_if(commanded_.begin(), commanded_.end(), has);
    if (commanded != 0 && commanded != arm_.dof()) {
      const auto missing = std::find_if_not(commanded_.begin(), commanded_.end(), has) - commanded_.begin();
      Fail(
          fmt::format("{} of {} joints have a commanded column; \"{}\" has "
                      "none. Give all or none",
                      commanded, arm_.dof(), JointAt(static_cast<int>(missing)).name));
    }
    for (const char* lens : {"focal_mm", "focus_m"}) {
      if (const int column = table_.Find(lens); column >= 0) used_[static_cast<size_t>(column)] = true;
    }
    std::string unused;
    for (size_t c = 0; c < used_.size(); ++c) {
      if (used_[c]) continue;
      for (const char* end : {"_position_rad", "_position_deg", "_position_m", "_position_mm"}) {
        if (table_.columns[c].ends_with(end))
          Fail(fmt::format("{} is a joint that arm {} has not; is it another arm's log?", table_.columns[c], arm_.name));
      }
      unused += (unused.empty() ? "" : ", ") + table_.columns[c];
    }
    if (!unused.empty()) out_.notes.push_back(fmt::format("columns passed over: {}", unused));
  }
  std::string Found() const {
    std::string out;
    for (const std::string& column : table_.columns) out += (out.empty() ? "; found " : ", ") + column;
    return out;
  }

  double TimeAt(size_t row) const { return At(row, time_) * seconds_; }

  void OrderRows() {
    order_.resize(table_.rows.size());
    std::iota(order_.begin(), order_.end(), size_t{0});
    for (const size_t row : order_) {
      if (std::isnan(TimeAt(row))) Fail("a row without a time", row);
    }
    if (order_.size() < 2) Fail(fmt::format("{} rows; a log has {} s of them at least", order_.size(), kLeast_s));
    size_t back = 0, back_row = 0;
    double most_s = 0;
    for (size_t row = 1; row < order_.size(); ++row) {
      const double step_s = TimeAt(row) - TimeAt(row - 1);
      if (step_s < 0) ++back;
      if (-step_s > most_s) most_s = -step_s, back_row = row;
    }
    if (back == 0) return;
    if (back == order_.size() - 1) {
      std::reverse(order_.begin(), order_.end());
      out_.notes.emplace_back("rows stood in reversed order of time: turned round");
      return;
    }
    if (most_s > kMostBack_s) {
      Fail(fmt::format("the time goes back from {:.3f} s to {:.3f} s: two "
                       "clocks or two logs in one file; cut it there",
                       TimeAt(back_row - 1), TimeAt(back_row)),
           back_row);
    }
    std::stable_sort(order_.begin(), order_.end(), [this](size_t a, size_t b) { return TimeAt(a) < TimeAt(b); });
    out_.notes.push_back(fmt::format("{} rows were out of order by up to {:.3f} s: sorted", back, most_s));
  }

  bool Whole(size_t row) const {
    const auto nan = [&](const JointColumn& c) { return c.column >= 0 && std::isnan(At(row, c.column)); };
    return std::none_of(position_.begin(), position_.end(), nan) && std::none_of(commanded_.begin(), commanded_.end(), nan);
  }

  void DropBrokenRows() {
    std::vector<size_t> kept;
    size_t missing = 0, twice = 0;
    for (const size_t row : order_) {
      if (!Whole(row)) {
        ++missing;
        continue;
      }
      if (!kept.empty() && TimeAt(row) - TimeAt(kept.back()) < 1e-9) {
        for (const JointColumn& c : position_) {
          if (At(row, c.column) != At(kept.back(), c.column)) {
            Fail(fmt::format("two rows at {:.6f} s with different positions (the other "
                             "on line {}); two clocks, or too few digits?",
                             TimeAt(row), table_.lines[kept.back()]),
                 row);
          }
        }
        ++twice;
        continue;
      }
      kept.push_back(row);
    }
    if (static_cast<double>(missing) > kMostMissing * static_cast<double>(order_.size())) {
      Fail(fmt::format("{} of {} rows lack a joint's number; at most {:.0f} % may", missing, order_.size(), 100 * kMostMissing));
    }
    if (missing > 0) out_.notes.push_back(fmt::format("{} rows lack a joint's number: left out", missing));
    if (twice > 0) out_.notes.push_back(fmt::format("{} rows stand twice: the second left out", twice));
    order_ = std::move(kept);
  }

  void Times() {
    for (const size_t row : order_) out_.t_s.push_back(TimeAt(row));
    std::vector<double> steps;
    for (size_t i = 1; i < out_.t_s.size(); ++i) steps.push_back(out_.t_s[i] - out_.t_s[i - 1]);
    const double length_s = out_.t_s.empty() ? 0 : out_.end_s() - out_.start_s();
    if (steps.empty()) Fail("no row with a whole number for every joint");
    const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
    std::nth_element(steps.begin(), middle, steps.end());
    out_.rate_hz = 1 / *middle;
    if (!(out_.rate_hz >= kLeastRate_hz && out_.rate_hz <= kMostRate_hz)) {
      Fail(fmt::format("{:.4g} rows a second by {}; {} to {} are read. Is the time in {}?", out_.rate_hz,
                       table_.columns[static_cast<size_t>(time_)], kLeastRate_hz, kMostRate_hz,
                       out_.rate_hz < kLeastRate_hz ? "milliseconds" : "seconds"));
    }
    if (length_s < kLeast_s) Fail(fmt::format("{:.3f} s from first to last; {} s at least", length_s, kLeast_s));
    for (size_t i = 1; i < out_.t_s.size(); ++i) {
      const double step_s = out_.t_s[i] - out_.t_s[i - 1];
      if (step_s <= std::max(kGapSteps / out_.rate_hz, kLeastGap_s)) continue;
      if (step_s > kMostGap_s) {
        Fail(fmt::format("nothing between {:.3f} s and {:.3f} s; a gap of more "
                         "than {} s is not bridged. Cut the log there",
                         out_.t_s[i - 1], out_.t_s[i], kMostGap_s),
             order_[i]);
      }
      out_.gaps.push_back({out_.t_s[i - 1], out_.t_s[i]});
    }
    if (std::abs(out_.start_s()) > 1e6)
      out_.notes.push_back(fmt::format("its clock stands at {:.3f} s at the first row", out_.start_s()));
  }

  void Values(const std::vector<JointColumn>& columns, JointSamples* out) const {
    for (const size_t row : order_) {
      Eigen::VectorXd q(arm_.dof());
      for (int j = 0; j < arm_.dof(); ++j) {
        const JointColumn& c = columns[static_cast<size_t>(j)];
        q[j] = At(row, c.column) * (c.factor == 0 ? 1 : c.factor);
      }
      out->push_back(std::move(q));
    }
  }

  static double Smaller(const Joint& joint) { return joint.kind == JointKind::kRevolute ? kPi / 180 : 1e-3; }

  /// Bare columns get the unit in which all of them fit; columns with one are
  /// refused where the other is meant.
  void RequireUnits(std::vector<JointColumn>* columns, JointSamples* q, const char* quantity) {
    bool bare = false, fits = true, fits_smaller = true;
    for (int j = 0; j < arm_.dof(); ++j) {
      const JointColumn& c = (*columns)[static_cast<size_t>(j)];
      if (c.factor != 0) continue;
      bare = true;
      fits = fits && FitsRange(JointAt(j), *q, j, 1);
      fits_smaller = fits_smaller && FitsRange(JointAt(j), *q, j, Smaller(JointAt(j)));
    }
    if (bare && !fits && fits_smaller) {
      for (int j = 0; j < arm_.dof(); ++j) {
        if ((*columns)[static_cast<size_t>(j)].factor != 0) continue;
        for (Eigen::VectorXd& at : *q) at[j] *= Smaller(JointAt(j));
      }
      out_.notes.emplace_back(
          "joint columns name no unit; their values fit the arm's ranges as "
          "degrees (mm for sliding joints) alone");
    } else if (bare) {
      out_.notes.emplace_back(
          "joint columns name no unit: taken as radians (m "
          "for sliding joints)");
    }
    double most = 0, most_as_rad = 0;
    bool all_degrees = true, fit_as_rad = true;
    for (int j = 0; j < arm_.dof(); ++j) {
      const JointColumn& c = (*columns)[static_cast<size_t>(j)];
      const bool turns = JointAt(j).kind == JointKind::kRevolute;
      const double widest = std::max(std::abs(JointAt(j).lower), std::abs(JointAt(j).upper));
      const bool far = std::abs(ExtremeOf(*q, j)) > 2 * widest;  // else it is a little out of range
      if (c.factor == 1 && far && !FitsRange(JointAt(j), *q, j, 1) && FitsRange(JointAt(j), *q, j, Smaller(JointAt(j)))) {
        Fail(
            fmt::format("joint \"{}\": its {} reaches {:.4g} {}, beyond its range, and "
                        "fits as {}; name the column _{} or mend the "
                        "values",
                        JointAt(j).name, quantity, ExtremeOf(*q, j), turns ? "rad" : "m", turns ? "degrees" : "millimetres",
                        turns ? "deg" : "mm"));
      }
      if (!turns) continue;
      all_degrees = all_degrees && c.factor != 0 && c.factor != 1;
      most = std::max(most, std::abs(ExtremeOf(*q, j)) * 180 / kPi);
      most_as_rad = std::max(most_as_rad, std::abs(ExtremeOf(*q, j)) / Smaller(JointAt(j)));
      fit_as_rad = fit_as_rad && FitsRange(JointAt(j), *q, j, 180 / kPi);
    }
    if (all_degrees && most < 7 && most_as_rad > 1 && fit_as_rad) {
      Fail(
          fmt::format("no joint's {} leaves ±{:.2f} deg, a stretched arm that "
                      "hardly moves; as radians they fit. Name the columns "
                      "_rad or mend the values",
                      quantity, most));
    }
  }
  /// An encoder that starts over after a turn.
  void Unwrap(std::vector<Eigen::VectorXd>* q) {
    for (int j = 0; j < arm_.dof(); ++j) {
      if (JointAt(j).kind != JointKind::kRevolute) continue;
      const int jumps = UnwrapTurns(q, j);
      if (jumps > 0)
        out_.notes.push_back(fmt::format("joint \"{}\" jumps by whole turns {} times: taken out", JointAt(j).name, jumps));
    }
  }

  void RequireRange(const JointSamples& q) const {
    for (int j = 0; j < arm_.dof(); ++j) {
      const Joint& joint = JointAt(j);
      if (FitsRange(joint, q, j, 1)) continue;
      const bool turns = joint.kind == JointKind::kRevolute;
      const double unit = turns ? 180 / kPi : 1000;
      const auto worst = std::max_element(q.begin(), q.end(), [&](const Eigen::VectorXd& a, const Eigen::VectorXd& b) {
        const auto out = [&](double v) { return std::max(v - joint.upper, joint.lower - v); };
        return out(a[j]) < out(b[j]);
      });
      const auto i = static_cast<size_t>(worst - q.begin());
      Fail(fmt::format("joint \"{}\": {:.4g} {} at {:.3f} s is outside its "
                       "range, {:.4g} to {:.4g}; another arm, zero or sign?",
                       joint.name, (*worst)[j] * unit, turns ? "deg" : "mm", out_.t_s[i], joint.lower * unit, joint.upper * unit),
           order_[i]);
    }
  }

  void RequireSpeed() const {
    for (size_t i = 1; i < out_.q.size(); ++i) {
      const double step_s = out_.t_s[i] - out_.t_s[i - 1];
      for (int j = 0; j < arm_.dof(); ++j) {
        const double speed = std::abs(out_.q[i][j] - out_.q[i - 1][j]) / step_s;
        const bool turns = JointAt(j).kind == JointKind::kRevolute;
        // Printed numbers of few digits jump by their last: an allowance of a
        // tenth of a degree or millimetre.
        const double most = kSpeedSlack * JointAt(j).velocity + (turns ? kPi / 1800 : 1e-4) / step_s;
        if (speed <= most) continue;
        Fail(fmt::format("joint \"{}\" goes {:.4g} {}/s at {:.3f} s, its limit "
                         "is {:.4g}; a jump, or a clock that stopped?",
                         JointAt(j).name, speed, turns ? "rad" : "m", out_.t_s[i], JointAt(j).velocity),
             order_[i]);
      }
    }
  }

  void ReadCommanded() {
    Values(commanded_, &out_.q_commanded);
    Unwrap(&out_.q_commanded);
    RequireUnits(&commanded_, &out_.q_commanded, "commanded position");
    bool moved = false, followed = false;
    for (int j = 0; j < arm_.dof(); ++j) {
      std::vector<double> off;
      for (size_t i = 0; i < out_.q.size(); ++i) off.push_back(std::abs(out_.q[i][j] - out_.q_commanded[i][j]));
      const auto middle = off.begin() + static_cast<std::ptrdiff_t>(off.size() / 2);
      std::nth_element(off.begin(), middle, off.end());
      if (*middle > kFollowed) {
        Fail(
            fmt::format("joint \"{}\": measured and commanded differ by {:.3g} "
                        "{} half of the time; columns exchanged, or units?",
                        JointAt(j).name, *middle, JointAt(j).kind == JointKind::kRevolute ? "rad" : "m"));
      }
      moved = moved || TravelOf(out_.q_commanded, j) > 0.02;
      followed = followed || TravelOf(out_.q, j) > 0.002;
    }
    if (moved && !followed)
      Fail(
          "the measured joints stand still while the commanded ones move; is "
          "the log of another session?");
  }
  void Lens(const char* name, double factor, std::vector<double>* out) {
    const int column = table_.Find(name);
    if (column < 0) return;
    for (const size_t row : order_) {
      const double value = At(row, column) * factor;
      if (std::isnan(value) && out->empty()) Fail(fmt::format("{}: no number in the first row", name), row);
      if (value <= 0) Fail(fmt::format("{}: {} is not positive", name, At(row, column)), row);
      out->push_back(std::isnan(value) ? out->back() : value);
    }
  }

  const NumberTable& table_;
  const std::string& file_;
  const ArmModel& arm_;
  int time_ = 0;
  double seconds_ = 1;
  std::vector<bool> used_;
  std::vector<JointColumn> position_, commanded_;
  std::vector<size_t> order_;
  JointLog out_;
};

}  // namespace

JointLog ParseJointLog(std::string_view text, const std::string& file_name, const ArmModel& arm) {
  const NumberTable table = ParseNumberTable(text, file_name);
  return LogReader(table, file_name, arm).Read();
}

}  // namespace dryrig
