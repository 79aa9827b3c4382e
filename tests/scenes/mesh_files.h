// Mesh files made by tests: nothing of this kind is shipped.
#pragma once

#include <Eigen/Core>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <numbers>
#include <string>
#include <vector>

namespace dryrig {

using Triangle = std::array<Eigen::Vector3d, 3>;

/// Binary STL: 80 bytes of header, a count, then normal, three corners and two bytes each.
inline std::string BinaryStl(const std::vector<Triangle>& triangles) {
  std::string bytes(80, ' ');
  const auto append = [&](const auto& value) {
    char raw[sizeof(value)];
    std::memcpy(raw, &value, sizeof(value));
    bytes.append(raw, sizeof(value));
  };
  bytes.reserve(84 + 50 * triangles.size());
  append(uint32_t(triangles.size()));
  for (const Triangle& t : triangles) {
    for (int i = 0; i < 3; ++i) append(0.0f);
    for (const Eigen::Vector3d& p : t) {
      for (int i = 0; i < 3; ++i) append(float(p[i]));
    }
    append(uint16_t{0});
  }
  return bytes;
}

inline std::string AsciiStl(const std::vector<Triangle>& triangles) {
  std::string text = "solid thing\n";
  for (const Triangle& t : triangles) {
    text += "facet normal 0 0 0\nouter loop\n";
    for (const Eigen::Vector3d& p : t) {
      text += "vertex " + std::to_string(p.x()) + " " + std::to_string(p.y()) + " " + std::to_string(p.z()) + "\n";
    }
    text += "endloop\nendfacet\n";
  }
  return text + "endsolid thing\n";
}

/// The twelve triangles of a box.
inline std::vector<Triangle> BoxTriangles(const Eigen::Vector3d& half, const Eigen::Vector3d& centre = Eigen::Vector3d::Zero()) {
  std::vector<Triangle> triangles;
  for (int axis = 0; axis < 3; ++axis) {
    for (const double side : {-1.0, 1.0}) {
      const auto corner = [&](double u, double v) {
        Eigen::Vector3d p;
        p[axis] = side;
        p[(axis + 1) % 3] = u;
        p[(axis + 2) % 3] = v;
        return Eigen::Vector3d(centre + p.cwiseProduct(half));
      };
      triangles.push_back({corner(-1, -1), corner(1, -1), corner(1, 1)});
      triangles.push_back({corner(-1, -1), corner(1, 1), corner(-1, 1)});
    }
  }
  return triangles;
}

/// An ellipsoid of 2·rings·sectors triangles.
inline std::vector<Triangle> EllipsoidTriangles(const Eigen::Vector3d& half, int rings, int sectors) {
  const auto point = [&](int i, int j) {
    const double polar = std::numbers::pi * i / rings, turn = 2 * std::numbers::pi * j / sectors;
    return Eigen::Vector3d(
        half.cwiseProduct(Eigen::Vector3d(std::sin(polar) * std::cos(turn), std::sin(polar) * std::sin(turn), std::cos(polar))));
  };
  std::vector<Triangle> triangles;
  for (int i = 0; i < rings; ++i) {
    for (int j = 0; j < sectors; ++j) {
      triangles.push_back({point(i, j), point(i + 1, j), point(i + 1, j + 1)});
      triangles.push_back({point(i, j), point(i + 1, j + 1), point(i, j + 1)});
    }
  }
  return triangles;
}

/// A DAE box of 2 × 4 × 6 units about the origin, inside a node that moves it by (10, 0, 0) units.
inline std::string DaeBox(const std::string& metres_per_unit, const std::string& up_axis) {
  return R"(<?xml version="1.0" encoding="utf-8"?>
<COLLADA xmlns="http://www.collada.org/2005/11/COLLADASchema" version="1.4.1">
 <asset><created>2020-01-01T00:00:00</created><modified>2020-01-01T00:00:00</modified><unit name="u" meter=")" +
         metres_per_unit + R"("/><up_axis>)" + up_axis + R"(</up_axis></asset>
 <library_geometries><geometry id="box"><mesh>
  <source id="p"><float_array id="pa" count="24">-1 -2 -3 1 -2 -3 1 2 -3 -1 2 -3 -1 -2 3 1 -2 3 1 2 3 -1 2 3</float_array>
   <technique_common><accessor source="#pa" count="8" stride="3"><param name="X" type="float"/><param name="Y" type="float"/><param name="Z" type="float"/></accessor></technique_common></source>
  <vertices id="v"><input semantic="POSITION" source="#p"/></vertices>
  <triangles count="12"><input semantic="VERTEX" source="#v" offset="0"/><p>0 2 1 0 3 2 4 5 6 4 6 7 0 1 5 0 5 4 2 3 7 2 7 6 1 2 6 1 6 5 0 4 7 0 7 3</p></triangles>
 </mesh></geometry></library_geometries>
 <library_visual_scenes><visual_scene id="s"><node id="outer"><translate>10 0 0</translate><node id="n"><instance_geometry url="#box"/></node></node></visual_scene></library_visual_scenes>
 <scene><instance_visual_scene url="#s"/></scene>
</COLLADA>
)";
}

}  // namespace dryrig
