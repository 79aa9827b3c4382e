// What is drawn for the eye alone, and what is left out because nobody could see it.
#include <gmock/gmock.h>

#include <map>

#include "tests/viewer/render_stage.h"
#include "viewer/render/look.h"

namespace dryrig::testing {
namespace {

using Eigen::Vector3d;

/// The sketched person, thighs level, with the soles this far above the floor.
Take SeatedTake(double sole_m) {
  Take take = SketchTake();
  double radius_m = 0;
  for (const PersonCapsule& capsule : take.person.capsules) {
    if (capsule.b == kToeL) radius_m = capsule.radius_m;
  }
  auto& p_W = take.frames[0].person.p_W;
  for (const int side : {0, 1}) {
    p_W[static_cast<size_t>(kToeL + side)].z() = sole_m + radius_m;
    p_W[static_cast<size_t>(kAnkleL + side)].z() = sole_m + radius_m + 0.05;
  }
  return take;
}

/// Tops of the boxes that stand on the floor beneath a point.
std::vector<double> TopsBeneath(const Take& take, const Vector3d& p_W) {
  std::vector<double> out;
  for (const DressingPiece& piece : StageDressing(take)) {
    const Vector3d middle = piece.X_WS.translation(), half = piece.shape.half_m;
    if (piece.shape.kind != ShapeKind::kBox || std::abs(middle.z() - half.z()) > 1e-9) continue;
    const bool beneath = std::abs(p_W.x() - middle.x()) < half.x() && std::abs(p_W.y() - middle.y()) < half.y();
    if (beneath) out.push_back(middle.z() + half.z());
  }
  return out;
}

TEST(RenderLook, FeetOffTheFloorRestOnSomethingThatReachesTheSoles) {
  const Take high = SeatedTake(0.12), low = SeatedTake(0);
  for (const int toe : {kToeL, kToeR}) {
    const auto at = static_cast<size_t>(toe);
    EXPECT_THAT(TopsBeneath(high, high.frames[0].person.p_W[at]), ::testing::ElementsAre(::testing::DoubleNear(0.12, 1e-9)));
    EXPECT_THAT(TopsBeneath(low, low.frames[0].person.p_W[at]), ::testing::IsEmpty());
  }
}

// Of the capsules that end at one point the thickest has its half ball drawn, and no other.
TEST(RenderLook, EachJointIsClosedByItsThickestCapsuleAlone) {
  const Take take = SketchTake();
  const DrawnScene scene(take);
  const auto& capsules = take.person.capsules;
  const auto& p_W = take.frames[0].person.p_W;
  std::map<int, double> thickest_m;
  std::map<int, int> ends;
  for (const PersonCapsule& capsule : capsules) {
    for (const int point : {capsule.a, capsule.b}) {
      thickest_m[point] = std::max(thickest_m[point], capsule.radius_m);
      ++ends[point];
    }
  }
  int shared = 0;
  for (const auto& [point, radius_m] : thickest_m) {
    shared += ends[point] > 1;
    std::vector<double> balls_m;
    for (const DrawnItem& item : scene.items()) {
      if (item.dressing || item.body < 0 || item.body >= static_cast<int>(capsules.size())) continue;
      const PersonCapsule& capsule = capsules[static_cast<size_t>(item.body)];
      if (capsule.a != point && capsule.b != point) continue;
      const Vector3d scale = item.X_WM.linear().colwise().norm();
      const bool ball = std::abs(scale.x() - scale.y()) < 1e-9 && std::abs(scale.x() - scale.z()) < 1e-9;
      if (ball && (item.X_WM.translation() - p_W[static_cast<size_t>(point)]).norm() < 1e-9) balls_m.push_back(scale.x());
    }
    ASSERT_FALSE(balls_m.empty()) << point;
    for (const double ball_m : balls_m) EXPECT_NEAR(ball_m, radius_m, 1e-9) << point;
  }
  EXPECT_GT(shared, 20) << "the sketch has joints at all";
}

}  // namespace
}  // namespace dryrig::testing
