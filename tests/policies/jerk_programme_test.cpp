#include "policies/jerk_programme.h"

#include <gtest/gtest.h>

#include <functional>

#include "sim/rng.h"

namespace dryrig {
namespace {

using Joints = JerkProgramme::Joints;
using Blocks = JerkProgramme::Blocks;
using Weights = JerkProgramme::Weights;

constexpr double kPeriod_s = 1.0 / 30;

JerkProgramme::Bounds Wide(int joints, double size) {
  const Joints all = Joints::Constant(joints, size);
  return {-all, all, all, all, all};
}

/// A programme with its cost written out a second time, from the definition alone.
struct Costed {
  explicit Costed(const JerkProgramme::State& start, const JerkProgramme::Bounds& bounds) : from(start) {
    programme.Begin(start, bounds);
  }
  void Pull(int k, const Joints& at, const Weights& W, const Joints& slope, double onward_s) {
    programme.AddCost(k, at, W, slope, onward_s);
    parts.emplace_back([=, this](const Blocks& jerks) {
      const auto end = programme.After(from, jerks, programme.ends_s()[static_cast<size_t>(k)]);
      const Joints off = end.q + onward_s * end.v - at;
      return off.dot(W * off) + 2 * slope.dot(off);
    });
  }
  void Smooth(const Weights& W) {
    programme.AddJerkCost(W);
    parts.emplace_back([=, this](const Blocks& jerks) {
      double sum = 0, before_s = 0;
      for (int k = 0; k < JerkProgramme::kBlocks; ++k) {
        const double end_s = programme.ends_s()[static_cast<size_t>(k)];
        sum += (end_s - before_s) * jerks.col(k).dot(W * jerks.col(k));
        before_s = end_s;
      }
      return sum;
    });
  }
  double operator()(const Blocks& jerks) const {
    double sum = 0;
    for (const auto& part : parts) sum += part(jerks);
    return sum;
  }

  JerkProgramme programme{kPeriod_s};
  JerkProgramme::State from;
  std::vector<std::function<double(const Blocks&)>> parts;
};

Joints Draw(int joints, double size, RandomStream* draws) {
  Joints out(joints);
  for (int i = 0; i < joints; ++i) out[i] = draws->Uniform(-size, size);
  return out;
}

Weights DrawWeights(int joints, RandomStream* draws) {
  Weights half(joints, joints);
  for (int i = 0; i < joints; ++i) half.col(i) = Draw(joints, 1, draws);
  return half * half.transpose();
}

void AddDrawnCosts(RandomStream* draws, Costed* costed) {
  const auto joints = static_cast<int>(costed->from.q.size());
  for (int k = 2; k < JerkProgramme::kBlocks; ++k) {
    costed->Pull(k, Draw(joints, 1, draws), DrawWeights(joints, draws), Draw(joints, 0.2, draws), k == 7 ? 0.5 : 0);
  }
  costed->Smooth(1e-4 * DrawWeights(joints, draws) + 1e-4 * Weights::Identity(joints, joints));
}

TEST(JerkProgramme, OneJerkFromRestGoesASixthOfItsTimeCubed) {
  const JerkProgramme programme(kPeriod_s);
  const JerkProgramme::State rest{Joints::Zero(1), Joints::Zero(1), Joints::Zero(1)};
  const auto end = programme.After(rest, Blocks::Constant(1, JerkProgramme::kBlocks, 6), 2);
  // 60 periods of 1/30 s: q = 6 t³/6, v = 6 t²/2, a = 6 t. Rounding alone is tolerated.
  EXPECT_NEAR(programme.ends_s().back(), 2, 1e-12);
  EXPECT_NEAR(end.q[0], 8, 1e-12);
  EXPECT_NEAR(end.v[0], 12, 1e-12);
  EXPECT_NEAR(end.a[0], 12, 1e-12);
}

TEST(JerkProgramme, WithoutBoundsInTheWayNoOtherJerksCostLess) {
  RandomStream draws(3, "programmes");
  for (int number = 0; number < 20; ++number) {
    const int joints = 1 + number % JerkProgramme::kMostJoints;
    const JerkProgramme::State start{Draw(joints, 1, &draws), Draw(joints, 1, &draws), Draw(joints, 2, &draws)};
    Costed costed(start, Wide(joints, 1e4));
    AddDrawnCosts(&draws, &costed);
    const Blocks best = costed.programme.Solve();
    const double least = costed(best);
    EXPECT_DOUBLE_EQ(costed.programme.Excess(best), 0);
    for (int i = 0; i < joints; ++i) {
      for (int k = 0; k < JerkProgramme::kBlocks; ++k) {
        // At the minimum a step of 0.1 rad/s³ costs more by its square times the curvature; rounding is 1e-9 of the whole.
        for (const double step : {-0.1, 0.1}) {
          Blocks other = best;
          other(i, k) += step;
          EXPECT_GT(costed(other), least - 1e-9 * (1 + std::abs(least))) << number << ": joint " << i << ", block " << k;
        }
      }
    }
  }
}

TEST(JerkProgramme, BoundsAreKeptToOneHundredthAndWhatIsFeasibleCostsNoLess) {
  RandomStream draws(5, "bounded programmes");
  int touched = 0;
  for (int number = 0; number < 40; ++number) {
    const int joints = 1 + number % JerkProgramme::kMostJoints;
    const JerkProgramme::Bounds bounds{Joints::Constant(joints, -1.5), Joints::Constant(joints, 1.5),
                                       Joints::Constant(joints, 0.8), Joints::Constant(joints, 3), Joints::Constant(joints, 30)};
    const JerkProgramme::State start{Draw(joints, 1, &draws), Draw(joints, 0.1, &draws), Draw(joints, 0.1, &draws)};
    Costed costed(start, bounds), free(start, Wide(joints, 1e4));
    RandomStream again = draws;
    AddDrawnCosts(&draws, &costed);
    AddDrawnCosts(&again, &free);
    const Blocks best = costed.programme.Solve(), unbounded = free.programme.Solve();
    touched += costed.programme.Excess(unbounded) > 0.1;
    EXPECT_LT(costed.programme.Excess(best), 0.01) << number;
    // A little way from the answer toward many feasible ones nothing is to be won: 1 % of the whole cost is what inexact bounds
    // may bring.
    const double least = costed(best), scale = std::abs(least) + std::abs(costed(Blocks::Zero(joints, JerkProgramme::kBlocks)));
    for (int k = 0; k < 200; ++k) {
      Blocks other(joints, JerkProgramme::kBlocks);
      for (int block = 0; block < JerkProgramme::kBlocks; ++block) other.col(block) = Draw(joints, 8, &draws);
      if (costed.programme.Excess(other) > 0) continue;
      EXPECT_GT(costed(best + 0.1 * (other - best)), least - 0.01 * scale) << number;
    }
  }
  EXPECT_GT(touched, 20) << "bounds that nothing would pass prove nothing";
}

}  // namespace
}  // namespace dryrig
