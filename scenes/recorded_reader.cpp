#include <fmt/format.h>

#include <algorithm>

#include "scenes/bvh.h"
#include "scenes/lesson_reader.h"
#include "scenes/pose_track.h"
#include "scenes/recorded_lesson.h"
#include "scenes/track_repair.h"

namespace dryrig {

namespace {

constexpr Limits kClock_s{-1e6, 1e10};  // a tracker's clock may count from any day
constexpr double kLeast_s = 0.5, kMost_s = 20 * 60;
constexpr size_t kMostItems = 2000;

class RecordedReader {
 public:
  RecordedReader(const YamlMap& map, const std::vector<Prop>& props, const FileReader& read)
      : map_(map), props_(props), read_(read) {}

  RecordedLesson Read() {
    const std::string motion = Keep("motion", map_.At("motion"));
    JointMapping mapping;
    if (const auto node = map_.Find("mapping")) {
      const std::string text = Keep("mapping", *node);
      mapping = ParseJointMapping(text, node->Text());
    }
    RecordingHints hints;
    if (const auto unit = map_.Find("unit"))
      hints.unit = unit->Choice<std::string>({{"mm", "mm"}, {"cm", "cm"}, {"m", "m"}, {"inch", "inch"}});
    if (const auto up = map_.Find("up")) {
      hints.up = up->Choice<std::string>({{"x", "x"}, {"y", "y"}, {"z", "z"}, {"-x", "-x"}, {"-y", "-y"}, {"-z", "-z"}});
    }
    hints.stature_m = map_.Number("stature_mm", {1200, 2200}, 0);
    out_.motion = ParseRecording(motion, map_.At("motion").Text(), mapping, hints);
    if (map_.Has("smooth_hz")) {
      const double cutoff_hz = map_.Number("smooth_hz", {1, 30});
      SmoothRecording(cutoff_hz, map_.At("motion").Text(), &out_.motion);
      out_.motion.facts.notes.push_back(fmt::format("low-passed at {} Hz, as the lesson asks", cutoff_hz));
    }
    ReadCut();
    if (const auto node = map_.Find("captions")) out_.captions = ParseCaptions(Keep("captions", *node), node->Text());
    if (const auto node = map_.Find("place")) ReadPlace(*node);
    if (const auto node = map_.Find("carried")) ReadCarried(*node);
    if (const auto node = map_.Find("hands_in_use")) ReadInUse(*node);
    return std::move(out_);
  }

 private:
  std::string Keep(const std::string& kind, const YamlNode& node) {
    const std::string name = node.Text();
    std::string text;
    try {
      text = read_(kind, name);
    } catch (const InputError& e) {
      node.FailPlain(fmt::format("{} \"{}\": {}", kind, name.substr(0, 80), e.what()));
    }
    out_.files.push_back({kind, name, text});
    return text;
  }

  void ReadCut() {
    const Recording& motion = out_.motion;
    const double end_s = motion.start_s + motion.duration_s();
    out_.start_s = map_.Number("start_s", kClock_s, motion.start_s);
    const YamlNode where = map_.Find("start_s").value_or(map_.At("motion"));
    constexpr double kRounding_s = 1e-9;
    if (out_.start_s < motion.start_s - kRounding_s || out_.start_s > end_s - kLeast_s) {
      where.FailPlain(
          fmt::format("the recording runs from {:.3f} to {:.3f} s and is to be played from {:.3f} s on; at least {} s "
                      "must be left",
                      motion.start_s, end_s, out_.start_s, kLeast_s));
    }
    out_.start_s = std::max(out_.start_s, motion.start_s);
    const double left_s = end_s - out_.start_s;
    out_.length_s = map_.Number("length_s", {kLeast_s, kMost_s}, left_s);
    if (out_.length_s > left_s + kRounding_s) {
      map_.At("length_s")
          .Fail(fmt::format("{:.3f} s, but from {:.3f} s on only {:.3f} s are recorded", out_.length_s, out_.start_s, left_s));
    }
    out_.length_s = std::min(out_.length_s, left_s);
    if (out_.length_s > kMost_s) {
      where.FailPlain(
          fmt::format("{:.0f} s of motion, at most {} s are allowed; give start_s and length_s", out_.length_s, kMost_s));
    }
  }

  void ReadPlace(const YamlNode& node) {
    if (node.kind() == YamlNode::Kind::kScalar) {
      enum class Word { kAuto, kOnTheSpot, kMeasured };
      const Word word = node.Choice<Word>({{"auto", Word::kAuto}, {"on-the-spot", Word::kOnTheSpot}, {"measured", Word::kMeasured}});
      out_.place.on_the_spot = word == Word::kOnTheSpot;
      out_.place.as_measured = word == Word::kMeasured;
      return;
    }
    const YamlMap map = node.Map({"at_mm", "yaw_deg", "on_the_spot"});
    out_.place.at_m = map.Vector<2>("at_mm", {-5000, 5000});
    out_.place.yaw_rad = map.Number("yaw_deg", {-360, 360}, 0);
    out_.place.on_the_spot = map.Bool("on_the_spot", false);
  }

  /// `from_s` and `to_s`, the first before the second, both within the recording.
  std::pair<double, double> ReadSpan(const YamlMap& map) const {
    const double from_s = map.Number("from_s", kClock_s), to_s = map.Number("to_s", kClock_s);
    if (!(from_s < to_s)) map.At("to_s").Fail(fmt::format("{} s is not after from_s, {} s", to_s, from_s));
    return {from_s, to_s};
  }

  void ReadCarried(const YamlNode& node) {
    for (const YamlNode& item : node.List(0, kMostItems)) {
      const YamlMap map = item.Map({"prop", "hand", "from_s", "to_s", "to_mm"});
      RecordedCarry carry;
      const std::string name = map.At("prop").Scalar("a prop's name");
      carry.prop = static_cast<int>(&RequireProp(map.At("prop"), name, "carried", props_) - props_.data());
      carry.side = map.At("hand").Choice<int>({{"left", 0}, {"right", 1}});
      std::tie(carry.from_s, carry.to_s) = ReadSpan(map);
      if (map.Has("to_mm")) carry.to_m = map.Vector<2>("to_mm", {-2000, 2000});
      for (const RecordedCarry& other : out_.carried) {
        const bool meets = carry.from_s < other.to_s && other.from_s < carry.to_s;
        if (meets && (carry.prop == other.prop || carry.side == other.side)) {
          item.FailPlain(fmt::format("carried: \"{}\" from {} to {} s, while {}; let one end before the other begins", name,
                                     carry.from_s, carry.to_s,
                                     carry.prop == other.prop ? "it is carried already" : "that hand carries another prop"));
        }
      }
      out_.carried.push_back(carry);
    }
    std::stable_sort(out_.carried.begin(), out_.carried.end(), [](const auto& a, const auto& b) { return a.from_s < b.from_s; });
  }

  void ReadInUse(const YamlNode& node) {
    for (const YamlNode& item : node.List(1, kMostItems)) {
      const YamlMap map = item.Map({"hands", "from_s", "to_s"});
      RecordedUse use;
      std::tie(use.from_s, use.to_s) = ReadSpan(map);
      using Hands = std::array<bool, 2>;
      use.hands = map.At("hands").Choice<Hands>(
          {{"left", Hands{true, false}}, {"right", Hands{false, true}}, {"both", Hands{true, true}}});
      out_.in_use.push_back(use);
    }
    std::stable_sort(out_.in_use.begin(), out_.in_use.end(), [](const auto& a, const auto& b) { return a.from_s < b.from_s; });
  }

  const YamlMap& map_;
  const std::vector<Prop>& props_;
  const FileReader& read_;
  RecordedLesson out_;
};

}  // namespace

Recording ParseRecording(const std::string& text, const std::string& file_name, const JointMapping& mapping,
                         const RecordingHints& hints) {
  const size_t first = text.find_first_not_of(" \t\r\n");
  const bool bvh = file_name.ends_with(".bvh") || file_name.ends_with(".BVH") ||
                   (first != std::string::npos && text.compare(first, 9, "HIERARCHY") == 0);
  return bvh ? ParseBvh(text, file_name, mapping, hints) : ParsePoseTrack(text, file_name, mapping, hints);
}

RecordedLesson ReadRecorded(const YamlNode& node, const std::vector<Prop>& props, const FileReader& read) {
  const YamlMap map = node.In("recorded")
                          .Map({"motion", "mapping", "captions", "start_s", "length_s", "unit", "up", "stature_mm", "smooth_hz",
                                "place", "carried", "hands_in_use"});
  return RecordedReader(map, props, read).Read();
}

std::vector<RecordedIntent> ReadTimedIntents(const YamlNode& node, const std::vector<Prop>& props) {
  std::vector<RecordedIntent> out;
  const std::vector<YamlNode> nodes = node.List(0, kMostItems);
  for (size_t i = 0; i < nodes.size(); ++i) {
    const YamlMap map =
        nodes[i].In(fmt::format("intent {}", i + 1)).Map({"from_s", "to_s", "subject", "size", "angle", "composition"});
    RecordedIntent intent;
    intent.from_s = map.Number("from_s", kClock_s);
    if (map.Has("to_s")) intent.to_s = map.Number("to_s", kClock_s);
    if (intent.to_s && !(*intent.to_s > intent.from_s))
      map.At("to_s").Fail(fmt::format("{} s is not after from_s, {} s", *intent.to_s, intent.from_s));
    if (!out.empty() && intent.from_s <= out.back().from_s) {
      map.At("from_s").Fail(
          fmt::format("{} s is not after the intent before it, {} s; keep them in order", intent.from_s, out.back().from_s));
    }
    intent.shot = ReadShot(map, props);
    out.push_back(std::move(intent));
  }
  return out;
}

}  // namespace dryrig
