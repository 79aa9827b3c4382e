#pragma once

#include <Eigen/Geometry>
#include <memory>
#include <string>
#include <vector>

#include "sim/take.h"
#include "viewer/render/mesh.h"

namespace dryrig {

/// One solid as drawn: mesh, place, colour, and the id of the body that it belongs to.
struct DrawnItem {
  int mesh = 0;                                             // index in meshes()
  Eigen::Affine3d X_WM = Eigen::Affine3d::Identity();       // scales allowed, mirrors not
  Eigen::Vector3d colour = Eigen::Vector3d::Constant(0.7);  // linear RGB, 0–1
  int body = -1;                                            // -1: set dressing (floor), belongs to no body
  bool glass = false;                                       // keep-out zones: drawn see-through, left out of ids and lens views
  bool camera = false;                                      // the camera's housing: left out of what its own lens sees
  bool dressing = false;  // for the eye alone (a nose, hair, legs of the bench): left out of ids
};

/// All that can be seen of a take at one frame. Body ids are those of `SightScene` (sim/sight.h) where that has the body, and
/// go on after its last one for what it leaves out (zones, the camera's housing). The person is drawn as the very capsules that
/// sight lines meet; dressing stays within 9 mm of the body it belongs to, but for the shirt, which closes the gaps between the
/// trunk's capsules. The take outlives the scene.
class DrawnScene {
 public:
  explicit DrawnScene(const Take& take);
  void SetFrame(const TakeFrame& frame);

  const std::vector<Mesh>& meshes() const { return *meshes_; }  // the same for all frames
  const std::shared_ptr<const std::vector<Mesh>>& shared_meshes() const { return meshes_; }
  const std::vector<DrawnItem>& items() const { return items_; }
  int bodies() const { return static_cast<int>(names_.size()); }
  const std::string& NameOf(int body) const { return names_.at(static_cast<size_t>(body)); }

 private:
  struct Limb {  // a person's capsule between two points
    int a = 0, b = 0;
    double radius_m = 0;
    int tube = 0, dome_a = -1, dome_b = -1;  // items; no dome where another capsule's end has it inside
  };
  struct Part {  // an arm's solid; link -1: the base
    int item = 0, link = -1;
    Eigen::Affine3d X_LM = Eigen::Affine3d::Identity();
  };
  struct HeadPart {
    int item = 0;
    Eigen::Affine3d X_HdM = Eigen::Affine3d::Identity();
  };
  struct Panel {  // a piece of the shirt between three points of the trunk
    int item = 0, a = 0, b = 0, c = 0;
  };
  class Builder;
  void AddShirt(Builder* build);

  const Take* take_;
  std::shared_ptr<const std::vector<Mesh>> meshes_;
  std::vector<DrawnItem> items_;
  std::vector<std::string> names_;
  std::vector<Limb> limbs_;
  std::vector<Part> parts_;
  std::vector<HeadPart> head_parts_;
  std::vector<Panel> panels_;
  int first_prop_ = 0;
};

}  // namespace dryrig
