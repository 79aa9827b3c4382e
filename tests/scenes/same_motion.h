#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

#include "scenes/recording.h"

namespace dryrig {

/// A turn of a whole recording: which way a figure faces on the floor is its own affair.
struct Sight {
  Eigen::Matrix3d R;
  Eigen::Vector3d p;
};
inline Sight OfFirstFrame(const Recording& r) {
  Eigen::Vector3d right = r.At(0, TrackPoint::kHipR) - r.At(0, TrackPoint::kHipL);
  right.z() = 0;
  right.normalize();
  Sight s;
  s.R << right, Eigen::Vector3d::UnitZ().cross(right), Eigen::Vector3d::UnitZ();
  s.R.transposeInPlace();
  s.p = r.At(0, TrackPoint::kPelvis);
  return s;
}

/// Both recordings hold the same motion, seen from their own first frame, to a micrometre.
inline void ExpectSameMotion(const Recording& got, const Recording& wanted) {
  ASSERT_EQ(got.frames, wanted.frames);
  const Sight a = OfFirstFrame(got), b = OfFirstFrame(wanted);
  double worst = 0, worst_turn = 0;
  for (size_t f = 0; f < wanted.frames; ++f) {
    for (int i = 0; i < kNumTrackPoints; ++i) {
      const auto point = static_cast<TrackPoint>(i);
      ASSERT_EQ(got.Has(point), wanted.Has(point)) << ToString(point);
      if (!wanted.Has(point)) continue;
      worst = std::max(worst, (a.R * (got.At(f, point) - a.p) - b.R * (wanted.At(f, point) - b.p)).norm());
    }
    const auto turns = [&](const std::vector<Eigen::Quaterniond>& x, const std::vector<Eigen::Quaterniond>& y) {
      worst_turn = std::max(worst_turn, (a.R * x[f].toRotationMatrix() - b.R * y[f].toRotationMatrix()).norm());
    };
    turns(got.q_RHd, wanted.q_RHd);
    for (size_t side = 0; side < 2; ++side) turns(got.q_RH[side], wanted.q_RH[side]);
  }
  EXPECT_LT(worst, 1e-6);
  EXPECT_LT(worst_turn, 1e-6);
}

}  // namespace dryrig
