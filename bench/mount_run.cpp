#include "bench/mount_run.h"

#include <fmt/format.h>

#include <atomic>
#include <exception>
#include <fstream>
#include <map>
#include <mutex>
#include <sstream>
#include <thread>

#include "bench/progress.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

/// Tries that the file holds whole, by number. A line cut short by a kill is none.
std::map<size_t, MountScore> ReadTries(const MountRunOptions& options) {
  std::map<size_t, MountScore> out;
  std::ifstream in(options.tries);
  std::string line;
  if (!std::getline(in, line) || line != options.key) return out;
  while (std::getline(in, line)) {
    std::istringstream words(line);
    size_t number = 0;
    MountScore score;
    words >> number;
    for (int& count : score.by_fate) words >> count;
    std::string end;
    if (words >> end && end == ".") out[number] = score;
  }
  return out;
}

}  // namespace

std::vector<RankedMount> TryMounts(const std::vector<MountPlace>& places, const std::vector<MountCast>& casts,
                                   const MountRunOptions& options) {
  std::vector<RankedMount> out;
  for (const MountPlace& place : places) {
    for (const MountCast& cast : casts) out.push_back({place, cast.camera, {}});
  }
  const std::map<size_t, MountScore> known = ReadTries(options);
  std::ofstream file(options.tries, std::ios::trunc);
  file << options.key << '\n';
  const auto keep = [&](size_t number, const MountScore& score) {
    file << number;
    for (const int count : score.by_fate) file << ' ' << count;
    file << " .\n" << std::flush;
    if (!file) throw RunError(fmt::format("{} cannot be written", options.tries.string()));
  };
  std::vector<size_t> missing;
  for (size_t i = 0; i < out.size(); ++i) {
    const auto at = known.find(i);
    if (at == known.end()) {
      missing.push_back(i);
      continue;
    }
    out[i].score = at->second;
    keep(i, at->second);
  }
  if (missing.empty()) return out;

  Progress progress(missing.size(), options.quiet, "mounts");
  std::atomic<size_t> next{0};
  std::mutex mutex;
  std::exception_ptr failed;
  const auto work = [&] {
    try {
      for (size_t n = next++; n < missing.size(); n = next++) {
        const size_t i = missing[n];
        MountScore score;
        for (const LessonViews& views : casts[i % casts.size()].views) {
          for (const ViewFate fate : views.FatesFrom(out[i].place, options.clearance_m))
            ++score.by_fate[static_cast<size_t>(fate)];
        }
        const std::lock_guard lock(mutex);
        out[i].score = score;
        keep(i, score);
        progress.Done(out[i].place.Text());
      }
    } catch (...) {
      const std::lock_guard lock(mutex);
      failed = std::current_exception();
      next = missing.size();
    }
  };
  std::vector<std::thread> threads;
  for (int job = 1; job < options.jobs; ++job) threads.emplace_back(work);
  work();
  for (std::thread& thread : threads) thread.join();
  if (failed) std::rethrow_exception(failed);
  progress.Finish();
  return out;
}

}  // namespace dryrig
