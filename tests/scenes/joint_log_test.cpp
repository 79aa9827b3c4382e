// Logs of an arm's controller: what is plain is read, what can be meant one way only is repaired and told, all else is refused
// with a message that says which. One table, a broken log a row.
#include "scenes/joint_log.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <map>

#include "scenes/camera_track.h"
#include "scenes/error.h"

namespace dryrig {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

/// A rail and three turning joints.
ArmModel Arm() {
  ArmModel arm;
  arm.name = "sample";
  const auto add = [&arm](const char* name, JointKind kind, double lower, double upper, double velocity) {
    Joint joint;
    joint.name = name, joint.kind = kind, joint.lower = lower, joint.upper = upper, joint.velocity = velocity;
    arm.joints.push_back(joint);
  };
  add("rail", JointKind::kPrismatic, -1, 1, 1);
  add("shoulder", JointKind::kRevolute, -2, 2, 2);
  add("elbow", JointKind::kRevolute, -2.5, 2.5, 2);
  add("wrist", JointKind::kRevolute, -3, 3, 3);
  return arm;
}

/// What a log is written from: 4 s at 100 Hz; commanded 20 ms ahead of measured.
struct LogStyle {
  std::vector<std::string> columns{"t_s",
                                   "rail_position_m",
                                   "shoulder_position_rad",
                                   "elbow_position_rad",
                                   "wrist_position_rad",
                                   "rail_commanded_m",
                                   "shoulder_commanded_rad",
                                   "elbow_commanded_rad",
                                   "wrist_commanded_rad"};
  size_t rows = 401;
  /// Changes a row: values by place of the column.
  std::function<void(size_t row, std::vector<std::string>*)> edit = [](size_t, std::vector<std::string>*) {};
  /// Changes the values before they are printed.
  std::function<void(size_t row, std::vector<double>*)> change = [](size_t, std::vector<double>*) {};
  std::function<void(std::vector<std::string>* lines)> shuffle = [](std::vector<std::string>*) {};
};

std::vector<double> Truth(double t_s) {
  return {0.4 * std::sin(t_s), 0.8 * std::sin(0.9 * t_s), 1.2 + 0.5 * std::sin(1.3 * t_s), -0.7 * std::sin(t_s)};
}

std::string Write(const LogStyle& style) {
  std::vector<std::string> lines{fmt::format("{}", fmt::join(style.columns, ","))};
  for (size_t i = 0; i < style.rows; ++i) {
    const double t_s = static_cast<double>(i) / 100;
    std::vector<double> values{t_s};
    for (const double q : Truth(t_s)) values.push_back(q);
    for (const double q : Truth(t_s + 0.02)) values.push_back(q);
    style.change(i, &values);
    std::vector<std::string> row;
    for (const double v : values) row.push_back(fmt::format("{:.6f}", v));
    style.edit(i, &row);
    lines.push_back(fmt::format("{}", fmt::join(row, ",")));
  }
  style.shuffle(&lines);
  return fmt::format("{}\n", fmt::join(lines, "\n"));
}

JointLog Read(const std::string& text) {
  return ParseJointLog(text, "set.csv", Arm());
}

TEST(JointLog, APlainOneIsReadAsItStands) {
  const JointLog log = Read(Write({}));
  ASSERT_EQ(log.q.size(), 401u);
  EXPECT_THAT(log.notes, IsEmpty());
  EXPECT_THAT(log.gaps, IsEmpty());
  EXPECT_NEAR(log.rate_hz, 100, 1e-6);
  for (size_t i = 0; i < log.q.size(); i += 50) {
    for (int j = 0; j < 4; ++j) {
      EXPECT_NEAR(log.q[i][j], Truth(log.t_s[i])[static_cast<size_t>(j)], 1e-6);  // printed digits
      EXPECT_NEAR(log.q_commanded[i][j], Truth(log.t_s[i] + 0.02)[static_cast<size_t>(j)], 1e-6);
    }
  }
}

TEST(JointLog, UnitsAndClocksThatTheColumnsNameAreConverted) {
  LogStyle style;
  style.columns = {"t_ms", "rail_position_mm", "shoulder_position_deg", "elbow_position_rad", "wrist_position_rad"};
  style.change = [](size_t, std::vector<double>* v) {
    v->resize(5);
    (*v)[0] *= 1000, (*v)[1] *= 1000, (*v)[2] *= 180 / M_PI;
  };
  const JointLog log = Read(Write(style));
  EXPECT_NEAR(log.rate_hz, 100, 1e-6);
  for (int j = 0; j < 4; ++j) EXPECT_NEAR(log.q[200][j], Truth(2)[static_cast<size_t>(j)], 1e-6);
  EXPECT_TRUE(log.q_commanded.empty());
}

/// Broken in one way: refused with `says`, or repaired with a note that has it.
struct BrokenLog {
  const char* what;
  std::function<void(LogStyle*)> breaks;
  const char* says;
};
void Rename(LogStyle* style, const std::string& from, const std::string& to) {
  for (std::string& column : style->columns) {
    if (column == from) column = to;
  }
}
std::function<void(LogStyle*)> Changed(std::function<void(size_t, std::vector<double>*)> change) {
  return [change](LogStyle* s) { s->change = change; };
}
std::function<void(LogStyle*)> Edited(std::function<void(size_t, std::vector<std::string>*)> edit) {
  return [edit](LogStyle* s) { s->edit = edit; };
}
std::function<void(LogStyle*)> Lines(std::function<void(std::vector<std::string>*)> shuffle) {
  return [shuffle](LogStyle* s) { s->shuffle = shuffle; };
}

const std::vector<BrokenLog>& Refused() {
  static const std::vector<BrokenLog> rows{
      {"empty", Lines([](auto* l) { l->clear(); }), "no header line that names the columns; is the file empty?"},
      {"comments alone", Lines([](auto* l) {
         *l = {"# a log", "# nothing else"};
       }),
       "no header line"},
      {"a header alone", Lines([](auto* l) { l->resize(1); }), "0 rows; a log has 1 s of them at least"},
      {"one row", [](LogStyle* s) { s->rows = 1; }, "1 rows"},
      {"too short", [](LogStyle* s) { s->rows = 50; }, "0.490 s from first to last; 1 s at least"},
      {"no time", [](LogStyle* s) { Rename(s, "t_s", "stamp"); },
       "no column t_s, t_ms, t_us or t_ns for the time; found stamp, rail_position_m"},
      {"two time columns", [](LogStyle* s) { Rename(s, "wrist_commanded_rad", "t_ms"); }, "the time stands in two columns"},
      {"a joint missing", [](LogStyle* s) { Rename(s, "elbow_position_rad", "spare"); },
       "no column elbow_position_rad for joint \"elbow\" of arm sample"},
      {"a joint misspelt", [](LogStyle* s) { Rename(s, "elbow_position_rad", "elbwo_position_rad"); },
       "did you mean \"elbwo_position_rad\"?"},
      {"a column twice", [](LogStyle* s) { Rename(s, "elbow_position_rad", "rail_position_m"); },
       "the column rail_position_m stands twice"},
      {"a joint in two units", [](LogStyle* s) { Rename(s, "wrist_commanded_rad", "elbow_position_deg"); },
       "joint \"elbow\" stands in two units"},
      {"a turning joint in metres", [](LogStyle* s) { Rename(s, "elbow_position_rad", "elbow_position_m"); },
       "no column elbow_position_rad"},
      {"commanded of three joints", [](LogStyle* s) { Rename(s, "wrist_commanded_rad", "temperature"); },
       "3 of 4 joints have a commanded column; \"wrist\" has none"},
      {"degrees as radians", Changed([](size_t, auto* v) { (*v)[2] *= 180 / M_PI; }),
       "joint \"shoulder\": its position reaches 45.84 rad, beyond its range, and fits as degrees"},
      {"commanded degrees as radians", Changed([](size_t, auto* v) { (*v)[7] *= 180 / M_PI; }),
       "joint \"elbow\": its commanded position reaches"},
      {"millimetres as metres", Changed([](size_t, auto* v) { (*v)[1] *= 1000; }),
       "its position reaches 400 m, beyond its range, and fits as millimetres"},
      {"radians as degrees",
       [](LogStyle* s) {
         for (std::string& c : s->columns) {
           if (c.ends_with("_rad")) c.replace(c.size() - 3, 3, "deg");
         }
       },
       "as radians they fit. Name the columns _rad"},
      {"outside the range in any unit", Changed([](size_t, auto* v) { (*v)[3] += 200; }), "joint \"elbow\": 1.156e+04 deg at"},
      {"a zero that is another", Changed([](size_t, auto* v) { (*v)[3] += 1.0; }), "another arm, zero or sign?"},
      {"two joints exchanged", [](LogStyle* s) { std::swap(s->columns[2], s->columns[3]); },
       "joint \"shoulder\": measured and commanded differ"},
      {"a single spike", Changed([](size_t i, auto* v) { (*v)[4] += i == 200 ? 0.9 : 0; }),
       "joint \"wrist\" goes 90.29 rad/s at 2.000 s, its limit is 3"},
      {"a clock that stood", Changed([](size_t i, auto* v) {
         (*v)[0] = i < 200 ? i * 0.01 : i < 300 ? 2 + (i - 200) * 1e-4 : 2.01 + (i - 300) * 0.01;
       }),
       "a jump, or a clock that stopped?"},
      {"two clocks", Changed([](size_t i, auto* v) { (*v)[0] -= i >= 200 ? 2 : 0; }),
       "the time goes back from 1.990 s to 0.000 s: two clocks or two logs in one file"},
      {"two logs, one after another", Lines([](auto* l) {
         const auto copy = *l;
         l->insert(l->end(), copy.begin() + 1, copy.end());
       }),
       "two clocks or two logs in one file"},
      {"a pause of two seconds", Changed([](size_t i, auto* v) { (*v)[0] += i >= 200 ? 2 : 0; }),
       "a gap of more than 1 s is not bridged"},
      {"milliseconds as seconds", Changed([](size_t, auto* v) { (*v)[0] *= 1000; }),
       "0.1 rows a second by t_s; 10 to 5000 are read. Is the time in milliseconds?"},
      {"seconds as milliseconds", [](LogStyle* s) { Rename(s, "t_s", "t_ms"); }, "1e+05 rows a second by t_ms"},
      {"a time that stands still", Changed([](size_t, auto* v) { (*v)[0] = 7; }),
       "two rows at 7.000000 s with different positions"},
      {"times of too few digits", Edited([](size_t i, auto* r) { (*r)[0] = fmt::format("{:.1f}", std::floor(i / 10.0) / 10); }),
       "with different positions"},
      {"a row without a time", Edited([](size_t i, auto* r) {
         if (i == 9) (*r)[0] = "";
       }),
       "set.csv:11: a row without a time"},
      {"a word for a number", Edited([](size_t i, auto* r) {
         if (i == 9) (*r)[3] = "fault";
       }),
       "set.csv:11: elbow_position_rad: expected a number, found \"fault\""},
      {"infinity", Edited([](size_t i, auto* r) {
         if (i == 9) (*r)[3] = "inf";
       }),
       "expected a number, found \"inf\""},
      {"decimal commas", Lines([](auto* l) {
         for (std::string& s : *l)
           for (char& c : s) c = c == ',' ? ';' : c == '.' ? ',' : c;
       }),
       "the decimal mark is a point"},
      {"a row cut short in the middle", Edited([](size_t i, auto* r) {
         if (i == 9) r->resize(4);
       }),
       "set.csv:11: 4 fields, the header names 9"},
      {"one field too many", Edited([](size_t i, auto* r) {
         if (i == 9) r->push_back("1");
       }),
       "10 fields, the header names 9"},
      {"a joint that is mostly missing", Edited([](size_t i, auto* r) {
         if (i % 3) (*r)[2] = "";
       }),
       "rows lack a joint's number; at most 20 % may"},
      {"no measured columns",
       [](LogStyle* s) {
         for (std::string& c : s->columns)
           if (c.find("_position") != std::string::npos) c = "x" + c.substr(1, 3);
       },
       "no column rail_position_m"},
      {"a focal length of nothing",
       [](LogStyle* s) {
         s->columns.push_back("focal_mm");
         s->edit = [](size_t, auto* r) { r->push_back("0"); };
       },
       "focal_mm: 0 is not positive"},
      {"no focal length at first",
       [](LogStyle* s) {
         s->columns.push_back("focal_mm");
         s->edit = [](size_t i, auto* r) { r->push_back(i < 5 ? "" : "18"); };
       },
       "focal_mm: no number in the first row"},
  };
  return rows;
}

const std::vector<BrokenLog>& Repaired() {
  static const std::vector<BrokenLog> rows{
      {"reversed time", Lines([](auto* l) { std::reverse(l->begin() + 1, l->end()); }),
       "rows stood in reversed order of time: turned round"},
      {"two rows exchanged", Lines([](auto* l) { std::swap((*l)[100], (*l)[101]); }),
       "1 rows were out of order by up to 0.010 s: sorted"},
      {"a row that stands twice", Lines([](auto* l) { l->insert(l->begin() + 100, (*l)[100]); }),
       "1 rows stand twice: the second left out"},
      {"a last row cut short", [](LogStyle*) {}, "the last row is cut short: left out"},
      {"empty fields", Edited([](size_t i, auto* r) {
         if (i == 50 || i == 51) (*r)[3] = "";
       }),
       "2 rows lack a joint's number: left out"},
      {"NaN by word", Edited([](size_t i, auto* r) {
         if (i == 50) (*r)[3] = "nan";
       }),
       "1 rows lack a joint's number"},
      {"an encoder that starts over", Changed([](size_t i, auto* v) {
         if (i >= 200) (*v)[2] -= 2 * M_PI;
       }),
       "joint \"shoulder\" jumps by whole turns 1 times: taken out"},
      {"columns passed over",
       [](LogStyle* s) {
         s->columns.push_back("motor_temperature");
         s->edit = [](size_t, auto* r) { r->push_back("40"); };
       },
       "columns passed over: motor_temperature"},
      {"a clock that counts from elsewhere", Changed([](size_t, auto* v) { (*v)[0] += 1.7e9; }),
       "its clock stands at 1700000000.000 s at the first row"},
  };
  return rows;
}

std::string WriteBroken(const BrokenLog& row) {
  LogStyle style;
  row.breaks(&style);
  std::string text = Write(style);
  if (std::string(row.what) == "a last row cut short") text.resize(text.size() - 20);
  return text;
}

TEST(JointLog, WhatCannotBeMeantIsRefusedWithAMessageThatSaysWhich) {
  int refused = 0;
  for (const BrokenLog& row : Refused()) {
    try {
      Read(WriteBroken(row));
      ADD_FAILURE() << row.what << ": taken";
    } catch (const InputError& error) {
      ++refused;
      EXPECT_THAT(error.what(), HasSubstr(row.says)) << row.what;
      EXPECT_THAT(error.what(), HasSubstr("set.csv")) << row.what;
    }
  }
  EXPECT_GE(refused, 38);
}

TEST(JointLog, WhatCanBeMeantOneWayIsRepairedAndTold) {
  for (const BrokenLog& row : Repaired()) {
    const JointLog log = Read(WriteBroken(row));
    EXPECT_THAT(log.notes, Contains(HasSubstr(row.says))) << row.what;
    ASSERT_GE(log.q.size(), 399u) << row.what;
    for (size_t i = 0; i < log.q.size(); ++i) {
      const double t_s = log.t_s[i] > 1e6 ? log.t_s[i] - 1.7e9 : log.t_s[i];
      for (int j = 0; j < 4; ++j) ASSERT_NEAR(log.q[i][j], Truth(t_s)[static_cast<size_t>(j)], 2e-6) << row.what << i;
    }
  }
}

TEST(JointLog, ColumnsWithoutUnitAreReadAsTheOneThatFits) {
  for (const bool degrees : {false, true}) {
    LogStyle style;
    style.columns = {"t_s", "rail", "shoulder", "elbow", "wrist"};
    style.change = [degrees](size_t, std::vector<double>* v) {
      v->resize(5);
      for (size_t c = 1; degrees && c < 5; ++c) (*v)[c] *= c == 1 ? 1000 : 180 / M_PI;
    };
    const JointLog log = Read(Write(style));
    EXPECT_THAT(log.notes, Contains(HasSubstr(degrees ? "as degrees (mm for sliding joints) alone" : "taken as radians")));
    for (int j = 0; j < 4; ++j) EXPECT_NEAR(log.q[150][j], Truth(1.5)[static_cast<size_t>(j)], 1e-5);
  }
}

TEST(JointLog, AGapIsMarkedAndAnotherArmsLogRefused) {
  LogStyle style;
  style.change = [](size_t i, std::vector<double>* v) { (*v)[0] += i >= 200 ? 0.05 : 0; };
  const JointLog log = Read(Write(style));
  ASSERT_EQ(log.gaps.size(), 1u);
  EXPECT_NEAR(log.gaps[0].from_s, 1.99, 1e-9);
  EXPECT_NEAR(log.gaps[0].to_s, 2.05, 1e-9);
  LogStyle other;
  for (size_t c = 5; c < 9; ++c) other.columns[c] = fmt::format("axis{}_position_rad", c);
  try {
    Read(Write(other));
    ADD_FAILURE() << "taken";
  } catch (const InputError& error) {
    EXPECT_THAT(error.what(), HasSubstr("axis5_position_rad is a joint that arm sample has not; is it another arm's log?"));
  }
  LogStyle still;
  still.change = [](size_t, std::vector<double>* v) {
    for (size_t c = 1; c < 5; ++c) (*v)[c] = 0.3, (*v)[c + 4] = 0.3 + 0.1 * std::sin((*v)[0]);
  };
  EXPECT_THROW(Read(Write(still)), InputError);
}

TEST(CameraTrack, IsReadAndBrokenOnesAreRefused) {
  const auto write = [](const char* head, double metres, double norm, double step_s) {
    std::string text = std::string(head) + "\n";
    for (int i = 0; i < 200; ++i) {
      text += fmt::format("{:.4f},{:.6f},{:.6f},{:.6f},0,0,{:.6f},{:.6f}\n", i * step_s, metres * 0.3, metres * 0.4,
                          metres * (1 + 0.001 * i), norm * std::sin(0.01 * i), norm * std::cos(0.01 * i));
    }
    return text;
  };
  constexpr const char* kHead = "t_s,x_m,y_m,z_m,qx,qy,qz,qw";
  const CameraTrack track = ParseCameraTrack(write(kHead, 1, 1, 0.01), "cam.csv");
  EXPECT_NEAR(track.rate_hz, 100, 1e-6);
  EXPECT_NEAR(track.X_WC[100].translation().z(), 1.1, 1e-6);
  EXPECT_NEAR(Eigen::AngleAxisd(track.X_WC[100].linear()).angle(), 2, 1e-5);
  EXPECT_NEAR(ParseCameraTrack(write("t_s,x_mm,y_mm,z_mm,qx,qy,qz,qw", 1000, 1, 0.01), "cam.csv").X_WC[0].translation().z(), 1,
              1e-9);
  const std::vector<std::pair<std::string, const char*>> rows{
      {"", "is the file empty?"},
      {write("t_s,x_m,y_m,z_m,qx,qy,qz,w", 1, 1, 0.01), "no column qw"},
      {write("t,x_m,y_m,z_m,qx,qy,qz,qw", 1, 1, 0.01), "no column t_s"},
      {write(kHead, 1000, 1, 0.01), "are these millimetres?"},
      {write(kHead, 1, 1.5, 0.01), "is no rotation"},
      {write(kHead, 1, 1, -0.01), "two clocks, or rows out of order"},
      {write(kHead, 1, 1, 10), "Is the time in t_s?"},
      {write(kHead, 1, 1, 0.001), "1 s of them at least"},
      {std::string(kHead) + "\n0,1,1,1,0,0,0,1\n", "1 poses"},
  };
  for (const auto& [text, says] : rows) {
    try {
      ParseCameraTrack(text, "cam.csv");
      ADD_FAILURE() << says;
    } catch (const InputError& error) {
      EXPECT_THAT(error.what(), HasSubstr(says));
    }
  }
}

}  // namespace
}  // namespace dryrig
