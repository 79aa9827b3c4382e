#include "scenes/joint_mapping.h"

#include "tests/fuzz/one_input.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  return dryrig::OneInput(data, size, [](const std::string& text) { dryrig::ParseJointMapping(text, "f.yaml"); });
}
