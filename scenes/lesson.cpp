#include "scenes/lesson.h"

#include <fmt/format.h>

#include "scenes/catalogue.h"
#include "scenes/lesson_reader.h"

namespace dryrig {

namespace {

YamlMap Top(const std::string& text, const std::string& file_name) {
  return YamlNode::Parse(text, file_name)
      .Document("lesson", {"title", "craft", "hard_for", "set", "bench", "person", "props", "beats", "recorded", "intents"});
}

/// Body and speech from files, the key by the clock.
std::shared_ptr<const RecordedLesson> Recorded(const YamlMap& map, const std::vector<Prop>& props, const FileReader& read) {
  auto recorded = std::make_shared<RecordedLesson>(ReadRecorded(map.At("recorded"), props, read));
  if (const auto intents = map.Find("intents")) recorded->intents = ReadTimedIntents(*intents, props);
  return recorded;
}

Lesson FromMap(const YamlMap& map, const std::string& text, const std::string& file_name, const FileReader& read) {
  Lesson lesson;
  lesson.name = std::filesystem::path(file_name).stem().string();
  lesson.title = map.Text("title");
  lesson.craft = map.Text("craft");
  lesson.hard_for = map.Text("hard_for");
  if (const auto set = map.Find("set"))
    lesson.set = set->Choice<LessonSet>({{"train", LessonSet::kTrain}, {"test", LessonSet::kTest}});
  lesson.bench = map.Text("bench");
  if (const auto props = map.Find("props")) lesson.props = ReadProps(*props);
  if (map.OneOf({"beats", "recorded"}, "course of the lesson") == "recorded") {
    if (const auto person = map.Find("person")) lesson.person = person->Text();
    lesson.recorded = Recorded(map, lesson.props, read);
  } else {
    if (const auto intents = map.Find("intents")) intents->FailPlain("intents: beats carry their own; give each beat its intent");
    lesson.person = map.Text("person");
    lesson.beats = ReadBeats(map.At("beats"), lesson.props);
  }
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

FileReader ReadBeside(const std::string& file_name) {
  return [folder = std::filesystem::path(file_name).parent_path()](const std::string&, const std::string& name) {
    return ReadTextFile(folder / name, kMostRecordedBytes);
  };
}

}  // namespace

Lesson ParseLesson(const std::string& text, const std::string& file_name, const FileReader& read) {
  return FromMap(Top(text, file_name), text, file_name, read ? read : ReadBeside(file_name));
}

Lesson ReadLesson(const std::filesystem::path& file) {
  if (IsBareRecording(file)) return LessonOfRecording(file);
  const std::string text = ReadTextFile(file);
  const YamlMap map = Top(text, file.string());
  Lesson lesson = FromMap(map, text, file.string(), ReadBeside(file.string()));
  RequireShipped(map.At("bench"), SceneKind::kBench);
  if (const auto person = map.Find("person")) RequireShipped(*person, SceneKind::kPerson);
  return lesson;
}

}  // namespace dryrig
