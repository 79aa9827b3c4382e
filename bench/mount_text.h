#pragma once

#include <string>
#include <vector>

#include "bench/mount_study.h"

namespace dryrig {

/// A mount, camera and what they see, over all lessons and people.
struct RankedMount {
  MountPlace place;
  std::string camera;
  MountScore score;
};

/// Best first; of equal ones the one that comes too near less often, then the order given.
void Rank(std::vector<RankedMount>* mounts);
/// The first `rows` of a ranking: share seen, and what the rest was lost to.
std::string RankingTable(const std::vector<RankedMount>& mounts, size_t rows);
/// The bench from above, a panel for each height, each mount's square as dark as the share that it sees, the numbers in them
/// (SVG). Of several cameras at one place the best counts.
std::string MountSvg(const Bench& bench, const std::vector<RankedMount>& mounts, const std::string& title);
std::string MountCsv(const std::vector<RankedMount>& mounts);

}  // namespace dryrig
