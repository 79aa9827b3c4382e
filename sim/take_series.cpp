#include "sim/take_series.h"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>

#include "scenes/error.h"

namespace dryrig {

namespace {

/// Walks along a row of numbers; one description of a channel serves both directions.
class Cursor {
 public:
  Cursor(double* at, bool filling) : at_(at), filling_(filling) {}
  bool filling() const { return filling_; }
  void operator()(double& value) {
    if (filling_)
      value = *at_;
    else
      *at_ = value;
    ++at_;
  }
  template <class T>
  void Whole(T& value) {
    double number = static_cast<double>(value);
    (*this)(number);
    if (filling_) value = static_cast<T>(number);
  }
  void Vector(auto&& vector) {
    for (Eigen::Index i = 0; i < vector.size(); ++i) (*this)(vector[i]);
  }
  void Quaternion(Eigen::Quaterniond& q) {
    (*this)(q.w());
    Vector(q.vec());
  }
  void Rotation(Eigen::Isometry3d& X) {
    for (int row = 0; row < 3; ++row) {
      for (int column = 0; column < 3; ++column) (*this)(X(row, column));
    }
  }
  void Position(Eigen::Isometry3d& X) { Vector(X.translation()); }

 private:
  double* at_;
  bool filling_;
};

template <class Record>
struct Channel {
  std::string name, unit;
  std::vector<std::string> columns;
  std::function<void(Record&, Cursor&)> visit;
};

/// The sizes that may differ from take to take, but not within one.
struct TickSizes {
  Eigen::Index q = 0, qd = 0, q_wish = 0, torque = 0;
  bool operator==(const TickSizes&) const = default;
};
struct FrameSizes {
  size_t props = 0, carriers = 0, links = 0;
  bool operator==(const FrameSizes&) const = default;
};

TickSizes SizesOf(const TakeTick& tick) {
  return {tick.q.size(), tick.qd.size(), tick.q_wish.size(), tick.torque.size()};
}
FrameSizes SizesOf(const TakeFrame& frame) {
  return {frame.X_WP.size(), frame.carrier.size(), frame.X_WL.size()};
}

const std::vector<std::string> kXyz{"x", "y", "z"};
const std::vector<std::string> kWxyz{"w", "x", "y", "z"};
const std::vector<std::string> kRotation{"r00", "r01", "r02", "r10", "r11", "r12", "r20", "r21", "r22"};

std::vector<std::string> JointColumns(const Take& take, Eigen::Index count) {
  std::vector<std::string> columns;
  for (Eigen::Index i = 0; i < count; ++i) {
    const auto joint = static_cast<size_t>(i);
    columns.push_back(joint < take.joints.size() ? take.joints[joint].name : fmt::format("joint {}", i + 1));
  }
  return columns;
}

std::vector<Channel<TakeTick>> TickChannels(const Take& take, const TickSizes& sizes) {
  using T = TakeTick;
  const bool slides =
      std::any_of(take.joints.begin(), take.joints.end(), [](const JointLimit& joint) { return joint.prismatic; });
  const auto unit = [slides](const char* turning, const char* sliding) {
    return slides ? fmt::format("{} ({} of a sliding joint)", turning, sliding) : turning;
  };
  return {
      {"camera_position", "m", kXyz, [](T& t, Cursor& c) { c.Vector(t.p_WC); }},
      {"camera_quaternion", "1", kWxyz, [](T& t, Cursor& c) { c.Quaternion(t.q_WC); }},
      {"joint_position", unit("rad", "m"), JointColumns(take, sizes.q), [](T& t, Cursor& c) { c.Vector(t.q); }},
      {"joint_velocity", unit("rad/s", "m/s"), JointColumns(take, sizes.qd), [](T& t, Cursor& c) { c.Vector(t.qd); }},
      {"joint_wish", unit("rad", "m"), JointColumns(take, sizes.q_wish), [](T& t, Cursor& c) { c.Vector(t.q_wish); }},
      {"joint_torque", unit("N·m", "N"), JointColumns(take, sizes.torque), [](T& t, Cursor& c) { c.Vector(t.torque); }},
      {"clearance", "m", {"distance"}, [](T& t, Cursor& c) { c(t.clearance.distance_m); }},
      {"clearance_pair",
       "index",
       {"arm body", "person capsule"},
       [](T& t, Cursor& c) {
         c.Whole(t.clearance.arm_body);
         c.Whole(t.clearance.capsule);
       }},
      {"clearance_point_arm", "m", kXyz, [](T& t, Cursor& c) { c.Vector(t.clearance.p_WArm); }},
      {"clearance_point_person", "m", kXyz, [](T& t, Cursor& c) { c.Vector(t.clearance.p_WPerson); }},
      {"approach_speed", "m/s", {"speed"}, [](T& t, Cursor& c) { c(t.approach_mps); }},
  };
}

std::string PropName(const Take& take, size_t i) {
  return i < take.props.size() ? take.props[i].name : fmt::format("{}", i + 1);
}

std::vector<std::string> BodyColumns() {
  std::vector<std::string> columns;
  for (int i = 0; i < kNumBodyPoints; ++i) {
    for (const std::string& axis : kXyz) columns.push_back(BodyPointName(i) + " " + axis);
  }
  return columns;
}

std::vector<Channel<TakeFrame>> FrameChannels(const Take& take, const FrameSizes& sizes, std::vector<Shot>* shots) {
  using F = TakeFrame;
  std::vector<Channel<F>> out{
      {"frame_camera_position", "m", kXyz, [](F& f, Cursor& c) { c.Position(f.X_WC); }},
      {"frame_camera_rotation", "1", kRotation, [](F& f, Cursor& c) { c.Rotation(f.X_WC); }},
      {"lens",
       "m",
       {"focal length", "focus distance"},
       [](F& f, Cursor& c) {
         c(f.lens.focal_m);
         c(f.lens.focus_m);
       }},
      {"body_points", "m", BodyColumns(),
       [](F& f, Cursor& c) {
         for (Eigen::Vector3d& point : f.person.p_W) c.Vector(point);
       }},
      {"torso_quaternion", "1", kWxyz, [](F& f, Cursor& c) { c.Quaternion(f.person.q_WT); }},
      {"head_quaternion", "1", kWxyz, [](F& f, Cursor& c) { c.Quaternion(f.person.q_WHd); }},
      {"gaze", "1", kXyz, [](F& f, Cursor& c) { c.Vector(f.person.gaze_W); }},
      {"hand_in_use",
       "0/1",
       {"left", "right"},
       [](F& f, Cursor& c) {
         for (bool& used : f.person.hand_in_use) c.Whole(used);
       }},
      {"chosen_shot",
       "index",
       {"shot"},
       [shots](F& f, Cursor& c) {
         size_t index = 0;
         if (!c.filling()) {
           index = static_cast<size_t>(std::find(shots->begin(), shots->end(), f.chosen) - shots->begin());
           if (index == shots->size()) shots->push_back(f.chosen);
         }
         c.Whole(index);
         if (!c.filling()) return;
         if (index >= shots->size())
           throw InputError(fmt::format("series chosen_shot: {} is no index of {} shots", index, shots->size()));
         f.chosen = (*shots)[index];
       }},
      {"manipulability", "1", {"manipulability"}, [](F& f, Cursor& c) { c(f.manipulability); }},
      {"unreachable", "0/1", {"unreachable"}, [](F& f, Cursor& c) { c.Whole(f.unreachable); }},
  };
  for (size_t i = 0; i < sizes.props; ++i) {
    const std::string name = "prop " + PropName(take, i);
    out.push_back({name + " position", "m", kXyz, [i](F& f, Cursor& c) { c.Position(f.X_WP[i]); }});
    out.push_back({name + " rotation", "1", kRotation, [i](F& f, Cursor& c) { c.Rotation(f.X_WP[i]); }});
  }
  for (size_t i = 0; i < sizes.carriers; ++i) {
    out.push_back({"prop " + PropName(take, i) + " carrier", "side", {"hand"}, [i](F& f, Cursor& c) { c.Whole(f.carrier[i]); }});
  }
  for (size_t i = 0; i < sizes.links; ++i) {
    const std::string name = fmt::format("link {}", i + 1);
    out.push_back({name + " position", "m", kXyz, [i](F& f, Cursor& c) { c.Position(f.X_WL[i]); }});
    out.push_back({name + " rotation", "1", kRotation, [i](F& f, Cursor& c) { c.Rotation(f.X_WL[i]); }});
  }
  return out;
}

template <class Record>
void Pack(const std::vector<Record>& records, const std::vector<Channel<Record>>& channels, double rate_hz, const char* what,
          std::vector<TakeSeries>* out) {
  const size_t first = out->size();
  for (const Channel<Record>& channel : channels) {
    out->push_back(
        {channel.name, channel.unit, rate_hz, channel.columns, std::vector<double>(records.size() * channel.columns.size())});
  }
  for (size_t row = 0; row < records.size(); ++row) {
    Record record = records[row];  // a copy, as a channel's visit could also fill it
    if (!(SizesOf(record) == SizesOf(records.front()))) {
      throw RunError(fmt::format("{} {} has another number of joints, links or props than {} 0", what, row, what));
    }
    for (size_t i = 0; i < channels.size(); ++i) {
      Cursor cursor((*out)[first + i].data.data() + row * channels[i].columns.size(), false);
      channels[i].visit(record, cursor);
    }
  }
}

using SeriesByName = std::map<std::string, const TakeSeries*>;

const TakeSeries& Find(const SeriesByName& by_name, const std::string& name) {
  const auto it = by_name.find(name);
  if (it == by_name.end()) throw InputError(fmt::format("series {} is missing", name));
  return *it->second;
}

size_t CountNumbered(const SeriesByName& by_name, const std::function<std::string(size_t)>& name) {
  size_t count = 0;
  while (by_name.contains(name(count))) ++count;
  return count;
}

template <class Record>
void Unpack(const SeriesByName& by_name, const std::vector<Channel<Record>>& channels, const Record& empty,
            std::vector<Record>* out) {
  const size_t rows = Find(by_name, channels.front().name).rows();
  out->assign(rows, empty);
  for (const Channel<Record>& channel : channels) {
    const TakeSeries& series = Find(by_name, channel.name);
    if (series.data.size() != rows * channel.columns.size()) {
      throw InputError(fmt::format("series {}: {} numbers, expected {} rows of {}", channel.name, series.data.size(), rows,
                                   channel.columns.size()));
    }
    std::vector<double> row(channel.columns.size());
    for (size_t i = 0; i < rows; ++i) {
      std::copy_n(series.data.begin() + static_cast<std::ptrdiff_t>(i * row.size()), row.size(), row.begin());
      Cursor cursor(row.data(), true);
      channel.visit((*out)[i], cursor);
    }
  }
}

}  // namespace

std::vector<TakeSeries> SeriesOfTake(const Take& take, std::vector<Shot>* shots) {
  std::vector<TakeSeries> out;
  const TickSizes tick_sizes = take.ticks.empty() ? TickSizes{} : SizesOf(take.ticks.front());
  const FrameSizes frame_sizes = take.frames.empty() ? FrameSizes{} : SizesOf(take.frames.front());
  Pack(take.ticks, TickChannels(take, tick_sizes), take.id.physics_hz, "tick", &out);
  Pack(take.frames, FrameChannels(take, frame_sizes, shots), take.id.frame_hz, "frame", &out);
  return out;
}

void FillFromSeries(const std::vector<TakeSeries>& series, const std::vector<Shot>& shots, Take* take) {
  SeriesByName by_name;
  for (const TakeSeries& one : series) by_name[one.name] = &one;
  const auto width = [&](const char* name) { return static_cast<Eigen::Index>(Find(by_name, name).columns.size()); };

  const TickSizes tick_sizes{width("joint_position"), width("joint_velocity"), width("joint_wish"), width("joint_torque")};
  TakeTick tick;
  tick.p_WC.setZero();
  tick.q_WC.setIdentity();
  tick.q.resize(tick_sizes.q);
  tick.qd.resize(tick_sizes.qd);
  tick.q_wish.resize(tick_sizes.q_wish);
  tick.torque.resize(tick_sizes.torque);
  Unpack(by_name, TickChannels(*take, tick_sizes), tick, &take->ticks);

  const FrameSizes frame_sizes{
      CountNumbered(by_name, [&](size_t i) { return "prop " + PropName(*take, i) + " position"; }),
      CountNumbered(by_name, [&](size_t i) { return "prop " + PropName(*take, i) + " carrier"; }),
      CountNumbered(by_name, [](size_t i) { return fmt::format("link {} position", i + 1); }),
  };
  TakeFrame frame;
  frame.X_WC.setIdentity();
  frame.person.p_W.fill(Eigen::Vector3d::Zero());
  frame.X_WP.assign(frame_sizes.props, Eigen::Isometry3d::Identity());
  frame.carrier.assign(frame_sizes.carriers, -1);
  frame.X_WL.assign(frame_sizes.links, Eigen::Isometry3d::Identity());
  std::vector<Shot> known = shots;
  Unpack(by_name, FrameChannels(*take, frame_sizes, &known), frame, &take->frames);
}

std::string BodyPointName(int point) {
  static constexpr std::array<const char*, kHandL> kJoints{
      "pelvis",         "lumbar",     "thorax",      "neck",        "head low",    "head high", "left shoulder",
      "right shoulder", "left elbow", "right elbow", "left wrist",  "right wrist", "left hip",  "right hip",
      "left knee",      "right knee", "left ankle",  "right ankle", "left toe",    "right toe"};
  static constexpr std::array<const char*, 5> kFingers{"thumb", "index", "middle", "ring", "little"};
  static constexpr std::array<const char*, 4> kParts{"base", "knuckle", "joint", "tip"};
  if (point < kHandL) return kJoints[static_cast<size_t>(point)];
  const std::string side = point < kHandR ? "left" : "right";
  const int landmark = point - (point < kHandR ? kHandL : kHandR);
  if (landmark == 0) return side + " hand wrist";
  return fmt::format("{} {} {}", side, kFingers[static_cast<size_t>((landmark - 1) / 4)],
                     kParts[static_cast<size_t>((landmark - 1) % 4)]);
}

}  // namespace dryrig
