#include "scenes/lesson.h"

#include "tests/fuzz/one_input.h"
#include "tests/scenes/bvh_files.h"

namespace {

std::string Motion() {
  dryrig::BvhStyle style;
  style.frames = 120;
  return dryrig::WriteBvh(style);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const std::string kMotion = Motion();
  return dryrig::OneInput(data, size, [](const std::string& text) {
    dryrig::ParseLesson(text, "f.yaml", [](const std::string&, const std::string& name) -> std::string {
      if (name.ends_with(".bvh")) return kMotion;
      if (name.ends_with(".vtt")) return "WEBVTT\n\n00:00.500 --> 00:01.500\nGlue.\n";
      if (name.ends_with(".yaml")) return "dryrig: mapping/1\njoints: {left_thumb: none}\n";
      throw dryrig::InputError(name + ": no such file; check the path");
    });
  });
}
