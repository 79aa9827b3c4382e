// The renderer on geometry with an obvious answer.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "sim/lens.h"
#include "tests/viewer/render_stage.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector2d;
using Eigen::Vector3d;
using testing::At;
using testing::BareTake;
using testing::Blob;
using testing::BlobOf;
using testing::GreenBlob;
using testing::MakeBody;
using testing::Opposite;
using testing::RenderTest;

const Vector3d kGreen(0, 1, 0);
constexpr DrawOptions kLens{true, -1, true};

using RenderGeometry = RenderTest;

CameraBody MakeCamera(double width_mm, double height_mm, int width_px, int height_px) {
  CameraBody camera;
  camera.sensor_width_m = 1e-3 * width_mm;
  camera.sensor_height_m = 1e-3 * height_mm;
  camera.width_px = width_px;
  camera.height_px = height_px;
  return camera;
}

// A ball of 2 % of its distance: its image is an ellipse whose middle lies off its centre's image by less than
// (r/z)² · tan 45° · 1000 px = 0.4 px, and what pixels add to the mean of thousands of them is less than 0.1 px.
TEST_F(RenderGeometry, ABallAtTheCompositionPointLandsOnThePixelThatProjectSays) {
  struct Row {
    CameraBody camera;
    double focal_m;
  };
  const std::vector<Row> rows{{MakeCamera(23.5, 13.2, 1920, 1080), 0.018},
                              {MakeCamera(13.2, 7.4, 960, 540), 0.0088},
                              {MakeCamera(13.2, 7.4, 960, 540), 0.026},
                              {MakeCamera(24, 24, 800, 600), 0.012},
                              {MakeCamera(10, 20, 400, 700), 0.02}};
  const Isometry3d X_WC =
      Isometry3d(Eigen::Translation3d(0.3, -0.2, 1.1) * Eigen::AngleAxisd(2.0, Vector3d(0.3, -0.8, 0.5).normalized()));
  for (const Row& row : rows) {
    const LensState lens{row.focal_m, 1};
    for (const Composition composition : {Composition::kCentre, Composition::kUpperLeft, Composition::kLowerRight}) {
      SCOPED_TRACE(
          fmt::format("{}x{} at {} mm, {}", row.camera.width_px, row.camera.height_px, 1e3 * row.focal_m, ToString(composition)));
      const FramePoint point = CompositionPoint(composition, row.camera.aspect());
      const double z = 1.3, height = 1 / FrameHeights(row.camera, lens, 1, z);  // a frame height at that depth
      const Vector3d p_C(point.x * height, point.y * height, z);
      const auto at = ProjectPx(row.camera, lens, p_C);
      ASSERT_TRUE(at.has_value());
      const Take take = BareTake({{"ball", Shape::Sphere(0.02 * z), kGreen}}, {Isometry3d(Eigen::Translation3d(X_WC * p_C))});
      const DrawnScene scene(take);
      const View view = LensView(row.camera, lens, X_WC);
      const Blob ids = BlobOf(renderer().DrawIds(scene, view, kLens, row.camera.width_px, row.camera.height_px), 0);
      ASSERT_GT(ids.pixels, 100);
      EXPECT_LT((ids.middle - *at - Vector2d(0.5, 0.5)).norm(), 0.5);  // Project's integers are middles of pixels
      const Blob seen = GreenBlob(Draw(scene, view, kLens, row.camera.width_px, row.camera.height_px));
      ASSERT_GT(seen.pixels, 100);
      EXPECT_LT((seen.middle - *at - Vector2d(0.5, 0.5)).norm(), 0.7);  // the shaded rim is not clearly green
      // The same in a picture of another size.
      const Blob small = BlobOf(renderer().DrawIds(scene, view, kLens, 320, 240), 0);
      EXPECT_NEAR(small.middle.x() / 320, (at->x() + 0.5) / row.camera.width_px, 1.0 / 320);
      EXPECT_NEAR(small.middle.y() / 240, (at->y() + 0.5) / row.camera.height_px, 1.0 / 240);
    }
  }
}

// A ball's outline is the cone that touches it: half-angle asin(r/d), on the axis a circle.
TEST_F(RenderGeometry, ABallsOutlineIsThatOfTheTouchingCone) {
  const CameraBody camera = MakeCamera(23.5, 13.2, 1920, 1080);
  const LensState lens{0.018, 1};
  for (const double radius : {0.01, 0.05, 0.2}) {
    SCOPED_TRACE(radius);
    const double d = 0.9;
    const Take take = BareTake({{"ball", Shape::Sphere(radius), kGreen}}, {At(0, 0, d)});
    const Blob blob =
        BlobOf(renderer().DrawIds(DrawnScene(take), LensView(camera, lens, Isometry3d::Identity()), kLens, 1920, 1080), 0);
    const double px = FrameHeights(camera, lens, 1, 1) * 1080;
    const double wanted = px * std::tan(std::asin(radius / d)), seen = std::sqrt(blob.pixels / std::numbers::pi);
    // The mesh lies inside the ball by 0.5 mm at most; a tenth of a pixel is left for the count of pixels on the rim.
    EXPECT_LT(seen, wanted + 0.1);
    EXPECT_GT(seen, wanted - 0.1 - px * 0.0005 / d);
  }
}

TEST_F(RenderGeometry, ABoxCoversItsProjectedArea) {
  // Its face is 0.4 × 0.2 m at 2 m; the frame there is 2 m high and 4 m wide: 80 × 40 of 400 rows.
  const View view{Isometry3d::Identity(), 0.5, 2};
  const Take take = BareTake({{"box", Shape::Box({0.2, 0.1, 0.05}), kGreen}}, {At(0, 0, 2.05)});
  const IdPicture ids = renderer().DrawIds(DrawnScene(take), view, kLens, 800, 400);
  EXPECT_EQ(BlobOf(ids, 0).pixels, 80 * 40);
  EXPECT_EQ(ids.At(360, 180), 0);
  EXPECT_EQ(ids.At(439, 219), 0);
  EXPECT_EQ(ids.At(359, 180), -1);
  EXPECT_EQ(ids.At(440, 219), -1);
  EXPECT_EQ(ids.At(400, 179), -1);
  EXPECT_EQ(ids.At(400, 220), -1);
}

TEST_F(RenderGeometry, RowsComeFromTheTopAndRightIsRight) {
  // Over the bench, looking at the instructor, level: what is to their right is on the picture's left, what is higher is higher.
  const View view{Opposite({0, 2, 1}), 0.5, 2};
  const Shape ball = Shape::Sphere(0.05);
  const Take take =
      BareTake({{"right of the instructor", ball, kGreen}, {"above", ball, {1, 0, 0}}}, {At(0.5, 0, 1), At(0, 0, 1.5)});
  const DrawnScene scene(take);
  const IdPicture ids = renderer().DrawIds(scene, view, kLens, 800, 400);
  const Blob right = BlobOf(ids, 0), above = BlobOf(ids, 1);
  EXPECT_LT((right.middle - Vector2d(300, 200)).norm(), 0.3);
  EXPECT_LT((above.middle - Vector2d(400, 100)).norm(), 0.3);
  EXPECT_LT((GreenBlob(Draw(scene, view, kLens, 800, 400)).middle - Vector2d(300, 200)).norm(), 0.5);
}

TEST_F(RenderGeometry, TheNearestBodyWinsByAMillimetre) {
  const View view{Isometry3d::Identity(), 0.5, 1};
  const Shape box = Shape::Box({0.3, 0.3, 0.1});
  // Their faces lie at 1.500 and 1.501 m, and the other way round.
  for (const bool swapped : {false, true}) {
    const Take take =
        BareTake({{"a", box, kGreen}, {"b", box, kGreen}}, {At(0, 0, swapped ? 1.601 : 1.6), At(0, 0, swapped ? 1.6 : 1.601)});
    const IdPicture ids = renderer().DrawIds(DrawnScene(take), view, kLens, 300, 300);
    EXPECT_GT(BlobOf(ids, swapped ? 1 : 0).pixels, 10'000);
    EXPECT_EQ(BlobOf(ids, swapped ? 0 : 1).pixels, 0);
  }
}

// The optical centre sits in the housing: the lens sees through it, the room sees it.
TEST_F(RenderGeometry, TheHousingIsLeftOutOfWhatItsOwnLensSees) {
  Take take = BareTake({{"ball", Shape::Sphere(0.1), kGreen}}, {At(0, 0, 1)});
  take.arm_bodies = {{0, MakeBody("rod", Shape::Cylinder(0.01, 0.1), At(0, 0, -0.3))},
                     {0, MakeBody("camera", Shape::Box({0.06, 0.04, 0.06}), At(0, 0, -0.02))}};
  take.frames[0].X_WL = {Isometry3d::Identity()};
  const DrawnScene scene(take);
  ASSERT_EQ(scene.bodies(), 4);
  EXPECT_EQ(scene.NameOf(0), "ball");
  EXPECT_EQ(scene.NameOf(2), "rod");
  EXPECT_EQ(scene.NameOf(3), "camera");
  const View lens{Isometry3d::Identity(), 0.5, 1};
  const IdPicture through = renderer().DrawIds(scene, lens, kLens, 200, 200);
  EXPECT_EQ(BlobOf(through, 3).pixels, 0);
  EXPECT_GT(BlobOf(through, 0).pixels, 1000);
  Isometry3d X_WAside = Isometry3d::Identity();
  X_WAside.linear() = Eigen::AngleAxisd(-std::numbers::pi / 2, Vector3d::UnitY()).toRotationMatrix();
  X_WAside.translation() = Vector3d(1, 0, 0);
  EXPECT_GT(BlobOf(renderer().DrawIds(scene, {X_WAside, 0.5, 1}, {}, 200, 200), 3).pixels, 100);
}

TEST_F(RenderGeometry, ZonesAreGlassInTheRoomAndNothingToTheLens) {
  const Take open = BareTake({{"ball", Shape::Sphere(0.1), kGreen}}, {At(0, 0, 1)});
  Take zoned = open;
  zoned.keep_out = {MakeBody("zone-front", Shape::Box({0.3, 0.3, 0.1}), At(0, 0, 0.6)),
                    MakeBody("post", Shape::Box({0.01, 0.3, 0.01}), At(0.3, 0, 1))};
  Take solid = open;
  solid.keep_out = {zoned.keep_out[1]};
  const View view{Isometry3d::Identity(), 0.5, 1};
  const DrawnScene scene(zoned), without(solid);
  EXPECT_EQ(scene.NameOf(2), "post");
  EXPECT_EQ(scene.NameOf(3), "zone-front");
  EXPECT_EQ(BlobOf(renderer().DrawIds(scene, view, {}, 200, 200), 3).pixels, 0);
  EXPECT_GT(BlobOf(renderer().DrawIds(scene, view, {}, 200, 200), 2).pixels, 100);
  EXPECT_EQ(Draw(scene, view, kLens, 200, 200).rgb, Draw(without, view, kLens, 200, 200).rgb);
  EXPECT_NE(Draw(scene, view, {}, 200, 200).rgb, Draw(without, view, {}, 200, 200).rgb);
  const Picture glass = Draw(scene, view, {}, 200, 200);
  const auto green_over_red = [&](size_t x) { return glass.rgb[3 * (200 * 100 + x) + 1] - glass.rgb[3 * (200 * 100 + x)]; };
  EXPECT_GT(green_over_red(100), green_over_red(60) + 30) << "the ball shows through the glass";
}

TEST_F(RenderGeometry, TheSameSceneIsTheSameBytes) {
  Take take = testing::SketchTake();
  take.id.frame_hz = 30;
  const Take other = BareTake({{"ball", Shape::Sphere(0.1), kGreen}}, {At(0, 0, 1)});
  const DrawnScene scene(take), second(take), another(other);
  const View view = RoomView({}, 1.5);
  const Picture first = Draw(scene, view, {}, 300, 200);
  const IdPicture ids = renderer().DrawIds(scene, view, {}, 300, 200);
  EXPECT_EQ(Draw(scene, view, {}, 300, 200).rgb, first.rgb);
  Draw(another, view, {}, 123, 77);
  EXPECT_EQ(Draw(second, view, {}, 300, 200).rgb, first.rgb);
  Renderer anew;
  Canvas fresh;
  fresh.Resize(300, 200);
  anew.Draw(scene, view, {}, &fresh);
  EXPECT_EQ(fresh.Read().rgb, first.rgb);
  EXPECT_EQ(anew.DrawIds(second, view, {}, 300, 200).body, ids.body);
}

TEST_F(RenderGeometry, AFrameMovesWhatItMovesAndNothingElse) {
  const Take take = BareTake({{"ball", Shape::Sphere(0.04), kGreen}, {"box", Shape::Box({0.1, 0.1, 0.1}), kGreen}},
                             {At(-0.3, 0, 1), At(0.3, 0, 1)});
  DrawnScene scene(take);
  const View view{Isometry3d::Identity(), 0.5, 1};
  const IdPicture before = renderer().DrawIds(scene, view, kLens, 200, 200);
  TakeFrame moved = take.frames[0];
  moved.X_WP[0] = At(-0.3, 0.2, 1);
  scene.SetFrame(moved);
  const IdPicture after = renderer().DrawIds(scene, view, kLens, 200, 200);
  EXPECT_NEAR(BlobOf(after, 0).middle.y() - BlobOf(before, 0).middle.y(), 40, 0.3);
  EXPECT_EQ(BlobOf(after, 1).middle, BlobOf(before, 1).middle);
}

// A slanting edge: anti-aliasing makes colours between the two sides; without it there are two and no more.
TEST_F(RenderGeometry, EdgesAreSmooth) {
  const Take take = BareTake({{"box", Shape::Box({0.2, 0.2, 0.01}), kGreen}},
                             {Isometry3d(Eigen::Translation3d(0, 0, 1) * Eigen::AngleAxisd(0.2, Vector3d::UnitZ()))});
  const Picture picture = Draw(DrawnScene(take), {Isometry3d::Identity(), 0.5, 1}, {true, -1, false}, 200, 200);
  std::set<int> blues;
  for (size_t i = 2; i < picture.rgb.size(); i += 3) blues.insert(picture.rgb[i]);
  EXPECT_GE(blues.size(), 5u) << "at least three shades between";
}

TEST_F(RenderGeometry, TheChosenBodyStandsOut) {
  const Take take =
      BareTake({{"ball", Shape::Sphere(0.1), {0.5, 0.5, 0.5}}, {"box", Shape::Box({0.3, 0.3, 0.1}), {0.6, 0.6, 0.6}}},
               {At(0, 0, 1), At(0, 0, 1.5)});
  const DrawnScene scene(take);
  const View view{Isometry3d::Identity(), 0.4, 1};
  const IdPicture ids = renderer().DrawIds(scene, view, {}, 300, 300);
  const Picture plain = Draw(scene, view, {}, 300, 300), marked = Draw(scene, view, {false, 0, true}, 300, 300);
  int inside = 0, outside = 0;
  for (int y = 2; y + 2 < 300; ++y) {
    for (int x = 2; x + 2 < 300; ++x) {
      const size_t at = 3 * static_cast<size_t>(300 * y + x);
      if (std::equal(&plain.rgb[at], &plain.rgb[at] + 3, &marked.rgb[at])) continue;
      bool near = false;  // smoothing carries a colour over an edge, and to the pixel beside
      for (int i = 0; i < 25; ++i) near |= ids.At(x + i % 5 - 2, y + i / 5 - 2) == 0;
      ++(near ? inside : outside);
    }
  }
  EXPECT_GE(inside, BlobOf(ids, 0).pixels);
  EXPECT_EQ(outside, 0);
}

}  // namespace
}  // namespace dryrig
