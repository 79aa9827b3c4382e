#include "scenes/urdf.h"

#include "tests/fuzz/one_input.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  return dryrig::OneInput(data, size, [](const std::string& text) {
    const dryrig::UrdfTree tree = dryrig::ParseUrdf(text, "f.urdf");
    dryrig::ReadUrdfChain(tree, dryrig::ChooseTip(tree), {});
  });
}
