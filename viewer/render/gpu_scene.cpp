#include "viewer/render/gpu_scene.h"

#include <algorithm>
#include <cstring>
#include <numeric>
#include <utility>

#include "viewer/render/gl.h"

namespace dryrig {

namespace {

struct Vertex {
  Eigen::Vector3f point, normal;
};

ItemClass ClassOf(const DrawnItem& item) {
  if (item.glass) return ItemClass::kGlass;
  if (item.camera) return item.dressing ? ItemClass::kCameraDressing : ItemClass::kCamera;
  if (item.dressing) return item.body < 0 ? ItemClass::kDressing : ItemClass::kWorn;
  return item.body < 0 ? ItemClass::kFloor : ItemClass::kSolid;
}

const void* Offset(size_t bytes) {
  return reinterpret_cast<const void*>(bytes);
}

}  // namespace

GpuScene::GpuScene(const DrawnScene& scene) : meshes_(scene.shared_meshes()) {
  std::vector<Vertex> vertices;
  std::vector<uint32_t> indices;
  for (const Mesh& mesh : *meshes_) {
    parts_.push_back({static_cast<GLsizei>(mesh.triangles.size()), indices.size(), static_cast<GLint>(vertices.size())});
    for (size_t i = 0; i < mesh.points.size(); ++i) vertices.push_back({mesh.points[i], mesh.normals[i]});
    indices.insert(indices.end(), mesh.triangles.begin(), mesh.triangles.end());
  }

  const auto& items = scene.items();
  order_.resize(items.size());
  std::iota(order_.begin(), order_.end(), size_t{0});
  const auto key = [&](size_t i) { return std::pair(ClassOf(items[i]), items[i].mesh); };
  std::stable_sort(order_.begin(), order_.end(), [&](size_t a, size_t b) { return key(a) < key(b); });
  for (size_t n = 0; n < order_.size(); ++n) {
    const auto [kind, mesh] = key(order_[n]);
    if (runs_.empty() || runs_.back().kind != kind || runs_.back().mesh != mesh)
      runs_.push_back({mesh, kind, static_cast<GLsizei>(n), 0});
    ++runs_.back().count;
  }

  glGenVertexArrays(1, &array_);
  glBindVertexArray(array_);
  glGenBuffers(1, &vertices_);
  glBindBuffer(GL_ARRAY_BUFFER, vertices_);
  glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(vertices.size() * sizeof(Vertex)), vertices.data(), GL_STATIC_DRAW);
  for (const GLuint attribute : {0u, 1u}) {
    glEnableVertexAttribArray(attribute);
    glVertexAttribPointer(attribute, 3, GL_FLOAT, GL_FALSE, sizeof(Vertex), Offset(attribute * sizeof(Eigen::Vector3f)));
  }
  glGenBuffers(1, &indices_);
  glBindBuffer(GL_ELEMENT_ARRAY_BUFFER, indices_);
  glBufferData(GL_ELEMENT_ARRAY_BUFFER, static_cast<GLsizeiptr>(indices.size() * sizeof(uint32_t)), indices.data(),
               GL_STATIC_DRAW);
  glGenBuffers(1, &places_);
  for (GLuint attribute = 2; attribute < 6; ++attribute) {
    glEnableVertexAttribArray(attribute);
    glVertexAttribDivisor(attribute, 1);
  }
  glBindVertexArray(0);

  glGenTextures(1, &shadow_map_);
  glBindTexture(GL_TEXTURE_2D, shadow_map_);
  glTexImage2D(GL_TEXTURE_2D, 0, GL_DEPTH_COMPONENT24, kShadowSize, kShadowSize, 0, GL_DEPTH_COMPONENT, GL_UNSIGNED_INT, nullptr);
  for (const GLenum filter : {GL_TEXTURE_MIN_FILTER, GL_TEXTURE_MAG_FILTER}) glTexParameteri(GL_TEXTURE_2D, filter, GL_LINEAR);
  for (const GLenum wrap : {GL_TEXTURE_WRAP_S, GL_TEXTURE_WRAP_T}) glTexParameteri(GL_TEXTURE_2D, wrap, GL_CLAMP_TO_BORDER);
  const float far[] = {1, 1, 1, 1};  // beyond the map all is lit
  glTexParameterfv(GL_TEXTURE_2D, GL_TEXTURE_BORDER_COLOR, far);
  glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_COMPARE_MODE, GL_COMPARE_REF_TO_TEXTURE);
  glBindTexture(GL_TEXTURE_2D, 0);
  glGenFramebuffers(1, &shadow_frame_);
  glBindFramebuffer(GL_FRAMEBUFFER, shadow_frame_);
  glFramebufferTexture2D(GL_FRAMEBUFFER, GL_DEPTH_ATTACHMENT, GL_TEXTURE_2D, shadow_map_, 0);
  glDrawBuffer(GL_NONE);
  glReadBuffer(GL_NONE);
  RequireComplete("shadows");
}

GpuScene::~GpuScene() {
  glDeleteFramebuffers(1, &shadow_frame_);
  glDeleteTextures(1, &shadow_map_);
  glDeleteVertexArrays(1, &array_);
  for (const GLuint* buffer : {&vertices_, &indices_, &places_}) glDeleteBuffers(1, buffer);
}

void GpuScene::Update(const DrawnScene& scene) {
  fresh_.resize(order_.size());
  for (size_t n = 0; n < order_.size(); ++n) {
    const DrawnItem& item = scene.items()[order_[n]];
    Instance& instance = fresh_[n];
    for (int row = 0; row < 3; ++row) {
      for (int column = 0; column < 4; ++column) instance.row[row][column] = static_cast<float>(item.X_WM(row, column));
      instance.colour[row] = static_cast<float>(item.colour[row]);
    }
    instance.body = static_cast<float>(item.body);
  }
  const size_t bytes = fresh_.size() * sizeof(Instance);
  if (fresh_.size() == instances_.size() && std::memcmp(fresh_.data(), instances_.data(), bytes) == 0) return;
  instances_.swap(fresh_);
  shadow_fresh_ = false;
  glBindBuffer(GL_ARRAY_BUFFER, places_);
  glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(bytes), instances_.data(), GL_STREAM_DRAW);
}

void GpuScene::Draw(Classes classes) const {
  glBindVertexArray(array_);
  glBindBuffer(GL_ARRAY_BUFFER, places_);
  for (const Run& run : runs_) {
    if (std::find(classes.begin(), classes.end(), run.kind) == classes.end()) continue;
    for (GLuint row = 0; row < 4; ++row) {
      glVertexAttribPointer(2 + row, 4, GL_FLOAT, GL_FALSE, sizeof(Instance),
                            Offset(static_cast<size_t>(run.first) * sizeof(Instance) + row * 4 * sizeof(float)));
    }
    const Part& part = parts_[static_cast<size_t>(run.mesh)];
    glDrawElementsInstancedBaseVertex(GL_TRIANGLES, part.indices, GL_UNSIGNED_INT, Offset(part.first_index * sizeof(uint32_t)),
                                      run.count, part.base_vertex);
  }
}

}  // namespace dryrig
