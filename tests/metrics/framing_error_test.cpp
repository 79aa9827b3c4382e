#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "scenes/error.h"
#include "tests/metrics/take_builder.h"

namespace dryrig::testing {
namespace {

using ::testing::HasSubstr;

/// A subject of 0.2 m at 1 m height, a torso turned by `torso_rad` (0: its normal is +y), seen as asked.
struct Scene {
  CameraBody camera;
  SubjectGeometry subject{{0.1, 0.3, 1.0}, 0.2};
  Shot shot = HandsShot(ShotSize::kMedium, ShotAngle::kEyeLevel);
  Eigen::Quaterniond q_WT = Eigen::Quaterniond::Identity();
  LensState lens{0.018, 1};

  double Depth() const { return FrameHeights(camera, lens, subject.extent_m, 1) / WantedFrameHeights(shot); }
  Eigen::Isometry3d From(const Eigen::Vector3d& way, const Eigen::Vector3d& up) const {
    return LookAt(subject.centre_W + Depth() * way.normalized(), subject.centre_W, up);
  }
  FramingParts Measure(const Eigen::Isometry3d& X_WC) const {
    return MeasureFraming(camera, X_WC, lens, q_WT, shot, subject, {});
  }
};
const Eigen::Vector3d kX = Eigen::Vector3d::UnitX(), kY = Eigen::Vector3d::UnitY(), kZ = Eigen::Vector3d::UnitZ();

TEST(MeasureFraming, IsZeroForTheViewAskedFor) {
  Scene scene;
  for (const ShotAngle angle : {ShotAngle::kEyeLevel, ShotAngle::kHighAngle, ShotAngle::kOverhead}) {
    scene.shot.angle = angle;
    scene.q_WT = Eigen::AngleAxisd(0.7, kZ);
    const WantedView view = ViewFor(angle, scene.q_WT);
    const FramingParts parts = scene.Measure(scene.From(view.to_camera_W, view.up_W));
    EXPECT_NEAR(parts.error, 0, 1e-9);
    EXPECT_NEAR(parts.angle_deg, 0, 1e-9);
    EXPECT_NEAR(parts.size_octaves, 0, 1e-12);
    EXPECT_NEAR(parts.composition_heights, 0, 1e-12);
    EXPECT_FALSE(parts.off_frame);
  }
}

// One part at its tolerance, the others at 0: the error is √(1/3).
TEST(MeasureFraming, OnePartAtItsToleranceCountsAThird) {
  const double third = std::sqrt(1.0 / 3);
  Scene scene;
  const Eigen::Isometry3d X_WC = scene.From(kY, kZ);
  const double heights_per_m = FrameHeights(scene.camera, scene.lens, 1, scene.Depth());

  Eigen::Isometry3d beside = X_WC;  // sideways in the image plane, so that depth and size stay; 0.06 m, and the view turns by 4°
  beside.translation() += X_WC.linear().col(0) * (1.0 / 6 / heights_per_m);
  const FramingParts moved = scene.Measure(beside);
  EXPECT_NEAR(moved.composition_heights, 1.0 / 6, 1e-12);
  EXPECT_NEAR(moved.size_octaves, 0, 1e-12);
  EXPECT_NEAR(moved.error, std::sqrt((1 + std::pow(moved.angle_deg / 15, 2)) / 3), 1e-12);

  scene.subject.extent_m *= std::sqrt(2);  // half an octave too large
  const FramingParts larger = scene.Measure(X_WC);
  EXPECT_NEAR(larger.size_octaves, 0.5, 1e-12);
  EXPECT_NEAR(larger.error, third, 1e-12);

  scene = {};
  const FramingParts turned = scene.Measure(scene.From({std::sin(15 * kDegree), std::cos(15 * kDegree), 0}, kZ));
  EXPECT_NEAR(turned.direction_deg, 15, 1e-9);
  EXPECT_NEAR(turned.up_deg, 0, 1e-9);
  EXPECT_NEAR(turned.error, third, 1e-9);
}

TEST(MeasureFraming, EachPartIsCappedAtFour) {
  Scene scene;
  const Eigen::Isometry3d X_WC = scene.From(kY, kZ);
  scene.subject.extent_m *= 64;  // six octaves are twelve tolerances
  EXPECT_NEAR(scene.Measure(X_WC).error, 4 / std::sqrt(3), 1e-12);
}

TEST(MeasureFraming, BehindOrOutsideCountsFour) {
  Scene scene;
  const Eigen::Isometry3d X_WC = scene.From(kY, kZ);
  for (const double yaw : {kPi, kPi / 2}) {
    const FramingParts away = scene.Measure(X_WC * Eigen::AngleAxisd(yaw, kY));
    EXPECT_TRUE(away.off_frame);
    EXPECT_DOUBLE_EQ(away.error, 4);
  }
  EXPECT_FALSE(scene.Measure(X_WC * Eigen::AngleAxisd(kPi, kY)).in_front);
  // The angle part knows where the camera stands, whatever it looks at.
  EXPECT_NEAR(scene.Measure(X_WC * Eigen::AngleAxisd(kPi, kY)).direction_deg, 0, 1e-9);
}

TEST(MeasureFraming, UpsideDownOverheadIsHalfATurnWrong) {
  Scene scene;
  scene.shot.angle = ShotAngle::kOverhead;
  // Right: the image's top toward the instructor, who sits at -y.
  EXPECT_NEAR(scene.Measure(scene.From(kZ, -kY)).angle_deg, 0, 1e-9);
  const FramingParts upside_down = scene.Measure(scene.From(kZ, kY));
  EXPECT_NEAR(upside_down.direction_deg, 0, 1e-9);
  EXPECT_NEAR(upside_down.up_deg, 180, 1e-9);
  EXPECT_NEAR(upside_down.error, 4 / std::sqrt(3), 1e-12);  // 12 tolerances, capped
  EXPECT_NEAR(scene.Measure(scene.From(kZ, kX)).up_deg, 90, 1e-9);
}

// A high angle from 15° to the side: the camera whose horizon is level is right, the one that leans with the least rotation is
// off by the azimuth times the sine of the elevation, here by more than 9°.
TEST(MeasureFraming, ALevelHorizonIsRightFromWhereverTheCameraStands) {
  Scene scene;
  scene.shot.angle = ShotAngle::kHighAngle;
  for (const double azimuth_deg : {-40.0, -15.0, 0.0, 15.0, 40.0}) {
    const double azimuth = azimuth_deg * kDegree, elevation = 40 * kDegree;
    const Eigen::Vector3d line(std::cos(elevation) * std::sin(azimuth), std::cos(elevation) * std::cos(azimuth),
                               std::sin(elevation));
    const Eigen::Isometry3d level = scene.From(line, kZ);
    EXPECT_NEAR(scene.Measure(level).up_deg, 0, 1e-9) << azimuth_deg;
    EXPECT_NEAR(scene.Measure(level * Eigen::AngleAxisd(9 * kDegree, kZ)).up_deg, 9, 1e-9) << azimuth_deg;
  }
}

// From over the top a high angle has no horizon any more: the wanted up passes from one rule to the other without a jump.
TEST(MeasureFraming, TowardTheVerticalTheWantedUpChangesSmoothly) {
  Scene scene;
  scene.shot.angle = ShotAngle::kHighAngle;
  double before = 0;
  for (int k = 0; k <= 600; ++k) {
    const double off = (45 - 0.1 * k) * kDegree;  // of the vertical, and a little over it
    const Eigen::Vector3d line(0.3 * std::sin(off), std::sin(off), std::cos(off));
    const double now = scene.Measure(scene.From(line, Eigen::Vector3d(0.2, -1, 0.1))).up_deg;
    // 0.1° of the line moves the rule by 0.5 % of at most half a turn, and itself by little more than 0.1°.
    EXPECT_LT(k > 0 ? std::abs(now - before) : 0, 1.5) << k;
    before = now;
  }
}

TEST(MeasureFraming, UpIsCarriedByTheLeastRotation) {
  Scene scene;
  // A level camera from 40° aside: image-up stays the vertical.
  EXPECT_NEAR(scene.Measure(scene.From({std::sin(0.7), std::cos(0.7), 0}, kZ)).up_deg, 0, 1e-9);
  // Raised by 30° in the same plane: up leans with it.
  EXPECT_NEAR(scene.Measure(scene.From({0, std::cos(0.5), std::sin(0.5)}, kZ)).up_deg, 0, 1e-9);
  // Rolled by 20°.
  const FramingParts rolled = scene.Measure(scene.From(kY, kZ) * Eigen::AngleAxisd(20 * kDegree, kZ));
  EXPECT_NEAR(rolled.up_deg, 20, 1e-9);
  EXPECT_NEAR(rolled.direction_deg, 0, 1e-9);
  EXPECT_NEAR(rolled.angle_deg, 20, 1e-9);
  // From straight behind there is no least rotation, and all is finite.
  EXPECT_NEAR(scene.Measure(scene.From(-kY, kZ)).angle_deg, 180, 1e-9);
}

TEST(MeasureFraming, FacingIsTheAzimuthAgainstTheTorso) {
  Scene scene;
  scene.q_WT = Eigen::AngleAxisd(30 * kDegree, kZ);
  EXPECT_NEAR(scene.Measure(scene.From(kY, kZ)).facing_deg, 30, 1e-9);
  EXPECT_NEAR(scene.Measure(scene.From({0, 1, 1}, kZ)).facing_deg, 30, 1e-9);
  EXPECT_NEAR(scene.Measure(scene.From(-kY, kZ)).facing_deg, 150, 1e-9);
  EXPECT_TRUE(std::isnan(scene.Measure(scene.From({0, std::sin(19 * kDegree), std::cos(19 * kDegree)}, kY)).facing_deg));
  EXPECT_FALSE(std::isnan(scene.Measure(scene.From({0, std::sin(21 * kDegree), std::cos(21 * kDegree)}, kY)).facing_deg));
}

TEST(MeasureFraming, StaysFiniteWithTheCameraInTheSubject) {
  Scene scene;
  Eigen::Isometry3d X_WC = scene.From(kY, kZ);
  X_WC.translation() = scene.subject.centre_W;
  EXPECT_DOUBLE_EQ(scene.Measure(X_WC).error, 4);
}

TEST(FramingError, IsTheRootMeanSquareOverScoredFrames) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot());
  const Eigen::Isometry3d right = b.ViewOf(HandsShot());
  const Eigen::Isometry3d away = right * Eigen::AngleAxisd(kPi, kY);
  // Away until 3.0 s: 45 of the 135 scored frames are lost; the first 45 frames do not count.
  b.camera = [=](double t_s) { return t_s < 2.99 ? away : right; };
  b.lens = [](double) { return LensState{0.018, 1}; };
  const Take take = b.Build();
  EXPECT_NEAR(ValueOf(take, "framing_error"), 4 * std::sqrt(45.0 / 135), 1e-9);
  EXPECT_NEAR(ValueOf(take, "off_subject"), 45.0 / 135, 1e-12);
  EXPECT_NEAR(ValueOf(take, "composition_error"), 0, 1e-9) << "over frames that have the subject";
  EXPECT_NEAR(ValueOf(take, "size_error"), 0, 1e-9);
  const Score score = ScoreOf(take, "framing_error");
  EXPECT_NEAR(score.worst_t_s.value(), 1.5, 1e-12);
  EXPECT_THAT(score.worst_what, HasSubstr("behind"));
}

TEST(FramingError, FollowsTheCompositionAskedFor) {
  TakeBuilder b;
  Shot shot = HandsShot();
  shot.composition = Composition::kUpperLeft;
  b.Ask(0, 6, shot);
  // Centred although the upper left crossing was asked for: √((aspect/6)² + (1/6)²) off.
  EXPECT_NEAR(ValueOf(b.Build(), "composition_error"), std::hypot(16.0 / 9 / 6, 1.0 / 6), 1e-9);
}

TEST(FramingError, PartsHaveTheirOwnUnits) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot());
  const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot(), 2) * Eigen::AngleAxisd(10 * kDegree, kZ);
  b.camera = [=](double) { return X_WC; };
  EXPECT_NEAR(ValueOf(b.Build(), "size_error"), 1, 1e-9);
  EXPECT_NEAR(ValueOf(b.Build(), "angle_error_deg"), 10, 1e-6);
  EXPECT_NEAR(ValueOf(b.Build(), "facing_error_deg"), 0, 1e-6);
}

TEST(Tolerances, CanBeSetAndAreChecked) {
  Tolerances tolerances;
  SetTolerance(&tolerances, "angle_deg", 30);
  EXPECT_DOUBLE_EQ(tolerances.angle_deg, 30);
  EXPECT_THAT([&] { SetTolerance(&tolerances, "angel_deg", 30); }, ::testing::ThrowsMessage<InputError>(HasSubstr("angle_deg")));
  EXPECT_THAT([&] { SetTolerance(&tolerances, "cap", std::nan("")); },
              ::testing::ThrowsMessage<InputError>(HasSubstr("[1, 100]")));
}

TEST(Tolerances, ScaleTheError) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot());
  const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot()) * Eigen::AngleAxisd(30 * kDegree, kZ);
  b.camera = [=](double) { return X_WC; };
  const Take take = b.Build();
  Tolerances wide;
  SetTolerance(&wide, "angle_deg", 30);
  const Metric& metric = FindMetric("framing_error");
  EXPECT_NEAR(metric.compute(Footage(take)).value.value(), 2 / std::sqrt(3), 1e-6);
  EXPECT_NEAR(metric.compute(Footage(take, wide)).value.value(), 1 / std::sqrt(3), 1e-6);
}

}  // namespace
}  // namespace dryrig::testing
