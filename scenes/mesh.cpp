#include "scenes/mesh.h"

#include <assimp/config.h>
#include <assimp/postprocess.h>
#include <assimp/scene.h>
#include <fmt/format.h>

#include <assimp/Importer.hpp>
#include <cmath>
#include <cstdlib>
#include <set>
#include <stdexcept>
#include <system_error>

#include "scenes/error.h"
#include "scenes/hull.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

constexpr int kHullPoints = 64;
constexpr uintmax_t kMostBytes = 256u << 20;
constexpr double kMostSize_m = 100;
constexpr size_t kMostVertices = 20'000'000;  // a small file can place one mesh many times

bool IsFile(const fs::path& path) {
  std::error_code error;
  return fs::is_regular_file(path, error);
}

/// The URDF's folder and all above it, nearest first.
std::vector<fs::path> FoldersAbove(const fs::path& urdf) {
  std::error_code error;
  fs::path folder = fs::absolute(urdf, error).lexically_normal().parent_path();
  std::vector<fs::path> folders{folder};
  while (folder.has_relative_path()) {
    folder = folder.parent_path();
    folders.push_back(folder);
  }
  return folders;
}

std::vector<fs::path> RosPackagePath() {
  std::vector<fs::path> folders;
  const char* value = std::getenv("ROS_PACKAGE_PATH");
  std::string_view rest = value == nullptr ? "" : value;
  while (!rest.empty()) {
    const size_t colon = std::min(rest.find(':'), rest.size());
    if (colon > 0) folders.emplace_back(rest.substr(0, colon));
    rest.remove_prefix(std::min(colon + 1, rest.size()));
  }
  return folders;
}

void Collect(const aiScene& scene, const aiNode& node, const aiMatrix4x4& X_FileParent, const Eigen::Vector3d& scale, int depth,
             std::vector<Eigen::Vector3d>* cloud) {
  const aiMatrix4x4 X_FileNode = X_FileParent * node.mTransformation;
  for (unsigned i = 0; i < node.mNumMeshes; ++i) {
    const aiMesh& mesh = *scene.mMeshes[node.mMeshes[i]];
    if (cloud->size() + mesh.mNumVertices > kMostVertices) throw std::length_error("too many vertices");
    for (unsigned k = 0; k < mesh.mNumVertices; ++k) {
      const aiVector3D p = X_FileNode * mesh.mVertices[k];
      cloud->push_back(Eigen::Vector3d(p.x, p.y, p.z).cwiseProduct(scale));
    }
  }
  if (depth == 0) return;
  for (unsigned i = 0; i < node.mNumChildren; ++i) Collect(scene, *node.mChildren[i], X_FileNode, scale, depth - 1, cloud);
}

}  // namespace

fs::path FindMesh(const std::string& uri, const fs::path& urdf, const std::vector<fs::path>& package_paths) {
  constexpr std::string_view kPackage = "package://", kModel = "model://", kFile = "file://";
  std::vector<fs::path> tried;
  const auto hit = [&](const fs::path& candidate) {
    tried.push_back(candidate.lexically_normal());
    return IsFile(tried.back());
  };
  fs::path name = uri;
  bool has_package = false;
  if (uri.starts_with(kFile)) {
    name = uri.substr(kFile.size());
  } else if (uri.starts_with(kPackage) || uri.starts_with(kModel)) {
    name = uri.substr(uri.starts_with(kPackage) ? kPackage.size() : kModel.size());
    has_package = true;
  } else if (uri.find("://") != std::string::npos) {
    throw InputError({urdf.string(), 0, 0}, fmt::format("mesh \"{}\": only package://, file:// and plain paths are read", uri));
  }
  if (name.is_absolute() && !has_package) {
    if (hit(name)) return tried.back();
  } else {
    // PACKAGE/PATH: a folder may hold the package, be the package, or be inside it.
    fs::path within;
    for (auto part = name.begin(); has_package && part != name.end(); ++part) {
      if (part != name.begin()) within /= *part;
    }
    std::vector<fs::path> folders = FoldersAbove(urdf);
    folders.insert(folders.end(), package_paths.begin(), package_paths.end());
    for (const fs::path& folder : RosPackagePath()) folders.push_back(folder);
    for (const fs::path& folder : folders) {
      if (hit(folder / name)) return tried.back();
      if (has_package && folder.filename() == *name.begin() && hit(folder / within)) return tried.back();
    }
    // Last: a package whose folder was renamed or copied flat, beside the URDF and above it.
    for (const fs::path& folder : folders) {
      if (has_package && folder.filename() != *name.begin() && hit(folder / within)) return tried.back();
    }
  }
  std::string places;
  std::set<fs::path> told;
  for (const fs::path& place : tried) {
    if (told.insert(place).second) places += "\n  " + place.string();
  }
  throw InputError({urdf.string(), 0, 0},
                   fmt::format("mesh \"{}\" is not found; add its package's parent folder with --package-path "
                               "or ROS_PACKAGE_PATH; tried:{}",
                               uri, places));
}

MeshHull ReadMeshHull(const fs::path& file, const Eigen::Vector3d& scale) {
  std::error_code error;
  const uintmax_t bytes = fs::file_size(file, error);
  if (error) throw InputError({file.string(), 0, 0}, fmt::format("cannot be read: {}", error.message()));
  if (bytes > kMostBytes) {
    throw InputError({file.string(), 0, 0},
                     fmt::format("is {} MiB large; a mesh may have {}: thin it out", bytes >> 20, kMostBytes >> 20));
  }
  Assimp::Importer importer;
  importer.SetPropertyBool(AI_CONFIG_IMPORT_COLLADA_IGNORE_UP_DIRECTION, true);
  const aiScene* scene = nullptr;
  std::string reason;
  try {
    scene = importer.ReadFile(file.string(), 0);
    reason = importer.GetErrorString();
  } catch (const std::exception& e) {
    reason = e.what();
  }
  if (scene == nullptr || scene->mRootNode == nullptr) {
    throw InputError({file.string(), 0, 0},
                     fmt::format("is no mesh that assimp can read: {}", reason.empty() ? "no reason given" : reason));
  }
  std::vector<Eigen::Vector3d> cloud;
  try {
    Collect(*scene, *scene->mRootNode, aiMatrix4x4(), scale, 100, &cloud);
  } catch (const std::length_error&) {
    throw InputError({file.string(), 0, 0}, fmt::format("has more than {} vertices; thin the mesh out", kMostVertices));
  }
  importer.FreeScene();
  if (cloud.empty()) throw InputError({file.string(), 0, 0}, "the mesh has no vertices");
  for (const Eigen::Vector3d& p : cloud) {
    if (!p.allFinite() || p.cwiseAbs().maxCoeff() > kMostSize_m) {
      throw InputError({file.string(), 0, 0},
                       fmt::format("vertex ({:g}, {:g}, {:g}) m is not finite or beyond {} m; give the mesh a "
                                   "scale (0.001 for millimetres)",
                                   p.x(), p.y(), p.z(), kMostSize_m));
    }
  }
  MeshHull out;
  ReducedHull hull = ReduceToHull(std::move(cloud), kHullPoints);
  out.vertices = hull.cloud_points;
  out.excess_m = hull.excess_m;
  out.thickened = hull.thickened;
  out.shape = Shape::Hull(std::move(hull.points));
  return out;
}

}  // namespace dryrig
