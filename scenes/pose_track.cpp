#include "scenes/pose_track.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <optional>

#include "scenes/track_repair.h"
#include "scenes/yaml_tree.h"

namespace dryrig {

using Eigen::Vector3d;

namespace {

constexpr size_t kMostJoints = 300;
constexpr size_t kMostRows = 12'000'000;
constexpr double kSameTime_s = 2e-4;
constexpr double kLeastRate_hz = 5, kMostRate_hz = 1000;
constexpr double kMostUnits = 1e7;
constexpr double kLeastSeen = 0.2;  // share of frames in which a point must be seen to count as recorded

enum Column : size_t { kTime, kJoint, kX, kY, kZ, kConfidence, kNumColumns };
constexpr std::array<const char*, kNumColumns> kColumnWords{"t", "joint", "x", "y", "z", "confidence"};

struct Row {
  double t_s;
  int joint, line;
  Vector3d p;
};

std::string_view Trimmed(std::string_view text) {
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.front()))) text.remove_prefix(1);
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.back()))) text.remove_suffix(1);
  if (text.size() >= 2 && text.front() == '"' && text.back() == '"') text = text.substr(1, text.size() - 2);
  return text;
}

std::string Lower(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

class TrackReader {
 public:
  TrackReader(std::string_view text, const std::string& file_name, const TrackRepair& repair, RecordingHints* hints)
      : text_(text), file_name_(file_name), repair_(repair), hints_(hints) {
    if (text_.starts_with("\xEF\xBB\xBF")) text_.remove_prefix(3);
  }

  void Read() {
    bool header = false;
    while (!text_.empty()) {
      const std::string_view line = TakeLine();
      const std::string_view content = Trimmed(line);
      if (content.empty()) continue;
      if (content[0] == '#') {
        ReadComment(content.substr(1));
      } else if (!header) {
        ReadHeader(line);
        header = true;
      } else {
        ReadRow(line);
      }
    }
    if (!header) Fail("no header line; it names the columns t,joint,x,y,z and, if there is one, confidence");
    if (rows_.empty()) Fail("no row with a point that can be trusted; is the file cut short?");
    Sort();
  }

  std::vector<Row>& rows() { return rows_; }
  const std::vector<std::string>& joints() const { return joints_; }
  std::vector<std::string> notes;

 private:
  std::string_view TakeLine() {
    const size_t end = std::min(text_.find('\n'), text_.size());
    const std::string_view line = text_.substr(0, end);
    text_.remove_prefix(std::min(end + 1, text_.size()));
    ++line_;
    return line;
  }
  [[noreturn]] void Fail(const std::string& message) const { throw InputError({file_name_, line_}, message); }

  /// `unit: mm` and `up: y`; what the lesson says goes first.
  void ReadComment(std::string_view comment) {
    const size_t colon = comment.find(':');
    if (colon == std::string_view::npos) return;
    const std::string key = Lower(Trimmed(comment.substr(0, colon))), value = Lower(Trimmed(comment.substr(colon + 1)));
    const auto choose = [&](const std::vector<std::string>& words, std::string* hint) {
      if (std::find(words.begin(), words.end(), value) == words.end()) {
        Fail(fmt::format("{} \"{}\" is not known{}", key, Quoted(value), Suggest(value, words)));
      }
      if (hint->empty()) *hint = value;
    };
    if (key == "unit") choose({"mm", "cm", "m", "inch"}, &hints_->unit);
    if (key == "up") choose({"x", "y", "z", "-x", "-y", "-z"}, &hints_->up);
  }

  std::vector<std::string_view> Fields(std::string_view line) const {
    std::vector<std::string_view> out;
    for (;;) {
      const size_t end = line.find(separator_);
      out.push_back(Trimmed(line.substr(0, end)));
      if (end == std::string_view::npos) return out;
      line.remove_prefix(end + 1);
    }
  }

  void ReadHeader(std::string_view line) {
    for (const char c : {';', '\t'}) {
      if (line.find(',') == std::string_view::npos && line.find(c) != std::string_view::npos) separator_ = c;
    }
    const std::vector<std::string_view> fields = Fields(line);
    fields_ = fields.size();
    at_.fill(-1);
    for (size_t i = 0; i < fields.size(); ++i) {
      const std::string word = Lower(fields[i]);
      for (size_t column = 0; column < kNumColumns; ++column) {
        if (word != kColumnWords[column]) continue;
        if (at_[column] >= 0) Fail(fmt::format("the column {} stands twice; keep one", word));
        at_[column] = static_cast<int>(i);
      }
    }
    for (size_t column = 0; column < kConfidence; ++column) {
      if (at_[column] < 0) {
        Fail(
            fmt::format("no column {}; the first line must name t, joint, x, y, z and, if there is one, confidence, found \"{}\"",
                        kColumnWords[column], Quoted(line)));
      }
    }
  }

  /// None where the field is empty or not a number by its own word: the tracker saw nothing there.
  std::optional<double> Number(std::string_view field, Column column) const {
    if (field.empty()) return std::nullopt;
    double value = 0;
    const char* first = field.data() + (field.size() > 1 && field[0] == '+' && field[1] != '-' ? 1 : 0);
    const auto [end, error] = std::from_chars(first, field.data() + field.size(), value);
    if (error != std::errc() || end != field.data() + field.size()) {
      Fail(fmt::format(
          "{}: expected a number, found \"{}\"{}", kColumnWords[column], Quoted(field),
          field.find(',') != std::string_view::npos ? "; the decimal mark is a point" : "; mend it or leave it empty"));
    }
    if (std::isnan(value)) return std::nullopt;
    if (!(std::abs(value) <= (column == kTime ? 1e10 : kMostUnits))) {
      Fail(fmt::format("{}: {} is out of range; no person is there", kColumnWords[column], Quoted(field)));
    }
    return value;
  }

  void ReadRow(std::string_view line) {
    const std::vector<std::string_view> fields = Fields(line);
    if (fields.size() != fields_) {
      Fail(fmt::format(
          "{} fields, the header names {}{}", fields.size(), fields_,
          fields.size() > fields_ && separator_ == ',' ? "; the decimal mark is a point" : "; is the line cut short?"));
    }
    const auto field = [&](Column column) { return fields[static_cast<size_t>(at_[column])]; };
    const auto t_s = Number(field(kTime), kTime);
    if (!t_s) Fail("t: expected a time in seconds, found none");
    if (field(kJoint).empty()) Fail("joint: expected a name, found none");
    const int joint = JointOf(field(kJoint));
    Row row{*t_s, joint, line_, Vector3d::Zero()};
    bool seen = true;
    for (int axis = 0; axis < 3; ++axis) {
      const auto value =
          Number(field(static_cast<Column>(kX + static_cast<size_t>(axis))), static_cast<Column>(kX + static_cast<size_t>(axis)));
      seen = seen && value;
      row.p[axis] = value.value_or(0);
    }
    if (at_[kConfidence] >= 0) {
      const auto confidence = Number(field(kConfidence), kConfidence);
      if (confidence && (*confidence < 0 || *confidence > 1))
        Fail(fmt::format("confidence: {} is out of range; give 0 to 1", *confidence));
      seen = seen && confidence && *confidence >= repair_.least_confidence;
    }
    if (!seen) {
      ++unseen_;
      return;
    }
    if (rows_.size() >= kMostRows) Fail(fmt::format("more than {} rows; cut the recording", kMostRows));
    rows_.push_back(row);
  }

  int JointOf(std::string_view name) {
    if (!joints_.empty() && last_joint_ >= 0) {  // rows come in the same order frame after frame
      const auto guess = static_cast<size_t>(last_joint_ + 1) % joints_.size();
      if (joints_[guess] == name) return last_joint_ = static_cast<int>(guess);
    }
    const auto it = std::find(joints_.begin(), joints_.end(), name);
    if (it == joints_.end()) {
      if (joints_.size() >= kMostJoints) Fail(fmt::format("more than {} joints; is this a file of one person?", kMostJoints));
      joints_.emplace_back(name.substr(0, 200));
      return last_joint_ = static_cast<int>(joints_.size()) - 1;
    }
    return last_joint_ = static_cast<int>(it - joints_.begin());
  }

  void Sort() {
    const auto earlier = [](const Row& a, const Row& b) { return a.t_s < b.t_s; };
    if (!std::is_sorted(rows_.begin(), rows_.end(), earlier)) {
      std::stable_sort(rows_.begin(), rows_.end(), earlier);
      notes.emplace_back("rows were not in order of time: sorted");
    }
    if (unseen_ > 0)
      notes.push_back(fmt::format("{} rows have no position, or a confidence under {}: taken as not seen", unseen_,
                                  repair_.least_confidence));
  }

  std::string_view text_;
  const std::string& file_name_;
  const TrackRepair& repair_;
  RecordingHints* hints_;
  int line_ = 0;
  char separator_ = ',';
  size_t fields_ = 0, unseen_ = 0;
  std::array<int, kNumColumns> at_{};
  std::vector<std::string> joints_;
  int last_joint_ = -1;
  std::vector<Row> rows_;
};

/// The steady clock nearest to the rows' times.
FrameClock ClockOf(const std::vector<Row>& rows, const std::string& file_name) {
  std::vector<double> steps;
  double last = rows.front().t_s;
  for (const Row& row : rows) {
    if (row.t_s - last <= kSameTime_s) continue;
    steps.push_back(row.t_s - last);
    last = row.t_s;
  }
  if (steps.size() < 9) {
    throw InputError({file_name}, fmt::format("{} frames; a recording has 10 at least. Frames are told apart by t, in seconds",
                                              steps.size() + 1));
  }
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  FrameClock clock;
  clock.start_s = rows.front().t_s;
  clock.rate_hz = 1 / *middle;
  if (clock.rate_hz < kLeastRate_hz || clock.rate_hz > kMostRate_hz) {
    throw InputError({file_name}, fmt::format("{:.4g} frames a second; give {} to {}. Is t in seconds?", clock.rate_hz,
                                              kLeastRate_hz, kMostRate_hz));
  }
  const double span = (last - clock.start_s) * clock.rate_hz;
  if (span + 1 > static_cast<double>(kMostFrames)) {
    throw InputError({file_name}, fmt::format("{:.0f} frames from first to last, at most {} are read; cut the recording",
                                              span + 1, kMostFrames));
  }
  // A median of printed times is a little off: the whole span is known far better.
  const double whole = std::round(span);
  if (whole > 0) clock.rate_hz = whole / (last - clock.start_s);
  clock.frames = static_cast<size_t>(whole) + 1;
  return clock;
}

std::vector<std::vector<SeenPoint>> ByJoint(const std::vector<Row>& rows, const std::vector<std::string>& joints,
                                            const std::string& file_name) {
  std::vector<std::vector<SeenPoint>> out(joints.size());
  std::vector<int> lines(joints.size(), 0);
  for (const Row& row : rows) {
    const auto joint = static_cast<size_t>(row.joint);
    if (!out[joint].empty() && row.t_s - out[joint].back().t_s <= kSameTime_s) {
      throw InputError({file_name, row.line}, fmt::format("joint \"{}\" at {} s stands on line {} already; keep one",
                                                          Quoted(joints[joint]), row.t_s, lines[joint]));
    }
    out[joint].push_back({row.t_s, row.p});
    lines[joint] = row.line;
  }
  return out;
}

}  // namespace

Recording ParsePoseTrack(std::string_view text, const std::string& file_name, const JointMapping& mapping,
                         const RecordingHints& given, const TrackRepair& repair) {
  RecordingHints hints = given;
  TrackReader reader(text, file_name, repair, &hints);
  reader.Read();
  const FrameClock clock = ClockOf(reader.rows(), file_name);
  const std::vector<std::vector<SeenPoint>> seen = ByJoint(reader.rows(), reader.joints(), file_name);
  std::vector<Row>().swap(reader.rows());

  std::vector<NamedJoint> names;
  for (const std::string& joint : reader.joints()) names.push_back({joint, -1, false});
  const JointMap map = GuessJoints(names, ApplyMapping(mapping, names));

  Recording out;
  out.name = std::filesystem::path(file_name).stem().string();
  out.format = "pose track";
  out.rate_hz = clock.rate_hz;
  out.start_s = clock.start_s;
  out.frames = clock.frames;
  out.column.fill(-1);
  out.facts.notes = std::move(reader.notes);
  std::vector<FilledPoint> points;
  std::vector<bool> used(names.size(), false);
  bool filtered = true;
  for (int i = 0; i < kNumTrackPoints; ++i) {
    const int joint = map[static_cast<size_t>(i)];
    if (joint < 0) continue;
    const auto j = static_cast<size_t>(joint);
    used[j] = true;
    const auto point = static_cast<TrackPoint>(i);
    const double share = static_cast<double>(seen[j].size()) / static_cast<double>(clock.frames);
    if (share < kLeastSeen) {
      out.facts.notes.push_back(fmt::format("{} ({}) is seen in {:.0f} % of the frames only: left out", ToString(point),
                                            Quoted(names[j].name), share * 100));
      continue;
    }
    FilledPoint filled = FillGaps(seen[j], clock, repair.most_gap_s);
    filtered = LowPass(clock.rate_hz, repair.cutoff_hz, &filled.p) && filtered;
    for (RecordedGap& gap : GapsOf(point, filled.states, clock)) out.facts.gaps.push_back(gap);
    out.facts.mapped.emplace_back(names[j].name, point);
    out.column[static_cast<size_t>(i)] = out.columns++;
    points.push_back(std::move(filled));
  }
  for (size_t j = 0; j < names.size(); ++j) {
    if (!used[j]) out.facts.unmapped.push_back(names[j].name);
  }
  out.facts.notes.push_back(
      filtered ? fmt::format("low-passed at {} Hz (Butterworth of the second order, forwards and backwards)", repair.cutoff_hz)
               : fmt::format("not low-passed: {:.3g} frames a second are too few for {} Hz", clock.rate_hz, repair.cutoff_hz));
  out.p_R.reserve(out.frames * points.size());
  out.states.reserve(out.frames * points.size());
  for (size_t f = 0; f < out.frames; ++f) {
    for (const FilledPoint& point : points) {
      out.p_R.push_back(point.p[f]);
      out.states.push_back(point.states[f]);
    }
  }
  SettleRecording(FindFrame(out, hints, file_name), &out);
  NoteJumps(&out);
  return out;
}

}  // namespace dryrig
