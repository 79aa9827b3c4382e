#include <fmt/format.h>

#include <algorithm>

#include "scenes/lesson_reader.h"

namespace dryrig {

namespace {

/// A word through a parser that does not know where it stands.
template <class Parse>
auto ReadWord(const YamlNode& node, std::string_view expected, Parse parse) {
  const std::string word = node.Scalar(expected);
  try {
    return parse(word);
  } catch (const InputError& e) {
    node.Fail(e.what());
  }
}

std::vector<Subject> ReadSubjects(const YamlNode& node, const std::vector<Prop>& props) {
  std::vector<YamlNode> nodes{node};
  if (node.kind() == YamlNode::Kind::kList) nodes = node.List(1, 6);
  std::vector<Subject> subjects;
  for (const YamlNode& one : nodes) {
    Subject subject = ReadWord(one, "a subject", ParseSubject);
    if (!subject.prop.empty()) {
      const Prop& prop = RequireProp(one, subject.prop, "intent of", props);
      if (subject.kind == SubjectKind::kTip && !prop.tip_m) {
        one.FailPlain(fmt::format("intent of the tip of \"{}\": it has none; give the prop tip_mm", prop.name));
      }
    }
    if (std::find(subjects.begin(), subjects.end(), subject) != subjects.end()) one.Fail("named twice; keep one");
    subjects.push_back(std::move(subject));
  }
  return subjects;
}

/// What a good operator shows of an action when the author says nothing.
std::optional<Intent> Derived(const Beat& beat) {
  const Subject prop{SubjectKind::kProp, beat.prop};
  switch (beat.kind) {
    case BeatKind::kAddress:
      return Intent{{{Subject{SubjectKind::kFace, ""}}, ShotSize::kMedium, ShotAngle::kEyeLevel}, CueEnd::kAction};
    case BeatKind::kWork:
      return Intent{{{Subject{SubjectKind::kHands, ""}}, ShotSize::kCloseUp, ShotAngle::kHighAngle}, CueEnd::kAction};
    case BeatKind::kPoint:
      return Intent{{{prop}, ShotSize::kCloseUp, ShotAngle::kHighAngle}, CueEnd::kAction};
    case BeatKind::kHoldUp:
      return Intent{{{prop}, ShotSize::kCloseUp, ShotAngle::kEyeLevel}, CueEnd::kAction};
    case BeatKind::kReach:
    case BeatKind::kPutDown:
    case BeatKind::kTurn:
    case BeatKind::kSay:
    case BeatKind::kPause:
    case BeatKind::kGlance:
    case BeatKind::kPass:
    case BeatKind::kStepBack:
      break;
  }
  return std::nullopt;
}

}  // namespace

const Prop& RequireProp(const YamlNode& node, const std::string& name, std::string_view action, const std::vector<Prop>& props) {
  std::vector<std::string> names;
  for (const Prop& prop : props) {
    if (prop.name == name) return prop;
    names.push_back(prop.name);
  }
  const std::string mend = names.empty() ? "; the lesson has no props, list them under `props`" : Suggest(name, names);
  node.FailPlain(fmt::format("{} \"{}\": no such prop{}", action, name.substr(0, 40), mend));
}

Shot ReadShot(const YamlMap& map, const std::vector<Prop>& props) {
  Shot shot;
  shot.subjects = ReadSubjects(map.At("subject"), props);
  shot.size = ReadWord(map.At("size"), "a shot size", ParseShotSize);
  const bool face_first = shot.subjects.front().kind == SubjectKind::kFace;
  shot.angle = face_first ? ShotAngle::kEyeLevel : ShotAngle::kHighAngle;
  if (const auto angle = map.Find("angle")) shot.angle = ReadWord(*angle, "an angle", ParseShotAngle);
  if (const auto point = map.Find("composition")) shot.composition = ReadWord(*point, "a composition", ParseComposition);
  return shot;
}

std::optional<Intent> ReadIntent(const YamlMap& beat_map, const Beat& beat, const std::vector<Prop>& props) {
  const auto node = beat_map.Find("intent");
  if (!node) return Derived(beat);
  if (node->kind() == YamlNode::Kind::kScalar) {
    if (node->Scalar("none") == "none") return std::nullopt;
    node->Fail(fmt::format("\"{}\" is no intent; give a map with subject and size, or none", node->Scalar("none").substr(0, 40)));
  }
  const YamlMap map = node->Map({"subject", "size", "angle", "composition", "cue"});
  Intent intent;
  intent.shot = ReadShot(map, props);
  intent.cue = beat.say.empty() ? CueEnd::kAction : CueEnd::kLater;
  if (const auto cue = map.Find("cue")) {
    intent.cue = cue->Choice<CueEnd>({{"action", CueEnd::kAction}, {"sentence", CueEnd::kSentence}, {"later", CueEnd::kLater}});
    if (intent.cue == CueEnd::kSentence && beat.say.empty())
      cue->Fail("\"sentence\", but this beat says nothing; add `say` or use action");
    if (intent.cue == CueEnd::kAction && beat.kind == BeatKind::kSay) {
      cue->Fail("\"action\", but this beat is talk alone; use sentence");
    }
  }
  return intent;
}

}  // namespace dryrig
