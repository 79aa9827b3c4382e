#include "scenes/captions.h"

#include "tests/fuzz/one_input.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  return dryrig::OneInput(data, size, [](const std::string& text) {
    for (const auto parse : {dryrig::ParseWebVtt, dryrig::ParseSrt}) {
      try {
        for (const dryrig::CaptionCue& cue : parse(text, "f").cues) {
          if (!(cue.start_s < cue.end_s) || cue.text.empty() || dryrig::CleanText("x" + cue.text) != "x" + cue.text)
            __builtin_trap();
        }
      } catch (const dryrig::InputError&) {  // what is no file of the one format may be one of the other
      }
    }
  });
}
