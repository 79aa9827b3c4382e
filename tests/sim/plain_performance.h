#pragma once

#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "tests/sim/shipped_cast.h"

namespace dryrig::testing {

inline Performance Plain(std::vector<Beat> beats, uint64_t seed = 1, const PersonSpec& person = PlainPerson()) {
  return Performance(PlainLesson(std::move(beats)), PlainBench(), person, seed);
}

inline Beat TakeUp(const std::string& prop, HandChoice hand = HandChoice::kDominant) {
  Beat beat = MakeBeat(BeatKind::kReach, prop);
  beat.take = true;
  beat.hand = hand;
  return beat;
}

inline Eigen::Vector3d PropAt(const Performance& p, double t, size_t prop = 0) {
  return p.PropsAt(t)[prop].X_WP.translation();
}

inline double Angle(const Eigen::Vector3d& a, const Eigen::Vector3d& b) {
  return std::atan2(a.cross(b).norm(), a.dot(b));
}

}  // namespace dryrig::testing
