#include "scenes/lesson.h"

#include <fmt/format.h>

#include "scenes/bench.h"
#include "scenes/catalogue.h"
#include "scenes/lesson_reader.h"

namespace dryrig {

namespace {

YamlMap Top(const std::string& text, const std::string& file_name) {
  return YamlNode::Parse(text, file_name).Document("lesson", {"title", "craft", "hard_for", "bench", "person", "props", "beats"});
}

Lesson FromMap(const YamlMap& map, const std::string& text, const std::string& file_name) {
  Lesson lesson;
  lesson.name = std::filesystem::path(file_name).stem().string();
  lesson.title = map.Text("title");
  lesson.craft = map.Text("craft");
  lesson.hard_for = map.Text("hard_for");
  lesson.bench = map.Text("bench");
  lesson.person = map.Text("person");
  if (const auto props = map.Find("props")) lesson.props = ReadProps(*props);
  lesson.beats = ReadBeats(map.At("beats"), lesson.props);
  lesson.text = text;
  return lesson;
}

void RequireShipped(const YamlNode& node, SceneKind kind) {
  try {
    FindScene(kind, node.Text());
  } catch (const InputError& e) {
    node.FailPlain(e.what());
  }
}

/// The first edge of the bench's top that a thing of this half size would hang over, in words; empty where it lies well.
std::string Overhang(const Eigen::Vector2d& at_m, const Eigen::Vector2d& half_m, const Bench& bench) {
  constexpr double kFlush_m = 1e-6;
  const auto reach = [&](double over_m, const char* edge) {
    return over_m > kFlush_m ? fmt::format("{:.1f} mm over the {} edge", over_m * 1000, edge) : std::string();
  };
  for (const std::string& words :
       {reach(half_m.x() - at_m.x() - bench.width_m / 2, "left"), reach(at_m.x() + half_m.x() - bench.width_m / 2, "right"),
        reach(half_m.y() - at_m.y(), "front"), reach(at_m.y() + half_m.y() - bench.depth_m, "far")}) {
    if (!words.empty()) return words;
  }
  return "";
}

}  // namespace

Lesson ParseLesson(const std::string& text, const std::string& file_name) {
  return FromMap(Top(text, file_name), text, file_name);
}

Lesson ReadLesson(const std::filesystem::path& file) {
  const std::string text = ReadTextFile(file);
  const YamlMap map = Top(text, file.string());
  Lesson lesson = FromMap(map, text, file.string());
  RequireShipped(map.At("bench"), SceneKind::kBench);
  RequireShipped(map.At("person"), SceneKind::kPerson);
  return lesson;
}

void RequireFits(const Lesson& lesson, const Bench& bench) {
  const auto require = [&](const SourcePos& pos, const Prop& prop, const Eigen::Vector2d& at_m) {
    const std::string overhang = Overhang(at_m, FootprintHalf(prop), bench);
    if (overhang.empty()) return;
    throw InputError(
        pos, fmt::format("prop \"{}\" at [{:.0f}, {:.0f}] mm reaches {} of bench {} ({:.0f} x {:.0f} mm); move it or take "
                         "a larger bench",
                         prop.name, at_m.x() * 1000, at_m.y() * 1000, overhang, bench.name, bench.width_m * 1000,
                         bench.depth_m * 1000));
  };
  for (const Prop& prop : lesson.props) require(prop.pos, prop, prop.at_m);
  for (const Beat& beat : lesson.beats) {
    if (!beat.to_m) continue;
    for (const Prop& prop : lesson.props) {
      if (prop.name == beat.prop) require(beat.pos, prop, *beat.to_m);
    }
  }
}

}  // namespace dryrig
