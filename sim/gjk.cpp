#include <algorithm>
#include <array>
#include <limits>

#include "sim/solid.h"

namespace dryrig {

namespace {

constexpr double kGap_m = 1e-10;    // proven distance to the optimum at which the iteration ends
constexpr double kTouch_m = 1e-12;  // cores nearer than this meet
constexpr int kMostRounds = 128;

struct Vertex {
  Eigen::Vector3d w, a, b;  // point of A - B and the points it came from
};

// A corner set of the difference with the weights of its point nearest to the origin.
struct Simplex {
  std::array<Vertex, 4> v;
  std::array<double, 4> weight{};
  int size = 0;
};

struct Weights {
  std::array<double, 3> of{};
  double squared = std::numeric_limits<double>::infinity();
};

Weights NearestOnEdge(const Eigen::Vector3d& p, const Eigen::Vector3d& q) {
  const Eigen::Vector3d way = q - p;
  const double length2 = way.squaredNorm();
  const double t = length2 > 0 ? std::clamp(-p.dot(way) / length2, 0.0, 1.0) : 0;
  return {{1 - t, t, 0}, (p + t * way).squaredNorm()};
}

// Inside the triangle where its plane's foot lies within, else on the best of its edges. Flat triangles have edges only.
Weights NearestOnTriangle(const Eigen::Vector3d& p, const Eigen::Vector3d& q, const Eigen::Vector3d& r) {
  const Eigen::Vector3d normal = (q - p).cross(r - p);
  const double area2 = normal.squaredNorm();
  if (area2 > 0) {
    const double u = normal.dot(q.cross(r)), v = normal.dot(r.cross(p)), w = normal.dot(p.cross(q));
    if (u >= 0 && v >= 0 && w >= 0 && u + v + w > 0) {
      const double sum = u + v + w;
      return {{u / sum, v / sum, w / sum}, (p * u + q * v + r * w).squaredNorm() / (sum * sum)};
    }
  }
  Weights best = NearestOnEdge(p, q);
  const Weights qr = NearestOnEdge(q, r), rp = NearestOnEdge(r, p);
  if (qr.squared < best.squared) best = {{0, qr.of[0], qr.of[1]}, qr.squared};
  if (rp.squared < best.squared) best = {{rp.of[1], 0, rp.of[0]}, rp.squared};
  return best;
}

// Is the origin within the tetrahedron? Flat ones hold nothing.
bool HoldsOrigin(const std::array<Vertex, 4>& v) {
  static constexpr std::array<std::array<int, 4>, 4> kFaces{{{0, 1, 2, 3}, {0, 1, 3, 2}, {0, 2, 3, 1}, {1, 2, 3, 0}}};
  for (const auto& [i, j, k, opposite] : kFaces) {
    const Eigen::Vector3d normal = (v[j].w - v[i].w).cross(v[k].w - v[i].w);
    const double height = normal.dot(v[opposite].w - v[i].w), origin = -normal.dot(v[i].w);
    if (height == 0 || (origin > 0) != (height > 0)) return false;
  }
  return true;
}

void Keep(Simplex* s, const std::array<int, 3>& corner, const std::array<double, 3>& weight) {
  const std::array<Vertex, 4> old = s->v;
  s->size = 0;
  for (int i = 0; i < 3; ++i) {
    if (corner[i] < 0 || !(weight[i] > 0)) continue;
    s->v[s->size] = old[corner[i]];
    s->weight[s->size++] = weight[i];
  }
}

// Reduces the simplex to the corners around its point nearest to the origin. False: it holds the origin.
bool Reduce(Simplex* s) {
  const auto& v = s->v;
  switch (s->size) {
    case 1:
      s->weight[0] = 1;
      return true;
    case 2:
      Keep(s, {0, 1, -1}, NearestOnEdge(v[0].w, v[1].w).of);
      return true;
    case 3:
      Keep(s, {0, 1, 2}, NearestOnTriangle(v[0].w, v[1].w, v[2].w).of);
      return true;
    default:
      break;
  }
  if (HoldsOrigin(v)) return false;
  static constexpr std::array<std::array<int, 3>, 4> kFaces{{{0, 1, 3}, {0, 2, 3}, {1, 2, 3}, {0, 1, 2}}};
  Weights best;
  std::array<int, 3> face{};
  for (const auto& corners : kFaces) {
    const Weights now = NearestOnTriangle(v[corners[0]].w, v[corners[1]].w, v[corners[2]].w);
    if (now.squared < best.squared) best = now, face = corners;
  }
  Keep(s, face, best.of);
  return true;
}

Vertex SupportOf(const Solid& a, const Solid& b, const Eigen::Vector3d& way) {
  Vertex v;
  v.a = a.Support(way);
  v.b = b.Support(-way);
  v.w = v.a - v.b;
  return v;
}

}  // namespace

bool GjkApart(const Solid& a, const Solid& b, CoreNearest* out) {
  Simplex simplex;
  Eigen::Vector3d start = a.Inner() - b.Inner();
  if (start.squaredNorm() == 0) start = Eigen::Vector3d::UnitX();
  simplex.v[0] = SupportOf(a, b, -start);
  simplex.weight[0] = 1;
  simplex.size = 1;
  Eigen::Vector3d nearest = simplex.v[0].w;
  double distance = nearest.norm(), bound = 0;

  for (int round = 0; round < kMostRounds && distance > kTouch_m; ++round) {
    const Vertex next = SupportOf(a, b, -nearest);
    bound = std::max(bound, nearest.dot(next.w) / distance);  // a plane that all of A - B lies behind
    if (distance - bound <= kGap_m) break;
    Simplex tried = simplex;
    tried.v[tried.size++] = next;
    if (!Reduce(&tried)) return false;
    Eigen::Vector3d foot = Eigen::Vector3d::Zero();
    for (int i = 0; i < tried.size; ++i) foot += tried.weight[i] * tried.v[i].w;
    const double now = foot.norm();
    if (!(now < distance)) break;  // rounding: no nearer point can be told
    simplex = tried, nearest = foot, distance = now;
  }
  if (distance <= kTouch_m) return false;

  out->distance_m = distance;
  out->normal_W = -nearest / distance;
  out->a_W.setZero();
  for (int i = 0; i < simplex.size; ++i) out->a_W += simplex.weight[i] * simplex.v[i].a;
  out->b_W = out->a_W + distance * out->normal_W;
  return true;
}

}  // namespace dryrig
