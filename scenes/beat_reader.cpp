#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "scenes/lesson_reader.h"

namespace dryrig {

namespace {

constexpr size_t kMostBeats = 2000;
constexpr double kMostTotal_s = 20 * 60;
constexpr Limits kFor_s{0.1, 300};

struct BeatRow {
  BeatKind kind;
  const char* key;
};
constexpr std::array kBeats{
    BeatRow{BeatKind::kAddress, "address"}, BeatRow{BeatKind::kReach, "reach"},    BeatRow{BeatKind::kWork, "work"},
    BeatRow{BeatKind::kPoint, "point"},     BeatRow{BeatKind::kHoldUp, "hold_up"}, BeatRow{BeatKind::kPutDown, "put_down"},
    BeatRow{BeatKind::kTurn, "turn"},       BeatRow{BeatKind::kSay, "say"},        BeatRow{BeatKind::kPause, "pause"},
    BeatRow{BeatKind::kGlance, "glance"},   BeatRow{BeatKind::kPass, "pass"},      BeatRow{BeatKind::kStepBack, "step_back"}};

struct MotionRow {
  WorkMotion motion;
  std::string_view key;
};
constexpr std::array kMotions{MotionRow{WorkMotion::kStroke, "stroke"}, MotionRow{WorkMotion::kCircle, "circle"},
                              MotionRow{WorkMotion::kTwist, "twist"},   MotionRow{WorkMotion::kTap, "tap"},
                              MotionRow{WorkMotion::kPress, "press"},   MotionRow{WorkMotion::kStitch, "stitch"}};

HandChoice ReadHand(const YamlMap& map, const std::string& key = "hand") {
  const auto node = map.Find(key);
  if (!node) return HandChoice::kDominant;
  return node->Choice<HandChoice>({{"dominant", HandChoice::kDominant}, {"other", HandChoice::kOther}});
}

class BeatReader {
 public:
  explicit BeatReader(const std::vector<Prop>& props) : props_(props), at_m_(props.size()) {
    for (size_t i = 0; i < props.size(); ++i) {
      names_.push_back(props[i].name);
      at_m_[i] = props[i].at_m;
      on_.push_back(props[i].on);
    }
  }

  Beat Read(const YamlNode& node) {
    std::vector<std::string> actions;
    for (const BeatRow& row : kBeats) actions.emplace_back(row.key);
    std::vector<std::string> known = actions;
    known.emplace_back("intent");
    const YamlMap map = node.Map(known);
    const std::string action = map.OneOf(actions, "action");
    Beat beat;
    beat.pos = node.pos();
    for (const BeatRow& row : kBeats) {
      if (row.key == action) beat.kind = row.kind;
    }
    ReadAction(map.At(action), &beat);
    total_s_ += beat.for_s;
    if (total_s_ > kMostTotal_s) {
      node.FailPlain(
          fmt::format("the lesson lasts {} s by here, at most {} s are allowed; shorten it or split it", total_s_, kMostTotal_s));
    }
    beat.intent = ReadIntent(map, beat, props_);
    return beat;
  }

 private:
  void ReadAction(const YamlNode& node, Beat* beat) {
    switch (beat->kind) {
      case BeatKind::kAddress:
        return ReadTimed(node, beat);
      case BeatKind::kReach:
        return ReadReach(node, beat);
      case BeatKind::kWork:
        return ReadWork(node, beat);
      case BeatKind::kPoint:
        return ReadPoint(node, beat);
      case BeatKind::kHoldUp:
        return ReadHoldUp(node, beat);
      case BeatKind::kPutDown:
        return ReadPutDown(node, beat);
      case BeatKind::kTurn: {
        const YamlMap map = node.Map({"to_deg", "for_s", "say"});
        beat->turn_rad = map.Number("to_deg", {-60, 60});
        beat->for_s = map.Number("for_s", kFor_s);
        return ReadSay(map, beat);
      }
      case BeatKind::kSay:
        beat->say = node.kind() == YamlNode::Kind::kMap ? node.Map({"text"}).Text("text") : node.Text();
        return;
      case BeatKind::kPause:
        beat->for_s = node.Map({"for_s"}).Number("for_s", kFor_s);
        return;
      case BeatKind::kGlance:
        return ReadGlance(node, beat);
      case BeatKind::kPass:
        return ReadPass(node, beat);
      case BeatKind::kStepBack: {
        const YamlMap map = node.Map({"by_mm", "for_s", "say"});
        beat->back_m = map.Number("by_mm", {100, 1200});
        beat->for_s = map.Number("for_s", kFor_s);
        return ReadSay(map, beat);
      }
    }
  }

  static void ReadSay(const YamlMap& map, Beat* beat) {
    if (const auto say = map.Find("say")) beat->say = say->Text();
  }

  static void ReadTimed(const YamlNode& node, Beat* beat) {
    const YamlMap map = node.Map({"for_s", "say"});
    beat->for_s = map.Number("for_s", kFor_s);
    ReadSay(map, beat);
  }

  void ReadReach(const YamlNode& node, Beat* beat) {
    const YamlMap map = node.Map({"hand", "to", "take", "say"});
    beat->hand = ReadHand(map);
    beat->prop = KnownProp(map.At("to"), "reach to");
    beat->take = map.Bool("take", true);
    ReadSay(map, beat);
    RequireEmpty(map.At("to"), beat->hand, fmt::format("reach to \"{}\"", beat->prop));
    RequireLying(map.At("to"), beat->prop, "reach to");
    if (beat->take) Held(beat->hand) = beat->prop;
  }

  void ReadWork(const YamlNode& node, Beat* beat) {
    const YamlMap map = node.Map({"on", "with", "motion", "hands", "for_s", "rate_hz", "span_mm", "say"});
    beat->prop = KnownProp(map.At("on"), "work on");
    const YamlNode motion = map.At("motion");
    const std::string word = motion.Scalar("a motion");
    std::vector<std::string> words;
    for (const MotionRow& row : kMotions) words.emplace_back(row.key);
    const auto row = std::find(words.begin(), words.end(), word);
    if (row == words.end()) motion.Fail(fmt::format("\"{}\" is not known{}", word.substr(0, 40), Suggest(word, words)));
    beat->motion = kMotions[static_cast<size_t>(row - words.begin())].motion;
    if (const auto hands = map.Find("hands")) {
      beat->hand = hands->Choice<HandChoice>(
          {{"dominant", HandChoice::kDominant}, {"other", HandChoice::kOther}, {"both", HandChoice::kBoth}});
    }
    beat->for_s = map.Number("for_s", kFor_s);
    beat->rate_hz = map.Number("rate_hz", {0.05, 6}, beat->rate_hz);
    beat->span_m = map.Number("span_mm", {1, 400}, beat->span_m);
    ReadSay(map, beat);
    for (const HandChoice hand : {HandChoice::kDominant, HandChoice::kOther}) {
      if (Works(beat->hand, hand) && Held(hand) == beat->prop) {
        map.At("on").FailPlain(
            fmt::format("work on \"{}\": the {} hand, which is to work, holds it; put it down first", beat->prop, Word(hand)));
      }
    }
    if (const auto with = map.Find("with")) {
      beat->with = KnownProp(*with, "work with");
      if (beat->with == beat->prop)
        with->FailPlain(fmt::format("work on \"{}\" with itself; name a tool or leave `with` out", beat->prop));
      RequireTool(*with, *beat);
    }
  }

  void RequireTool(const YamlNode& with, const Beat& beat) {
    bool held = false;
    for (const HandChoice hand : {HandChoice::kDominant, HandChoice::kOther}) {
      held = held || (Works(beat.hand, hand) && Held(hand) == beat.with);
    }
    if (held) return;
    with.FailPlain(fmt::format("work with \"{}\": no hand at work holds it; let {} reach to it first", beat.with,
                               beat.hand == HandChoice::kBoth ? "one" : fmt::format("the {} hand", Word(beat.hand))));
  }

  void ReadPoint(const YamlNode& node, Beat* beat) {
    const YamlMap map = node.Map({"hand", "at", "for_s", "say"});
    beat->hand = ReadHand(map);
    beat->prop = KnownProp(map.At("at"), "point at");
    beat->for_s = map.Number("for_s", kFor_s, 2);
    ReadSay(map, beat);
    if (Held(beat->hand) == beat->prop) {
      map.At("at").FailPlain(fmt::format("point at \"{}\": the {} hand holds it; use the other hand or put it down first",
                                         beat->prop, Word(beat->hand)));
    }
  }

  void ReadHoldUp(const YamlNode& node, Beat* beat) {
    const YamlMap map = node.Map({"hand", "prop", "for_s", "say"});
    beat->hand = ReadHand(map);
    beat->prop = KnownProp(map.At("prop"), "hold up");
    beat->for_s = map.Number("for_s", kFor_s);
    ReadSay(map, beat);
    if (Held(beat->hand) == beat->prop) return;
    RequireEmpty(map.At("prop"), beat->hand, fmt::format("hold up \"{}\"", beat->prop));
    RequireLying(map.At("prop"), beat->prop, "hold up");
    Held(beat->hand) = beat->prop;
  }

  void ReadGlance(const YamlNode& node, Beat* beat) {
    const YamlMap map = node.Map({"at", "for_s", "say"});
    const YamlNode at = map.At("at");
    beat->for_s = map.Number("for_s", kFor_s);
    ReadSay(map, beat);
    const std::string word = at.Scalar("a prop's name, camera, left or right");
    for (const auto& [aside, name] :
         {std::pair{GlanceAt::kCamera, "camera"}, {GlanceAt::kLeft, "left"}, {GlanceAt::kRight, "right"}}) {
      if (word != name) continue;
      if (IndexOf(word) < names_.size()) {
        at.FailPlain(
            fmt::format("glance at \"{}\": a prop has this name, so it is not clear what is meant; rename the prop", word));
      }
      beat->glance_at = aside;
      return;
    }
    beat->prop = KnownProp(at, "glance at");
  }

  void ReadPass(const YamlNode& node, Beat* beat) {
    const YamlMap map = node.Map({"hand", "say"});
    beat->hand = ReadHand(map);
    ReadSay(map, beat);
    const HandChoice to = beat->hand == HandChoice::kOther ? HandChoice::kDominant : HandChoice::kOther;
    beat->prop = Held(beat->hand);
    if (beat->prop.empty()) {
      node.FailPlain(fmt::format("pass: the {} hand holds nothing by then; let it reach to something first", Word(beat->hand)));
    }
    RequireEmpty(node, to, fmt::format("pass \"{}\"", beat->prop));
    Held(to) = beat->prop;
    Held(beat->hand).clear();
  }

  void ReadPutDown(const YamlNode& node, Beat* beat) {
    const YamlMap map = node.Map({"hand", "at_mm", "on", "say"});
    beat->hand = ReadHand(map);
    ReadSay(map, beat);
    beat->prop = Held(beat->hand);
    if (beat->prop.empty()) {
      node.FailPlain(
          fmt::format("put_down: the {} hand holds nothing by then; let it reach to something first", Word(beat->hand)));
    }
    const size_t moved = IndexOf(beat->prop);
    if (map.Has("at_mm")) beat->to_m = map.Vector<2>("at_mm", {-2000, 2000});
    if (const auto on = map.Find("on")) {
      beat->on = on->Name();
      if (!beat->to_m) on->FailPlain(fmt::format("put_down: on shelf \"{}\", but where? give at_mm", beat->on));
    }
    at_m_[moved] = beat->to_m.value_or(props_[moved].at_m);
    on_[moved] = beat->to_m ? beat->on : props_[moved].on;
    Held(beat->hand).clear();
    for (size_t i = 0; i < props_.size(); ++i) {
      if (i == moved || IsHeld(props_[i].name) || on_[i] != on_[moved]) continue;
      if (!FootprintsOverlap(props_[moved], at_m_[moved], props_[i], at_m_[i])) continue;
      node.FailPlain(fmt::format("put_down: \"{}\" at [{}, {}] mm would lie on \"{}\"; give another at_mm", beat->prop,
                                 at_m_[moved].x() * 1000, at_m_[moved].y() * 1000, props_[i].name));
    }
  }

  static const char* Word(HandChoice hand) { return hand == HandChoice::kOther ? "other" : "dominant"; }
  static bool Works(HandChoice chosen, HandChoice hand) { return chosen == hand || chosen == HandChoice::kBoth; }
  std::string& Held(HandChoice hand) { return held_[hand == HandChoice::kOther ? 1 : 0]; }
  bool IsHeld(const std::string& prop) const { return held_[0] == prop || held_[1] == prop; }
  size_t IndexOf(const std::string& prop) const {
    return static_cast<size_t>(std::find(names_.begin(), names_.end(), prop) - names_.begin());
  }

  std::string KnownProp(const YamlNode& node, std::string_view action) const {
    std::string name = node.Scalar("a prop's name");
    RequireProp(node, name, action, props_);
    return name;
  }
  void RequireEmpty(const YamlNode& node, HandChoice hand, const std::string& action) {
    if (Held(hand).empty()) return;
    node.FailPlain(
        fmt::format("{}: the {} hand already holds \"{}\"; let it put that down first", action, Word(hand), Held(hand)));
  }
  void RequireLying(const YamlNode& node, const std::string& prop, std::string_view action) const {
    if (!IsHeld(prop)) return;
    node.FailPlain(fmt::format("{} \"{}\": the {} hand holds it; let that put it down first", action, prop,
                               held_[0] == prop ? "dominant" : "other"));
  }

  const std::vector<Prop>& props_;
  std::vector<std::string> names_;
  std::vector<Eigen::Vector2d> at_m_;  // where each prop lies, or lay last,
  std::vector<std::string> on_;        // and on what
  std::array<std::string, 2> held_;    // by the dominant and the other hand; empty: nothing
  double total_s_ = 0;
};

}  // namespace

std::string_view ToString(BeatKind kind) {
  return kBeats[static_cast<size_t>(kind)].key;
}
std::string_view ToString(WorkMotion motion) {
  return kMotions[static_cast<size_t>(motion)].key;
}

std::string_view ToString(LessonSet set) {
  return set == LessonSet::kTest ? "test" : "train";
}

std::vector<Beat> ReadBeats(const YamlNode& node, const std::vector<Prop>& props) {
  BeatReader reader(props);
  std::vector<Beat> beats;
  const std::vector<YamlNode> nodes = node.List(1, kMostBeats);
  beats.reserve(nodes.size());
  for (size_t i = 0; i < nodes.size(); ++i) beats.push_back(reader.Read(nodes[i].In(fmt::format("beat {}", i + 1))));
  return beats;
}

}  // namespace dryrig
