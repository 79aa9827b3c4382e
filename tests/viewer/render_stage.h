#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <memory>

#include "tests/sim/sketch_take.h"
#include "viewer/render/offscreen.h"
#include "viewer/render/renderer.h"

namespace dryrig::testing {

/// A context, a renderer and a canvas for all tests of a suite.
class RenderTest : public ::testing::Test {
 protected:
  static void SetUpTestSuite() { kit_ = new Kit; }
  static void TearDownTestSuite() { delete std::exchange(kit_, nullptr); }
  static Renderer& renderer() { return kit_->renderer; }
  static Canvas& canvas() { return kit_->canvas; }

  static Picture Draw(const DrawnScene& scene, const View& view, const DrawOptions& options, int width, int height) {
    canvas().Resize(width, height);
    renderer().Draw(scene, view, options, &canvas());
    return canvas().Read();
  }

 private:
  struct Kit {
    OffscreenContext context;
    Renderer renderer;
    Canvas canvas;
  };
  static inline Kit* kit_ = nullptr;
};

/// Nobody and nothing but `props`, each at a place in W; the bench's top lies small and far behind every camera of these tests.
inline Take BareTake(const std::vector<TakeProp>& props, const std::vector<Eigen::Isometry3d>& X_WP) {
  Take take;
  take.id.frame_hz = 30;
  take.bench_top = MakeBody("bench", Shape::Box({0.01, 0.01, 0.01}), At(0, 0, -60));  // below the floor: no legs
  take.props = props;
  TakeFrame frame;
  frame.X_WC = Eigen::Isometry3d::Identity();
  frame.lens = {0.018, 1};
  frame.person.p_W.fill(Eigen::Vector3d(0, 0, -60));
  frame.X_WP = X_WP;
  frame.carrier.assign(props.size(), -1);
  take.frames.push_back(frame);
  return take;
}

/// C at `p_W`, looking level along -y (as a camera across the bench looks at the instructor).
inline Eigen::Isometry3d Opposite(const Eigen::Vector3d& p_W) {
  Eigen::Isometry3d X_WC = Eigen::Isometry3d::Identity();
  X_WC.linear().col(0) = -Eigen::Vector3d::UnitX();
  X_WC.linear().col(1) = -Eigen::Vector3d::UnitZ();
  X_WC.linear().col(2) = -Eigen::Vector3d::UnitY();
  X_WC.translation() = p_W;
  return X_WC;
}

struct Blob {
  int pixels = 0;
  Eigen::Vector2d middle = Eigen::Vector2d::Zero();  // pixels, (0, 0) the picture's top left corner
};

/// Pixels of one body.
inline Blob BlobOf(const IdPicture& ids, int body) {
  Blob blob;
  for (int y = 0; y < ids.height; ++y) {
    for (int x = 0; x < ids.width; ++x) {
      if (ids.At(x, y) != body) continue;
      ++blob.pixels;
      blob.middle += Eigen::Vector2d(x + 0.5, y + 0.5);
    }
  }
  if (blob.pixels > 0) blob.middle /= blob.pixels;
  return blob;
}

/// Pixels that are clearly green.
inline Blob GreenBlob(const Picture& picture) {
  Blob blob;
  const uint8_t* pixel = picture.rgb.data();
  for (int y = 0; y < picture.height; ++y) {
    for (int x = 0; x < picture.width; ++x, pixel += 3) {
      if (pixel[1] < pixel[0] + 60 || pixel[1] < pixel[2] + 60) continue;
      ++blob.pixels;
      blob.middle += Eigen::Vector2d(x + 0.5, y + 0.5);
    }
  }
  if (blob.pixels > 0) blob.middle /= blob.pixels;
  return blob;
}

}  // namespace dryrig::testing
