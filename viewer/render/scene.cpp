#include "viewer/render/scene.h"

#include <algorithm>
#include <map>

#include "sim/sight.h"
#include "viewer/render/look.h"

namespace dryrig {

using Eigen::Affine3d;
using Eigen::Vector3d;

namespace {

/// Hands are looked at from near; the rest of a person can be coarser.
constexpr double kHandTolerance_m = 0.0005, kBodyTolerance_m = 0.001;

/// The shirt's halves lap over at the breastbone by this share of the way to a shoulder.
constexpr double kOverlap = 0.05;

/// Is this end of capsule `i` inside another one's end at the same point?
bool IsInside(const std::vector<PersonCapsule>& capsules, size_t i, int point) {
  for (size_t k = 0; k < capsules.size(); ++k) {
    if (k == i || (capsules[k].a != point && capsules[k].b != point)) continue;
    if (capsules[k].radius_m > capsules[i].radius_m || (capsules[k].radius_m == capsules[i].radius_m && k < i)) return true;
  }
  return false;
}

Affine3d Place(const Vector3d& p_W, const Eigen::Matrix3d& R_W, const Vector3d& scale) {
  Affine3d X_WM = Affine3d::Identity();
  X_WM.linear() = R_W * scale.asDiagonal();
  X_WM.translation() = p_W;
  return X_WM;
}

}  // namespace

/// Collects meshes and items; equal round meshes are shared.
class DrawnScene::Builder {
 public:
  explicit Builder(DrawnScene* scene) : scene_(scene) {}

  int AddMesh(Mesh mesh) {
    meshes_.push_back(std::move(mesh));
    return static_cast<int>(meshes_.size()) - 1;
  }
  int Dome(int segments) {
    const auto [it, fresh] = domes_.try_emplace(segments, 0);
    if (fresh) it->second = AddMesh(DomeMesh(segments));
    return it->second;
  }
  int Tube(int segments) {
    const auto [it, fresh] = tubes_.try_emplace(segments, 0);
    if (fresh) it->second = AddMesh(TubeMesh(segments));
    return it->second;
  }
  int Ball() {
    if (ball_ < 0) ball_ = AddMesh(MeshOf(Shape::Sphere(1), 0.04));
    return ball_;
  }
  DrawnItem* Add(int mesh, const Vector3d& colour, int body) {
    DrawnItem item;
    item.mesh = mesh;
    item.colour = colour;
    item.body = body;
    scene_->items_.push_back(item);
    return &scene_->items_.back();
  }
  int next() const { return static_cast<int>(scene_->items_.size()); }
  void Finish() { scene_->meshes_ = std::make_shared<const std::vector<Mesh>>(std::move(meshes_)); }

 private:
  DrawnScene* scene_;
  std::vector<Mesh> meshes_;
  std::map<int, int> domes_, tubes_;
  int ball_ = -1;
};

DrawnScene::DrawnScene(const Take& take) : take_(&take) {
  const SightScene sight(take);
  for (int body = 0; body < sight.size(); ++body) names_.push_back(sight.NameOf(body));
  Builder build(this);

  const auto& capsules = take.person.capsules;
  for (size_t i = 0; i < capsules.size(); ++i) {
    const PersonCapsule& capsule = capsules[i];
    const int segments = RoundSegments(capsule.radius_m, capsule.region == "hand" ? kHandTolerance_m : kBodyTolerance_m);
    Limb limb{capsule.a, capsule.b, capsule.radius_m, build.next()};
    build.Add(build.Tube(segments), ColourOf(capsule), static_cast<int>(i));
    for (const auto& [point, dome] : {std::pair(capsule.a, &limb.dome_a), std::pair(capsule.b, &limb.dome_b)}) {
      if (IsInside(capsules, i, point)) continue;
      *dome = build.next();
      build.Add(build.Dome(segments), ColourOf(capsule), static_cast<int>(i));
    }
    limbs_.push_back(limb);
  }

  first_prop_ = build.next();
  for (size_t i = 0; i < take.props.size(); ++i)
    build.Add(build.AddMesh(MeshOf(take.props[i].shape)), FromSrgb(take.props[i].colour), sight.PropBody(static_cast<int>(i)));

  int body = sight.PropBody(static_cast<int>(take.props.size()));
  build.Add(build.AddMesh(MeshOf(take.bench_top.shape)), BenchColour(), body++)->X_WM = take.bench_top.X_LS;
  std::vector<const Body*> zones;
  for (const Body& still : take.keep_out) {
    if (still.name.starts_with("zone"))
      zones.push_back(&still);
    else
      build.Add(build.AddMesh(MeshOf(still.shape)), FixtureColour(), body++)->X_WM = still.X_LS;
  }
  const ArmBody* camera = nullptr;
  const auto add_part = [&](const ArmBody& part) {
    parts_.push_back({build.next(), part.link, part.body.X_LS});
    return build.Add(build.AddMesh(MeshOf(part.body.shape)), ColourOf(part), body++);
  };
  for (const ArmBody& part : take.arm_bodies) {
    if (part.body.name == "camera")
      camera = &part;
    else
      add_part(part);
  }
  for (const Body* zone : zones) {
    names_.push_back(zone->name);
    DrawnItem* item = build.Add(build.AddMesh(MeshOf(zone->shape)), ZoneColour(), body++);
    item->X_WM = zone->X_LS;
    item->glass = true;
  }
  if (camera != nullptr) {
    names_.push_back(camera->body.name);
    add_part(*camera)->camera = true;
    // A lens barrel from the housing's front to the optical centre.
    const CameraBody& body_c = take.camera;
    const double front = body_c.p_CHousing.z() + body_c.half_m.z(), radius = 0.6 * std::min(body_c.half_m.x(), body_c.half_m.y());
    const double length = std::max(0.02, -front + 0.02);
    Affine3d X_SC = Affine3d::Identity();
    X_SC.translation() = -body_c.p_CHousing + Vector3d(0, 0, front + 0.5 * length);
    parts_.push_back({build.next(), camera->link, camera->body.X_LS * X_SC});
    DrawnItem* barrel =
        build.Add(build.AddMesh(MeshOf(Shape::Cylinder(radius, 0.5 * length))), 2.5 * ColourOf(*camera), body - 1);
    barrel->camera = barrel->dressing = true;
  }

  for (size_t i = 0; i < capsules.size(); ++i) {
    if (capsules[i].name != "head") continue;
    for (const HeadPiece& piece : FacePieces(take.person.head_height_m, capsules[i].radius_m)) {
      head_parts_.push_back({build.next(), piece.X_HdM});
      build.Add(piece.dome ? build.Dome(32) : build.Ball(), piece.colour, static_cast<int>(i))->dressing = true;
    }
  }
  AddShirt(&build);
  for (const DressingPiece& piece : StageDressing(take)) {
    DrawnItem* item = build.Add(build.AddMesh(MeshOf(piece.shape)), piece.colour, -1);
    item->X_WM = piece.X_WS;
    item->dressing = true;
  }
  build.Add(build.AddMesh(DiscMesh({0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 8, 11, 15}, 32)), FloorColour(), -1);
  build.Finish();
  if (!take.frames.empty()) SetFrame(take.frames.front());
}

void DrawnScene::AddShirt(Builder* build) {
  const auto& capsules = take_->person.capsules;
  const auto between = [&](int a, int b) {
    const auto it = std::find_if(capsules.begin(), capsules.end(), [&](const auto& c) { return c.a == a && c.b == b; });
    return static_cast<int>(it - capsules.begin());
  };
  const int chest = between(kLumbar, kThorax), upper = between(kThorax, kNeck), all = static_cast<int>(capsules.size());
  if (chest == all || upper == all) return;
  const auto radius = [&](int capsule) { return capsules[static_cast<size_t>(capsule)].radius_m; };
  constexpr double kInside = 0.97;
  for (const int shoulder : {kShoulderL, kShoulderR}) {
    const int collar = between(kNeck, shoulder), breast = between(kThorax, shoulder);
    if (collar == all || breast == all) continue;
    // Flush with the capsules before and behind; thin where the cloth ends, inside the collar's capsule and under the arm.
    const auto add = [&](int corner, double corner_m, double rim_m) {
      panels_.push_back({build->next(), kThorax, shoulder, corner});
      const Vector3d half_m = kInside * Vector3d(radius(chest), radius(breast), corner_m);
      build->Add(build->AddMesh(ClothMesh(half_m, rim_m)), ColourOf(capsules[static_cast<size_t>(breast)]), breast)->dressing =
          true;
    };
    add(kNeck, radius(upper), kInside * radius(collar));
    add(kLumbar, radius(chest), 0.4 * radius(breast));
  }
}

void DrawnScene::SetFrame(const TakeFrame& frame) {
  const auto& p_W = frame.person.p_W;
  const auto item = [this](int i) -> DrawnItem& { return items_[static_cast<size_t>(i)]; };
  for (const Limb& limb : limbs_) {
    const Vector3d &a = p_W[static_cast<size_t>(limb.a)], &b = p_W[static_cast<size_t>(limb.b)];
    const double length = (b - a).norm();
    const Eigen::Matrix3d R = length > 1e-9 ? Eigen::Quaterniond::FromTwoVectors(Vector3d::UnitZ(), b - a).toRotationMatrix()
                                            : Eigen::Matrix3d::Identity();
    const double r = limb.radius_m;
    item(limb.tube).X_WM = Place(a, R, {r, r, length});
    if (limb.dome_a >= 0) item(limb.dome_a).X_WM = Place(a, R, {r, -r, -r});  // half a turn: the dome's mirror image is itself
    if (limb.dome_b >= 0) item(limb.dome_b).X_WM = Place(b, R, {r, r, r});
  }
  for (const Panel& panel : panels_) {
    const auto at = [&](int point) -> const Vector3d& { return p_W[static_cast<size_t>(point)]; };
    Affine3d& X_WM = item(panel.item).X_WM;
    const Vector3d across = at(panel.b) - at(panel.a);
    X_WM.linear().col(0) = (1 + kOverlap) * across;
    X_WM.linear().col(1) = at(panel.c) - at(panel.a);
    X_WM.linear().col(2) = X_WM.linear().col(0).cross(X_WM.linear().col(1)).normalized();
    X_WM.translation() = at(panel.a) - kOverlap * across;
  }
  for (size_t i = 0; i < frame.X_WP.size(); ++i) item(first_prop_ + static_cast<int>(i)).X_WM = frame.X_WP[i];
  for (const Part& part : parts_)
    item(part.item).X_WM = (part.link < 0 ? take_->X_WB : frame.X_WL[static_cast<size_t>(part.link)]) * part.X_LM;
  Eigen::Isometry3d X_WHd = Eigen::Isometry3d::Identity();
  X_WHd.linear() = frame.person.q_WHd.toRotationMatrix();
  X_WHd.translation() = frame.person.p_WHead();
  for (const HeadPart& part : head_parts_) item(part.item).X_WM = X_WHd * part.X_HdM;
}

}  // namespace dryrig
