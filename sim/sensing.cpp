#include "sim/sensing.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "sim/distance.h"
#include "sim/hearing.h"
#include "sim/rng.h"

namespace dryrig {

namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();
constexpr double kTimeGuard = 1e-9;        // samples; a sample due "now" counts as delivered
constexpr int64_t kFirstNumber = 1 << 20;  // tracker runs before the take: keeps sample numbers of streams positive
constexpr double kViewHeight_m = 1.3;      // tracker's own camera: middle of the bench's far edge, so high above the top

Eigen::Vector3d NormalAt(const RandomStream& stream, int64_t number) {
  const uint64_t first = static_cast<uint64_t>(number + kFirstNumber) * 3;
  return {stream.NormalAt(first), stream.NormalAt(first + 1), stream.NormalAt(first + 2)};
}

Eigen::Quaterniond Jolted(const Eigen::Quaterniond& q, const Eigen::Vector3d& turn) {
  const double angle = turn.norm();
  if (angle == 0) return q;
  return (q * Eigen::Quaterniond(Eigen::AngleAxisd(angle, turn / angle))).normalized();
}

/// One point as the tracker has it: its own error streams and the last delivery.
struct Channel {
  RandomStream noise;
  Eigen::Vector3d bias = Eigen::Vector3d::Zero();
  double delivered_s = -kNever;

  Channel(uint64_t seed, const std::string& what, double bias_m) : noise(seed, "tracker noise of " + what) {
    const RandomStream constant(seed, "tracker bias of " + what);
    bias = bias_m * Eigen::Vector3d(constant.NormalAt(0), constant.NormalAt(1), constant.NormalAt(2));
  }
};

enum class Part { kTrunk, kLeftArm, kRightArm, kLeftHand, kRightHand };

// A hand's capsules join two landmarks of one hand; an arm's end in an elbow.
Part PartOf(const PersonCapsule& capsule) {
  if (capsule.a >= kHandR && capsule.b >= kHandR) return Part::kRightHand;
  if (capsule.a >= kHandL && capsule.b >= kHandL) return Part::kLeftHand;
  for (const int end : {capsule.a, capsule.b}) {
    if (end == kElbowL || end == kWristL) return Part::kLeftArm;
    if (end == kElbowR || end == kWristR) return Part::kRightArm;
  }
  return Part::kTrunk;
}

/// What a point is to the tracker's own camera.
enum class Cover { kClear, kPartly, kHidden };

/// What hides points from the tracker's own camera: trunk, head, arms and the other hand. A hand does not hide itself: trackers
/// complete a hand from the part they see.
class TrackerView {
 public:
  TrackerView(const PersonBody& body, const Bench& bench) : p_WV_(0, bench.depth_m, bench.height_m + kViewHeight_m) {
    for (const PersonCapsule& capsule : body.capsules) by_part_[static_cast<size_t>(PartOf(capsule))].push_back(capsule);
  }

  Cover OfHandPoint(const BodyPose& pose, int point, Side side) const {
    const Eigen::Vector3d& p_W = pose.p_W[static_cast<size_t>(point)];
    const Part other_hand = side == kLeft ? Part::kRightHand : Part::kLeftHand;
    const Part other_arm = side == kLeft ? Part::kRightArm : Part::kLeftArm;
    Cover cover = std::max(CoverBy(pose, Part::kTrunk, p_W), CoverBy(pose, other_arm, p_W));
    if (cover != Cover::kHidden && HandIsNear(pose, other_hand, p_W)) cover = std::max(cover, CoverBy(pose, other_hand, p_W));
    return cover;
  }

  Cover OfHead(const BodyPose& pose) const {
    const Eigen::Vector3d p_W = pose.p_WHead() + (p_WV_ - pose.p_WHead()).normalized() * kHeadRadius_m;
    return std::max({CoverBy(pose, Part::kLeftArm, p_W), CoverBy(pose, Part::kRightArm, p_W), CoverBy(pose, Part::kLeftHand, p_W),
                     CoverBy(pose, Part::kRightHand, p_W)});
  }

  /// Hands are left out: what a hand holds is tracked from the parts between the fingers.
  Cover OfProp(const BodyPose& pose, const Eigen::Vector3d& p_W) const {
    return std::max({CoverBy(pose, Part::kTrunk, p_W), CoverBy(pose, Part::kLeftArm, p_W), CoverBy(pose, Part::kRightArm, p_W)});
  }

  double Distance_m(const Eigen::Vector3d& p_W) const { return (p_W - p_WV_).norm(); }

 private:
  static constexpr double kJustPast_m = 0.015;   // so near an outline a tracker takes the one for the other
  static constexpr double kHeadRadius_m = 0.13;  // outside any head's capsules

  Cover CoverBy(const BodyPose& pose, Part part, const Eigen::Vector3d& p_W) const {
    Cover cover = Cover::kClear;
    for (const PersonCapsule& capsule : by_part_[static_cast<size_t>(part)]) {
      const auto meets = [&](double radius_m) {
        return RayEntryCapsule(pose.p_W[static_cast<size_t>(capsule.a)], pose.p_W[static_cast<size_t>(capsule.b)], radius_m,
                               p_WV_, p_W) < 1;
      };
      if (!meets(capsule.radius_m + kJustPast_m)) continue;
      if (meets(capsule.radius_m)) return Cover::kHidden;
      cover = Cover::kPartly;
    }
    return cover;
  }

  bool HandIsNear(const BodyPose& pose, Part hand, const Eigen::Vector3d& p_W) const {
    constexpr double kReach_m = 0.3;  // no hand is longer than this, seen from its wrist
    const Eigen::Vector3d& wrist = pose.p_W[static_cast<size_t>(hand == Part::kLeftHand ? kHandL : kHandR)];
    const Eigen::Vector3d along = p_W - p_WV_;
    const double s = std::clamp((wrist - p_WV_).dot(along) / along.squaredNorm(), 0.0, 1.0);
    return (p_WV_ + s * along - wrist).squaredNorm() < kReach_m * kReach_m;
  }

  Eigen::Vector3d p_WV_;
  std::array<std::vector<PersonCapsule>, 5> by_part_;
};

struct Span {
  double start_s, end_s;
};

// A Poisson process of faults: exponential gaps and exponential lengths.
std::vector<Span> DrawFaults(double per_s, double mean_s, double duration_s, RandomStream stream) {
  std::vector<Span> spans;
  if (per_s <= 0 || mean_s <= 0) return spans;
  double at = 0;
  while (true) {
    at += -std::log(1 - stream.Uniform()) / per_s;
    if (at > duration_s) return spans;
    const double for_s = -std::log(1 - stream.Uniform()) * mean_s;
    spans.push_back({at, at + for_s});
    at += for_s;
  }
}

}  // namespace

struct Sensors::Impl {
  const Sensing sensing;
  const Performance* performance;
  const Reaction* reaction;
  const Faults faults;
  TrackerView view;
  std::vector<Channel> points, prop_channels;
  RandomStream torso_turn, head_turn;
  std::vector<Span> dropouts, swaps;
  std::vector<HeardSentence> sentences;
  size_t heard = 0;
  bool sensed = false;
  int64_t latest = 0;  // number of the latest sample taken, once `sensed`
  TrackedPerson person;
  std::vector<TrackedProp> props;

  Impl(const Sensing& how, const Lesson& lesson, const Bench& bench, const Performance& what, uint64_t seed, const Reaction* over)
      : sensing(how),
        performance(&what),
        reaction(over),
        faults(over ? over->faults() : Faults()),
        view(what.body(), bench),
        torso_turn(seed, "tracker noise of torso's turn"),
        head_turn(seed, "tracker noise of head's turn"),
        dropouts(DrawFaults(how.dropout_per_s, how.dropout_for_s, what.duration_s(), {seed, "tracker dropouts"})),
        swaps(DrawFaults(how.swap_per_s, how.swap_for_s, what.duration_s(), {seed, "tracker swaps left and right"})),
        sentences(Hear(how, what.sentences(), seed)) {
    for (int point = 0; point < kNumBodyPoints; ++point)
      points.emplace_back(seed, fmt::format("body point {}", point), how.bias_m);
    for (const Prop& prop : lesson.props) {
      prop_channels.emplace_back(seed, "prop " + prop.name, how.bias_m);
      TrackedProp& tracked = props.emplace_back();
      tracked.name = prop.name;
      tracked.extent_m = 2 * prop.shape.BoundingRadius();
    }
    person.head_height_m = what.body().head_height_m;
    person.hand_length_m = what.body().hand_length_m;
  }

  static bool Within(const std::vector<Span>& spans, double t_s) {
    return std::any_of(spans.begin(), spans.end(), [&](const Span& span) { return t_s >= span.start_s && t_s < span.end_s; });
  }

  /// Of hands and head; the rest of the body is tracked as a whole.
  Cover CoverOf(const BodyPose& pose, int point) const {
    if (!sensing.hidden_is_lost && sensing.partly_hidden_noise == 1) return Cover::kClear;
    if (point >= kHandL) return view.OfHandPoint(pose, point, point >= kHandR ? kRight : kLeft);
    return point == kHeadLow || point == kHeadHigh ? view.OfHead(pose) : Cover::kClear;
  }

  double Noise_m(const Eigen::Vector3d& p_W, Cover cover) const {
    double noise = sensing.noise_m;
    if (sensing.noise_distance_m > 0) noise *= std::pow(view.Distance_m(p_W) / sensing.noise_distance_m, 2);
    return cover == Cover::kClear ? noise : noise * sensing.partly_hidden_noise;
  }

  /// The same point of the other arm; others: themselves.
  static int Mirrored(int point) {
    if (point >= kHandL) return point + (point < kHandR ? kHandLandmarks : -kHandLandmarks);
    if (point < kElbowL || point > kWristR) return point;
    return point + ((point - kElbowL) % 2 == 0 ? 1 : -1);
  }

  /// The sample that the tracker gives for this one: while it is frozen the last good one.
  int64_t Shown(int64_t number) const {
    const double stamp_s = static_cast<double>(number) / sensing.rate_hz;
    if (stamp_s < faults.at_s || stamp_s >= faults.at_s + faults.tracker_frozen_s) return number;
    return static_cast<int64_t>(std::ceil(faults.at_s * sensing.rate_hz)) - 1;
  }

  /// The tracker stands in the room: it sees a shoved bench's props gone, and people who stand on the floor where they were.
  Eigen::Vector3d PropInRoom(const PropPose& prop, double t_s) const {
    const Eigen::Vector3d p_WP = prop.X_WP.translation();
    return prop.carrier >= 0 ? p_WP : p_WP + BenchMoved(faults, t_s);
  }

  void TakeSample(int64_t stamped) {
    const double stamp_s = static_cast<double>(stamped) / sensing.rate_hz;
    const int64_t number = Shown(stamped);
    const double seen_s = static_cast<double>(number) / sensing.rate_hz;
    const BodyPose pose = reaction ? reaction->PoseAt(seen_s) : performance->PoseAt(seen_s);
    person.stamp_s = stamp_s;
    person.seen = false;
    const bool lost = Within(dropouts, seen_s), swapped = Within(swaps, seen_s);
    for (size_t i = 0; i < points.size(); ++i) {
      TrackedPoint& point = person.points[i];
      const int whose = swapped ? Mirrored(static_cast<int>(i)) : static_cast<int>(i);
      const Cover cover = lost ? Cover::kHidden : CoverOf(pose, whose);
      point.seen = !lost && !(cover == Cover::kHidden && sensing.hidden_is_lost);
      if (!point.seen) continue;
      person.seen = true;
      const Eigen::Vector3d& p_W = pose.p_W[static_cast<size_t>(whose)];
      point.p_W = p_W + points[i].bias + Noise_m(p_W, cover) * NormalAt(points[i].noise, number);
      points[i].delivered_s = stamp_s;
    }
    if (!lost) {
      person.q_WT = Jolted(pose.q_WT, sensing.orientation_noise_rad * NormalAt(torso_turn, number));
      person.q_WHd = Jolted(pose.q_WHd, sensing.orientation_noise_rad * NormalAt(head_turn, number));
    }
    const std::vector<PropPose> poses = performance->PropsAt(seen_s);
    for (size_t i = 0; i < props.size(); ++i) {
      const Eigen::Vector3d p_WP = PropInRoom(poses[i], seen_s);
      const bool looks = sensing.hidden_is_lost || sensing.partly_hidden_noise != 1;
      const Cover cover = looks ? view.OfProp(pose, p_WP) : Cover::kClear;
      props[i].seen = !(cover == Cover::kHidden && sensing.hidden_is_lost);
      if (!props[i].seen) continue;
      props[i].p_WP = p_WP + prop_channels[i].bias + Noise_m(p_WP, cover) * NormalAt(prop_channels[i].noise, number);
      prop_channels[i].delivered_s = stamp_s;
    }
  }
};

Sensors::Sensors(const Sensing& sensing, const Lesson& lesson, const Bench& bench, const Performance& performance, uint64_t seed,
                 const Reaction* reaction)
    : impl_(std::make_unique<Impl>(sensing, lesson, bench, performance, seed, reaction)) {}

Sensors::~Sensors() = default;

void Sensors::Sense(double t_s) {
  Impl& s = *impl_;
  const auto latest = static_cast<int64_t>(std::floor((t_s - s.sensing.latency_s) * s.sensing.rate_hz + kTimeGuard));
  for (int64_t number = s.sensed ? s.latest + 1 : latest; number <= latest; ++number) s.TakeSample(number);
  s.sensed = true;
  s.latest = latest;
  for (size_t i = 0; i < s.points.size(); ++i) s.person.points[i].age_s = t_s - s.points[i].delivered_s;
  for (size_t i = 0; i < s.props.size(); ++i) s.props[i].age_s = t_s - s.prop_channels[i].delivered_s;
  while (s.heard < s.sentences.size() && s.sentences[s.heard].heard_s <= t_s + kTimeGuard) ++s.heard;
}

const TrackedPerson& Sensors::person() const {
  return impl_->person;
}
std::span<const TrackedProp> Sensors::props() const {
  return impl_->props;
}
std::span<const HeardSentence> Sensors::heard() const {
  return {impl_->sentences.data(), impl_->heard};
}

}  // namespace dryrig
