#include "viewer/body_facts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "metrics/contact_limits.h"
#include "viewer/moment.h"
#include "viewer/plot.h"

namespace dryrig {

namespace {

constexpr double kDegrees = 180 / M_PI;

std::string Millimetres(double metres) {
  return fmt::format("{:.0f} mm", metres * 1000);
}
std::string Place(const Eigen::Vector3d& p_W) {
  const Eigen::Vector3d mm = (p_W * 1000).array().round() + 0.0;  // no minus before zero
  return fmt::format("{:.0f}, {:.0f}, {:.0f} mm", mm.x(), mm.y(), mm.z());
}
std::string SizeOf(const Shape& shape) {
  const double r = 2000 * shape.radius_m, length = 2000 * shape.half_length_m;
  switch (shape.kind) {
    case ShapeKind::kSphere:
      return fmt::format("ball, {:.0f} mm wide", r);
    case ShapeKind::kCapsule:
      return fmt::format("capsule, {:.0f} mm wide, {:.0f} long", r, length + r);
    case ShapeKind::kCylinder:
      return fmt::format("cylinder, {:.0f} mm wide, {:.0f} high", r, length);
    case ShapeKind::kBox:
      return fmt::format("box, {:.0f} x {:.0f} x {:.0f} mm", 2000 * shape.half_m.x(), 2000 * shape.half_m.y(),
                         2000 * shape.half_m.z());
    case ShapeKind::kHull:
      break;
  }
  return fmt::format("hull of {} points", shape.points.size());
}

class Facts {
 public:
  Facts(const Take& take, size_t frame, std::string name) : take_(take), frame_(take.frames.at(frame)), frame_number_(frame) {
    out_.name = std::move(name);
  }
  void Add(std::string name, std::string value) { out_.lines.emplace_back(std::move(name), std::move(value)); }
  BodyFacts Done() { return std::move(out_); }

  void OfCapsule(const PersonCapsule& capsule) {
    const auto middle = [&](const TakeFrame& frame) -> Eigen::Vector3d {
      return 0.5 * (frame.person.p_W[static_cast<size_t>(capsule.a)] + frame.person.p_W[static_cast<size_t>(capsule.b)]);
    };
    const Eigen::Vector3d p_W = middle(frame_);
    Add("place", Place(p_W));
    if (frame_number_ > 0) {
      const Eigen::Vector3d before_W = middle(take_.frames[frame_number_ - 1]);
      Add("speed", fmt::format("{} m/s", Shown((p_W - before_W).norm() * take_.id.frame_hz)));
    }
    PersonBody alone;
    alone.capsules = {capsule};
    if (HasMovingArm()) {
      const Clearance near = NearestToPerson(take_.arm_bodies, frame_.X_WL, alone, frame_.person);
      Add("to the robot", fmt::format("{} ({})", Millimetres(near.distance_m), ArmName(near.arm_body)));
    }
    Add("to the lens", Millimetres((p_W - frame_.X_WC.translation()).norm()));
    const ContactRegion& region = FindContactRegion(capsule.region);
    Add("touch limit", fmt::format("{:.0f} N, {} (ISO/TS 15066)", region.force_N, capsule.region));
  }

  void OfProp(size_t prop) {
    Add("place", Place(frame_.X_WP[prop].translation()));
    Add("size", SizeOf(take_.props[prop].shape));
    const int carrier = frame_.carrier[prop];
    Add("carried by", carrier == kLeft ? "left hand" : carrier == kRight ? "right hand" : "nobody");
    Add("to the lens", Millimetres((frame_.X_WP[prop].translation() - frame_.X_WC.translation()).norm()));
  }

  void OfArm(size_t part) {
    const ArmBody& arm = take_.arm_bodies[part];
    if (arm.body.name == "camera") OfCamera();
    if (arm.link >= 0) {
      const auto joint = static_cast<size_t>(arm.link);
      const JointLimit& limit = take_.joints[joint];
      const TakeTick& tick = take_.ticks[TickAt(take_, static_cast<double>(frame_number_) / take_.id.frame_hz)];
      const auto i = static_cast<Eigen::Index>(joint);
      const double unit = limit.prismatic ? 1000 : kDegrees;
      const char* name = limit.prismatic ? "mm" : "deg";
      Add("joint " + limit.name,
          fmt::format("{:.1f} {}, from {:.0f} to {:.0f}", tick.q[i] * unit, name, limit.lower * unit, limit.upper * unit));
      Add("joint speed", fmt::format("{:.1f} {}/s, {:.0f} % of its limit", tick.qd[i] * unit, name,
                                     100 * std::abs(tick.qd[i]) / limit.velocity));
      Add("torque", fmt::format("{:.1f} {}, {:.0f} % of its limit", tick.torque[i], limit.prismatic ? "N" : "Nm",
                                100 * std::abs(tick.torque[i]) / limit.effort));
      const Clearance near = NearestToPerson({arm}, frame_.X_WL, take_.person, frame_.person);
      Add("to the person",
          fmt::format("{} ({})", Millimetres(near.distance_m), take_.person.capsules[static_cast<size_t>(near.capsule)].name));
    } else {
      Add("place", Place((take_.X_WB * arm.body.X_LS).translation()));
      Add("motion", "fixed: the arm's base");
    }
  }

  void OfStill(const Body& body) {
    Add("place", Place(body.X_LS.translation()));
    Add("size", SizeOf(body.shape));
  }

 private:
  bool HasMovingArm() const {
    return std::any_of(take_.arm_bodies.begin(), take_.arm_bodies.end(), [](const ArmBody& arm) { return arm.link >= 0; });
  }
  const std::string& ArmName(int part) const { return take_.arm_bodies[static_cast<size_t>(part)].body.name; }

  void OfCamera() {
    const LensState& lens = frame_.lens;
    Add("lens at", Place(frame_.X_WC.translation()));
    Add("focal length", fmt::format("{:.1f} mm, f/{:g}", lens.focal_m * 1000, take_.camera.f_number));
    const DepthOfField sharp = FieldInFocus(take_.camera, lens);
    Add("sharp", std::isfinite(sharp.far_m) ? fmt::format("{:.0f} to {:.0f} mm", sharp.near_m * 1000, sharp.far_m * 1000)
                                            : fmt::format("beyond {:.0f} mm", sharp.near_m * 1000));
  }

  const Take& take_;
  const TakeFrame& frame_;
  size_t frame_number_;
  BodyFacts out_;
};

}  // namespace

BodyFacts FactsOf(const Take& take, size_t frame, int body, const std::string& name) {
  Facts facts(take, frame, name);
  const size_t capsules = take.person.capsules.size();
  const auto number = static_cast<size_t>(body);
  if (number < capsules) {
    facts.OfCapsule(take.person.capsules[number]);
    return facts.Done();
  }
  if (number < capsules + take.props.size()) {
    facts.OfProp(number - capsules);
    return facts.Done();
  }
  // The rest is found by name: bench top, what is bolted to it, and the arm's parts.
  if (name == take.bench_top.name) {
    facts.OfStill(take.bench_top);
    return facts.Done();
  }
  for (const Body& still : take.keep_out) {
    if (still.name != name) continue;
    facts.OfStill(still);
    return facts.Done();
  }
  for (size_t i = 0; i < take.arm_bodies.size(); ++i) {
    if (take.arm_bodies[i].body.name != name) continue;
    facts.OfArm(i);
    break;
  }
  return facts.Done();
}

}  // namespace dryrig
