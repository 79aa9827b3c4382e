#include "bench/out_folder.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <fstream>

#include "scenes/error.h"
#include "sim/store.h"

namespace dryrig {

namespace fs = std::filesystem;

OutFolder::OutFolder(fs::path path) : path_(std::move(path)) {
  if (path_.empty()) throw InputError("--out is empty; name a folder for the results");
  std::error_code ignored;
  fs::path nearest = fs::absolute(path_);
  while (!fs::exists(nearest, ignored) && nearest.has_relative_path()) nearest = nearest.parent_path();
  if (!fs::is_directory(nearest)) throw InputError(fmt::format("--out {}: {} is not a folder", path_.string(), nearest.string()));
  if (access(nearest.c_str(), W_OK | X_OK) != 0) {
    throw InputError(fmt::format("--out {}: {} cannot be written: {}", path_.string(), nearest.string(), std::strerror(errno)));
  }
}

OutFolder::~OutFolder() {
  if (lock_ >= 0) close(lock_);
}

void OutFolder::Open() {
  try {
    fs::create_directories(path_);
  } catch (const fs::filesystem_error& error) {
    throw InputError(fmt::format("--out {}: {}", path_.string(), error.code().message()));
  }
  lock_ = open(path_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (lock_ >= 0 && flock(lock_, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) {
    throw InputError(fmt::format("--out {}: another run is writing there; wait for it or choose another folder", path_.string()));
  }
}

void OutFolder::Write(const std::string& file, const std::string& text) const {
  WriteFile(path_ / file, text);
}

void OutFolder::RemoveResults() const {
  if (fs::exists(Database())) Store(Database(), Store::Mode::kRead);  // refuses what is not ours
  for (const char* file : {"results.db", "results.db-journal", "results.csv", "scorecard.json", "contact-sheet.png"})
    fs::remove(path_ / file);
}

void WriteFile(const fs::path& file, const std::string& text) {
  const fs::path beside = file.string() + ".part";
  std::ofstream out(beside, std::ios::binary | std::ios::trunc);
  out << text;
  out.close();
  std::error_code error;
  if (out) fs::rename(beside, file, error);
  if (!out || error) {
    const std::string reason = error ? error.message() : std::strerror(errno);
    fs::remove(beside, error);
    throw RunError(fmt::format("{} could not be written: {}", file.string(), reason));
  }
}

}  // namespace dryrig
