#include <fmt/format.h>

#include "scenes/lesson.h"
#include "scenes/recorded_lesson.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

constexpr const char* kBench = "workshop-bench";  // of standing height, as most who are recorded stand

std::string InQuotes(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

}  // namespace

bool IsBareRecording(const std::filesystem::path& file) {
  std::string end = file.extension().string();
  for (char& c : end) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return end == ".bvh" || end == ".csv";
}

Lesson LessonOfRecording(const std::filesystem::path& motion, const std::filesystem::path& captions) {
  const std::string name = motion.filename().string();
  std::string text = fmt::format(
      "dryrig: lesson/1\ntitle: {}\ncraft: recorded\nhard_for: a recording as it came, without a key\nbench: {}\nrecorded:\n"
      "  motion: {}\n",
      InQuotes("Recorded motion " + name), kBench, InQuotes(name));
  if (!captions.empty()) text += fmt::format("  captions: {}\n", InQuotes(captions.filename().string()));
  // Named without their folders, so that the same recording is the same take wherever it lies.
  const auto read = [&](const std::string& kind, const std::string&) {
    return ReadTextFile(kind == "motion" ? motion : captions, kMostRecordedBytes);
  };
  return ParseLesson(text, motion.string(), read);
}

}  // namespace dryrig
