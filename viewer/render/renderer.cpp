#include "viewer/render/renderer.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <list>

#include "scenes/error.h"
#include "viewer/render/canvas.h"
#include "viewer/render/gl.h"
#include "viewer/render/gpu_scene.h"
#include "viewer/render/shaders.h"

namespace dryrig {

namespace {

using enum ItemClass;
using Eigen::Matrix4d;
using Eigen::Vector3d;

constexpr double kNear_m = 0.01, kFar_m = 40;
constexpr size_t kMostScenes = 3;  // kept on the graphics side: a room and two takes that are compared

/// Key light, from high over the bench, so that shadows lie below what throws them; the map of them is a square about a point.
const Vector3d kKey_W = Vector3d(-0.20, 0.32, 0.93).normalized();
const Vector3d kShadowMiddle_W(0, 0.1, 0.75);
constexpr double kShadowHalf_m = 1.2, kShadowDepth_m = 1.8;

const Eigen::Vector3f kHaze(0.62f, 0.66f, 0.70f);  // linear

Matrix4d ClipOf(const View& view) {
  Matrix4d clip_C = Matrix4d::Zero();
  clip_C(0, 0) = 1 / (view.tan_half_height * view.aspect);
  clip_C(1, 1) = -1 / view.tan_half_height;  // C's y points down
  clip_C(2, 2) = (kFar_m + kNear_m) / (kFar_m - kNear_m);
  clip_C(2, 3) = -2 * kFar_m * kNear_m / (kFar_m - kNear_m);
  clip_C(3, 2) = 1;
  return clip_C * view.X_WC.inverse().matrix();
}

Matrix4d LightClip() {
  const Vector3d z = -kKey_W, x = Vector3d::UnitY().cross(z).normalized(), y = z.cross(x);
  Matrix4d clip = Matrix4d::Identity();
  // Right-handed with depth along z: y of the picture is x × z, so that triangles keep their sense.
  clip.row(0) << x.transpose() / kShadowHalf_m, -x.dot(kShadowMiddle_W) / kShadowHalf_m;
  clip.row(1) << -y.transpose() / kShadowHalf_m, y.dot(kShadowMiddle_W) / kShadowHalf_m;
  clip.row(2) << z.transpose() / kShadowDepth_m, -z.dot(kShadowMiddle_W) / kShadowDepth_m;
  return clip;
}

/// A frame of one integer a pixel.
struct IdFrame {
  GLuint frame = 0, ids = 0, depth = 0;
  int width = 0, height = 0;

  IdFrame() {
    glGenFramebuffers(1, &frame);
    glGenRenderbuffers(1, &ids);
    glGenRenderbuffers(1, &depth);
  }
  ~IdFrame() {
    glDeleteFramebuffers(1, &frame);
    glDeleteRenderbuffers(1, &ids);
    glDeleteRenderbuffers(1, &depth);
  }
  IdFrame(const IdFrame&) = delete;
  IdFrame& operator=(const IdFrame&) = delete;

  void Bind(int to_width, int to_height) {
    glBindFramebuffer(GL_FRAMEBUFFER, frame);
    if (to_width == width && to_height == height) return;
    const auto store = [&](GLuint buffer, GLenum format, GLenum attachment) {
      glBindRenderbuffer(GL_RENDERBUFFER, buffer);
      glRenderbufferStorage(GL_RENDERBUFFER, format, to_width, to_height);
      glFramebufferRenderbuffer(GL_FRAMEBUFFER, attachment, GL_RENDERBUFFER, buffer);
    };
    store(ids, GL_R32I, GL_COLOR_ATTACHMENT0);
    store(depth, GL_DEPTH_COMPONENT32F, GL_DEPTH_ATTACHMENT);
    glBindRenderbuffer(GL_RENDERBUFFER, 0);
    RequireComplete("ids");
    width = to_width;
    height = to_height;
  }
};

}  // namespace

struct Renderer::Impl {
  Program lit{kLitVertex, kLitFragment}, depth{kDepthVertex, kDepthFragment}, id{kIdVertex, kIdFragment};
  Program edge{kFrameVertex, kEdgeFragment}, smooth{kFrameVertex, kSmoothFragment};
  GLuint no_vertices = 0;      // an array object without arrays
  std::list<GpuScene> scenes;  // the one last drawn first
  IdFrame ids;

  Impl() { glGenVertexArrays(1, &no_vertices); }
  ~Impl() { glDeleteVertexArrays(1, &no_vertices); }
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;

  GpuScene& SceneFor(const DrawnScene& scene) {
    auto it = std::find_if(scenes.begin(), scenes.end(), [&](const GpuScene& kept) { return kept.Holds(scene); });
    if (it == scenes.end()) {
      if (scenes.size() >= kMostScenes) scenes.pop_back();
      it = scenes.emplace(scenes.begin(), scene);
    }
    scenes.splice(scenes.begin(), scenes, it);
    it->Update(scene);
    return *it;
  }

  /// From the drawn frame to the finished one, which are alike but for pixels at edges. Software drivers run both sides of a
  /// branch, but pass over blocks of pixels that the stencil leaves out: so edges are found first, and smoothed then.
  void Smooth(const Canvas::Impl& canvas, int width, int height) const {
    glBindFramebuffer(GL_READ_FRAMEBUFFER, canvas.drawn);
    glBindFramebuffer(GL_DRAW_FRAMEBUFFER, canvas.finished);
    glBlitFramebuffer(0, 0, width, height, 0, 0, width, height, GL_COLOR_BUFFER_BIT, GL_NEAREST);
    glDisable(GL_DEPTH_TEST);
    glDisable(GL_CULL_FACE);
    glEnable(GL_STENCIL_TEST);
    glBindTexture(GL_TEXTURE_2D, canvas.raw);
    glBindVertexArray(no_vertices);
    glColorMask(GL_FALSE, GL_FALSE, GL_FALSE, GL_FALSE);
    glStencilFunc(GL_ALWAYS, 1, 1);
    glStencilOp(GL_KEEP, GL_KEEP, GL_REPLACE);
    edge.Use();
    edge.Set("picture", 0);
    glDrawArrays(GL_TRIANGLES, 0, 3);
    glColorMask(GL_TRUE, GL_TRUE, GL_TRUE, GL_TRUE);
    glStencilFunc(GL_EQUAL, 1, 1);
    glStencilOp(GL_KEEP, GL_KEEP, GL_KEEP);
    smooth.Use();
    smooth.Set("picture", 0);
    glDrawArrays(GL_TRIANGLES, 0, 3);
    glDisable(GL_STENCIL_TEST);
    glBindTexture(GL_TEXTURE_2D, 0);
  }

  void DrawShadows(const GpuScene& scene) const {
    glClear(GL_DEPTH_BUFFER_BIT);
    glEnable(GL_POLYGON_OFFSET_FILL);
    glPolygonOffset(2, 4);
    depth.Use();
    depth.Set("clip_W", LightClip().cast<float>().eval());
    scene.Draw({kSolid, kDressing, kCamera, kCameraDressing});
    glDisable(GL_POLYGON_OFFSET_FILL);
  }
};

Renderer::Renderer() {
  const int version = epoxy_gl_version();
  if (version < 33)
    throw RunError(fmt::format("OpenGL {}.{} is too old to draw with; 3.3 is needed", version / 10, version % 10));
  impl_ = std::make_unique<Impl>();
}

Renderer::~Renderer() = default;

void Renderer::Draw(const DrawnScene& scene, const View& view, const DrawOptions& options, Canvas* canvas) {
  const KeepState keep;
  GpuScene& gpu = impl_->SceneFor(scene);
  glActiveTexture(GL_TEXTURE0);
  if (options.shadows) {
    const GLuint map = gpu.ShadowMap([&] { impl_->DrawShadows(gpu); });
    glBindTexture(GL_TEXTURE_2D, map);
  }
  glBindFramebuffer(GL_FRAMEBUFFER, canvas->impl_->drawn);
  glViewport(0, 0, canvas->width(), canvas->height());
  const Eigen::Vector3f haze = kHaze.cwiseSqrt();
  glClearColor(haze[0], haze[1], haze[2], haze.dot(Eigen::Vector3f(0.3f, 0.6f, 0.1f)));  // as the lit shader writes it
  glClear(GL_COLOR_BUFFER_BIT | GL_DEPTH_BUFFER_BIT | GL_STENCIL_BUFFER_BIT);

  const Program& lit = impl_->lit;
  lit.Use();
  lit.Set("clip_W", ClipOf(view).cast<float>().eval());
  // From clip coordinates to those of the map.
  Matrix4d to_map = 0.5 * Matrix4d::Identity();
  to_map.col(3) << 0.5, 0.5, 0.5, 1;
  lit.Set("shadow_W", (to_map * LightClip()).cast<float>().eval());
  lit.Set("shadow_map", 0);
  lit.Set("shadow_texel", options.shadows ? 1.0f / GpuScene::kShadowSize : 0.0f);
  lit.Set("eye_W", view.X_WC.translation().cast<float>().eval());
  lit.Set("key_W", kKey_W.cast<float>().eval());
  lit.Set("haze", kHaze);
  lit.Set("chosen", options.highlight);
  gpu.Draw({kSolid, kDressing, kWorn, kFloor});
  if (!options.through_the_lens) {
    gpu.Draw({kCamera, kCameraDressing});
    glEnable(GL_BLEND);
    glBlendFunc(GL_CONSTANT_ALPHA, GL_ONE_MINUS_CONSTANT_ALPHA);
    glBlendColor(0, 0, 0, 0.22f);
    glDepthMask(GL_FALSE);
    for (const GLenum side : {GL_FRONT, GL_BACK}) {  // the far walls first
      glCullFace(side);
      gpu.Draw({kGlass});
    }
    glDepthMask(GL_TRUE);
    glDisable(GL_BLEND);
  }

  impl_->Smooth(*canvas->impl_, canvas->width(), canvas->height());
}

IdPicture Renderer::DrawIds(const DrawnScene& scene, const View& view, const DrawOptions& options, int width, int height) {
  const KeepState keep;
  const GpuScene& gpu = impl_->SceneFor(scene);
  impl_->ids.Bind(width, height);
  glViewport(0, 0, width, height);
  const GLint none[4] = {-1, -1, -1, -1};
  glClearBufferiv(GL_COLOR, 0, none);
  glClear(GL_DEPTH_BUFFER_BIT);
  impl_->id.Use();
  impl_->id.Set("clip_W", ClipOf(view).cast<float>().eval());
  gpu.Draw({kSolid});
  if (!options.through_the_lens) gpu.Draw({kCamera});

  IdPicture picture{width, height, std::vector<int>(static_cast<size_t>(width) * static_cast<size_t>(height))};
  glPixelStorei(GL_PACK_ALIGNMENT, 4);
  glReadPixels(0, 0, width, height, GL_RED_INTEGER, GL_INT, picture.body.data());
  for (int low = 0, high = height - 1; low < high; ++low, --high)
    std::swap_ranges(picture.body.begin() + static_cast<ptrdiff_t>(low) * width,
                     picture.body.begin() + static_cast<ptrdiff_t>(low + 1) * width,
                     picture.body.begin() + static_cast<ptrdiff_t>(high) * width);
  return picture;
}

}  // namespace dryrig
