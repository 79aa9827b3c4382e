#include <algorithm>
#include <array>
#include <limits>
#include <utility>
#include <vector>

#include "sim/solid.h"

namespace dryrig {

namespace {

constexpr double kGap_m = 1e-9;    // polytope's face to the difference's surface behind it
constexpr double kFlat_m = 1e-12;  // a difference thinner than this has no depth
constexpr int kMostRounds = 512;

struct Vertex {
  Eigen::Vector3d w = Eigen::Vector3d::Zero(), a = Eigen::Vector3d::Zero();  // point of A - B and the one of A it came from
};

struct Face {
  std::array<int, 3> corner{};
  Eigen::Vector3d normal = Eigen::Vector3d::UnitZ();  // outward
  double offset = 0;                                  // of its plane from the origin; negative: the origin lies outside
};

class Polytope {
 public:
  Polytope(const Solid& a, const Solid& b) : a_(a), b_(b) {}

  CoreNearest ShortestWayOut() {
    Eigen::Vector3d flat_normal;
    if (!Start(&flat_normal)) return Answer(flat_normal, Reach(flat_normal), nullptr);
    Eigen::Vector3d best_normal = Eigen::Vector3d::UnitZ();
    double best = std::numeric_limits<double>::infinity();
    Face best_face;
    for (int round = 0; round < kMostRounds; ++round) {
      const Face face =
          *std::min_element(faces_.begin(), faces_.end(), [](const Face& f, const Face& g) { return f.offset < g.offset; });
      const Vertex next = SupportOf(face.normal);
      const double reach = face.normal.dot(next.w);
      if (reach < best) best = reach, best_normal = face.normal, best_face = face;
      if (best - face.offset <= kGap_m || !Expand(next)) break;
    }
    return Answer(best_normal, best, &best_face);
  }

 private:
  Vertex SupportOf(const Eigen::Vector3d& way) const {
    const Eigen::Vector3d p = a_.Support(way);
    return {p - b_.Support(-way), p};
  }

  // How far the difference reaches along a direction.
  double Reach(const Eigen::Vector3d& way) const { return way.dot(SupportOf(way).w); }

  // Farthest of the two supports along ± `way`, measured from `from`.
  Vertex Farthest(const Eigen::Vector3d& way, const Eigen::Vector3d& from) const {
    const Vertex plus = SupportOf(way), minus = SupportOf(-way);
    return std::abs(way.dot(plus.w - from)) >= std::abs(way.dot(minus.w - from)) ? plus : minus;
  }

  // A tetrahedron of the difference. False: the difference is flat across `flat_normal`.
  bool Start(Eigen::Vector3d* flat_normal) {
    double widest = -1;
    Vertex first, second;
    for (int axis = 0; axis < 3; ++axis) {
      const Vertex plus = SupportOf(Eigen::Vector3d::Unit(axis)), minus = SupportOf(-Eigen::Vector3d::Unit(axis));
      const double wide = (plus.w - minus.w).norm();
      if (wide > widest) widest = wide, first = minus, second = plus;
    }
    *flat_normal = Eigen::Vector3d::UnitZ();
    if (widest <= kFlat_m) return false;
    const Eigen::Vector3d along = (second.w - first.w) / widest;
    const Eigen::Vector3d across = along.unitOrthogonal(), third_axis = along.cross(across);
    Vertex third = Farthest(across, first.w);
    const Vertex other = Farthest(third_axis, first.w);
    const auto from_line = [&](const Vertex& v) { return along.cross(v.w - first.w).norm(); };
    if (from_line(other) > from_line(third)) third = other;
    *flat_normal = across;
    if (from_line(third) <= kFlat_m) return false;
    const Eigen::Vector3d normal = along.cross(third.w - first.w).normalized();
    const Vertex fourth = Farthest(normal, first.w);
    *flat_normal = normal;
    if (std::abs(normal.dot(fourth.w - first.w)) <= kFlat_m) return false;

    vertices_ = {first, second, third, fourth};
    if (normal.dot(fourth.w - first.w) > 0) std::swap(vertices_[1], vertices_[2]);  // 0 1 2 faces away from 3
    return AddFace({0, 1, 2}) && AddFace({0, 3, 1}) && AddFace({1, 3, 2}) && AddFace({2, 3, 0});
  }

  bool AddFace(const std::array<int, 3>& corner) {
    const Eigen::Vector3d &p = vertices_[corner[0]].w, &q = vertices_[corner[1]].w, &r = vertices_[corner[2]].w;
    Eigen::Vector3d normal = (q - p).cross(r - p);
    const double area2 = normal.norm();
    if (!(area2 > 1e-24)) return false;
    normal /= area2;
    faces_.push_back({corner, normal, normal.dot((p + q + r) / 3)});
    return true;
  }

  // Replaces what the new vertex sees by a fan from it. False: rounding leaves nothing to replace.
  bool Expand(const Vertex& next) {
    std::vector<std::pair<int, int>> rim;
    std::vector<Face> kept;
    for (const Face& face : faces_) {
      if (face.normal.dot(next.w) - face.offset <= kFlat_m) {
        kept.push_back(face);
        continue;
      }
      for (int i = 0; i < 3; ++i) {
        const std::pair edge{face.corner[i], face.corner[(i + 1) % 3]};
        const auto twin = std::find(rim.begin(), rim.end(), std::pair{edge.second, edge.first});
        if (twin != rim.end())
          rim.erase(twin);
        else
          rim.push_back(edge);
      }
    }
    if (rim.empty()) return false;
    faces_ = std::move(kept);
    vertices_.push_back(next);
    const int apex = static_cast<int>(vertices_.size()) - 1;
    for (const auto& [from, to] : rim) {
      if (!AddFace({from, to, apex})) return false;
    }
    return true;
  }

  CoreNearest Answer(const Eigen::Vector3d& normal, double reach, const Face* face) const {
    CoreNearest out;
    out.distance_m = -reach;
    out.normal_W = normal;
    out.a_W = a_.Support(normal);
    if (face) {  // the foot of the origin on the face, in the face's own corners
      const Eigen::Vector3d &p = vertices_[face->corner[0]].w, &q = vertices_[face->corner[1]].w,
                            &r = vertices_[face->corner[2]].w;
      const Eigen::Vector3d foot = face->offset * face->normal, area = (q - p).cross(r - p);
      Eigen::Vector3d weight(area.dot((q - foot).cross(r - foot)), area.dot((r - foot).cross(p - foot)),
                             area.dot((p - foot).cross(q - foot)));
      weight = weight.cwiseMax(0);
      weight /= weight.sum();
      out.a_W = weight[0] * vertices_[face->corner[0]].a + weight[1] * vertices_[face->corner[1]].a +
                weight[2] * vertices_[face->corner[2]].a;
    }
    out.b_W = out.a_W + out.distance_m * normal;
    return out;
  }

  const Solid& a_;
  const Solid& b_;
  std::vector<Vertex> vertices_;
  std::vector<Face> faces_;
};

}  // namespace

CoreNearest EpaOverlap(const Solid& a, const Solid& b) {
  return Polytope(a, b).ShortestWayOut();
}

}  // namespace dryrig
