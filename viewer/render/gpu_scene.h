#pragma once

#include <epoxy/gl.h>

#include <initializer_list>
#include <memory>
#include <vector>

#include "viewer/render/scene.h"

namespace dryrig {

/// Kinds of items that a pass can leave out. Worn: face, hair and shirt, whose shadow is that of the body under them.
enum class ItemClass : int { kSolid, kDressing, kWorn, kFloor, kCamera, kCameraDressing, kGlass };
using Classes = std::initializer_list<ItemClass>;

/// A scene's meshes and the places of its items on the graphics side. Needs a current context for as long as it lives.
class GpuScene {
 public:
  explicit GpuScene(const DrawnScene& scene);
  ~GpuScene();
  GpuScene(const GpuScene&) = delete;
  GpuScene& operator=(const GpuScene&) = delete;

  bool Holds(const DrawnScene& scene) const { return meshes_ == scene.shared_meshes(); }
  /// Takes over places and colours. @pre Holds(scene)
  void Update(const DrawnScene& scene);
  /// One call a mesh and class.
  void Draw(Classes classes) const;
  /// A map of depths from the light, drawn by `draw` if anything has moved since the last time.
  template <class DrawDepths>
  GLuint ShadowMap(DrawDepths&& draw) {
    if (!shadow_fresh_) {
      glBindFramebuffer(GL_FRAMEBUFFER, shadow_frame_);
      glViewport(0, 0, kShadowSize, kShadowSize);
      draw();
      shadow_fresh_ = true;
    }
    return shadow_map_;
  }
  static constexpr int kShadowSize = 1024;

 private:
  struct Instance {
    float row[3][4], colour[3], body;
  };
  struct Part {
    GLsizei indices;
    size_t first_index;
    GLint base_vertex;
  };
  struct Run {  // neighbours in the instances' buffer that one call draws
    int mesh;
    ItemClass kind;
    GLsizei first, count;
  };

  std::shared_ptr<const std::vector<Mesh>> meshes_;
  std::vector<Part> parts_;
  std::vector<size_t> order_;  // items in the order of the instances
  std::vector<Run> runs_;
  std::vector<Instance> instances_, fresh_;
  GLuint array_ = 0, vertices_ = 0, indices_ = 0, places_ = 0, shadow_map_ = 0, shadow_frame_ = 0;
  bool shadow_fresh_ = false;
};

}  // namespace dryrig
