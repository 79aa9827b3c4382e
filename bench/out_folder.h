#pragma once

#include <filesystem>
#include <string>

namespace dryrig {

/// The folder given by --out: the only place that the program writes to.
class OutFolder {
 public:
  /// Writes nothing. @throws InputError if the folder is a file or cannot be made or written.
  explicit OutFolder(std::filesystem::path path);
  ~OutFolder();
  OutFolder(const OutFolder&) = delete;
  OutFolder& operator=(const OutFolder&) = delete;

  /// Makes the folder and keeps other runs out of it until the end. @throws InputError if another run has it.
  void Open();
  const std::filesystem::path& path() const { return path_; }
  std::filesystem::path Database() const { return path_ / "results.db"; }
  /// Whole or not at all: written beside and moved into place. @throws RunError.
  void Write(const std::string& file, const std::string& text) const;
  /// Removes results of ours. @throws InputError if results.db is not ours.
  void RemoveResults() const;

 private:
  std::filesystem::path path_;
  int lock_ = -1;
};

/// Writes a file whole or not at all. @throws RunError.
void WriteFile(const std::filesystem::path& file, const std::string& text);

}  // namespace dryrig
