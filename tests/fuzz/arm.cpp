// The arm's own file; the URDF that it refers to is a shipped one. Written to a folder first: its reader knows files alone.
#include "scenes/arm.h"

#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "tests/fuzz/one_input.h"

namespace {

/// A folder with the shipped URDF in it, gone at the end.
class Folder {
 public:
  Folder() : path_(std::filesystem::temp_directory_path() / ("dryrig-fuzz-arm-" + std::to_string(getpid()))) {
    std::filesystem::create_directories(path_);
    std::filesystem::copy_file(std::filesystem::path(DRYRIG_SOURCE_DIR) / "scenes/arms/heron.urdf", path_ / "heron.urdf",
                               std::filesystem::copy_options::overwrite_existing);
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  std::filesystem::path Write(const std::string& text) const {
    std::ofstream(path_ / "arm.yaml", std::ios::binary) << text;
    return path_ / "arm.yaml";
  }

 private:
  std::filesystem::path path_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  static const Folder folder;
  return dryrig::OneInput(data, size, [](const std::string& text) { dryrig::ReadArm(folder.Write(text)); });
}
