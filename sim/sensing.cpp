#include "sim/sensing.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "sim/distance.h"
#include "sim/rng.h"

namespace dryrig {

namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();
constexpr double kTimeGuard = 1e-9;        // samples; a sample due "now" counts as delivered
constexpr int64_t kFirstNumber = 1 << 20;  // tracker runs before the take: keeps sample numbers of streams positive
constexpr double kViewHeight_m = 1.3;      // tracker's own camera: middle of the bench's far edge, so high above the top
constexpr double kHeardJitter = 0.2;       // of the recogniser's delay, uniform to both sides

Eigen::Vector3d NormalAt(const RandomStream& stream, int64_t number) {
  const uint64_t first = static_cast<uint64_t>(number + kFirstNumber) * 3;
  return {stream.NormalAt(first), stream.NormalAt(first + 1), stream.NormalAt(first + 2)};
}

Eigen::Quaterniond Jolted(const Eigen::Quaterniond& q, const Eigen::Vector3d& turn) {
  const double angle = turn.norm();
  if (angle == 0) return q;
  return (q * Eigen::Quaterniond(Eigen::AngleAxisd(angle, turn / angle))).normalized();
}

std::vector<std::string> Words(const std::string& text) {
  std::vector<std::string> words;
  size_t at = 0;
  while (at < text.size()) {
    const size_t first = text.find_first_not_of(" \t\r\n", at);
    if (first == std::string::npos) break;
    const size_t last = std::min(text.find_first_of(" \t\r\n", first), text.size());
    words.push_back(text.substr(first, last - first));
    at = last;
  }
  return words;
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

/// What hides points from the tracker's own camera: trunk, head, arms and the other hand. A hand does not hide itself: trackers
/// complete a hand from the part they see.
class TrackerView {
 public:
  TrackerView(const PersonBody& body, const Bench& bench) : p_WV_(0, bench.depth_m, bench.height_m + kViewHeight_m) {
    for (const PersonCapsule& capsule : body.capsules) by_part_[static_cast<size_t>(PartOf(capsule))].push_back(capsule);
  }

  bool HidesHandPoint(const BodyPose& pose, int point, Side side) const {
    const Eigen::Vector3d& p_W = pose.p_W[static_cast<size_t>(point)];
    const Part other_hand = side == kLeft ? Part::kRightHand : Part::kLeftHand;
    const Part other_arm = side == kLeft ? Part::kRightArm : Part::kLeftArm;
    return Blocks(pose, Part::kTrunk, p_W) || Blocks(pose, other_arm, p_W) ||
           (HandIsNear(pose, other_hand, p_W) && Blocks(pose, other_hand, p_W));
  }

  bool HidesHead(const BodyPose& pose) const {
    const Eigen::Vector3d p_W = pose.p_WHead() + (p_WV_ - pose.p_WHead()).normalized() * kHeadRadius_m;
    return Blocks(pose, Part::kLeftArm, p_W) || Blocks(pose, Part::kRightArm, p_W) || Blocks(pose, Part::kLeftHand, p_W) ||
           Blocks(pose, Part::kRightHand, p_W);
  }

  /// Hands are left out: what a hand holds is tracked from the parts between the fingers.
  bool HidesProp(const BodyPose& pose, const Eigen::Vector3d& p_W) const {
    return Blocks(pose, Part::kTrunk, p_W) || Blocks(pose, Part::kLeftArm, p_W) || Blocks(pose, Part::kRightArm, p_W);
  }

 private:
  static constexpr double kHeadRadius_m = 0.13;  // outside any head's capsules

  bool Blocks(const BodyPose& pose, Part part, const Eigen::Vector3d& p_W) const {
    for (const PersonCapsule& capsule : by_part_[static_cast<size_t>(part)]) {
      const double entry = RayEntryCapsule(pose.p_W[static_cast<size_t>(capsule.a)], pose.p_W[static_cast<size_t>(capsule.b)],
                                           capsule.radius_m, p_WV_, p_W);
      if (entry < 1) return true;
    }
    return false;
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

// A Poisson process of losses: exponential gaps and exponential lengths.
std::vector<Span> DrawDropouts(const Sensing& sensing, double duration_s, uint64_t seed) {
  std::vector<Span> spans;
  if (sensing.dropout_per_s <= 0 || sensing.dropout_for_s <= 0) return spans;
  RandomStream stream(seed, "tracker dropouts");
  double at = 0;
  while (true) {
    at += -std::log(1 - stream.Uniform()) / sensing.dropout_per_s;
    if (at > duration_s) return spans;
    const double for_s = -std::log(1 - stream.Uniform()) * sensing.dropout_for_s;
    spans.push_back({at, at + for_s});
    at += for_s;
  }
}

std::vector<HeardSentence> Hear(const Sensing& sensing, const std::vector<Sentence>& spoken, uint64_t seed) {
  std::vector<std::string> vocabulary;
  for (const Sentence& sentence : spoken) {
    for (std::string& word : Words(sentence.text)) vocabulary.push_back(std::move(word));
  }
  RandomStream errors(seed, "recogniser errors");
  RandomStream delays(seed, "recogniser delays");
  std::vector<HeardSentence> heard;
  for (const Sentence& sentence : spoken) {
    std::string text;
    for (const std::string& word : Words(sentence.text)) {
      const double chance = errors.Uniform();
      const double which = errors.Uniform();
      if (chance < sensing.word_error_rate / 2) continue;  // lost
      const bool replaced = chance < sensing.word_error_rate;
      const std::string& as = replaced ? vocabulary[static_cast<size_t>(which * static_cast<double>(vocabulary.size()))] : word;
      text += (text.empty() ? "" : " ") + as;
    }
    const double delay_s = sensing.heard_delay_s * (1 + kHeardJitter * delays.Uniform(-1, 1));
    heard.push_back({sentence.end_s, sentence.end_s + delay_s, text});
  }
  std::stable_sort(heard.begin(), heard.end(), [](const auto& a, const auto& b) { return a.heard_s < b.heard_s; });
  return heard;
}

}  // namespace

struct Sensors::Impl {
  const Sensing sensing;
  const Performance* performance;
  TrackerView view;
  std::vector<Channel> points, prop_channels;
  RandomStream torso_turn, head_turn;
  std::vector<Span> dropouts;
  std::vector<HeardSentence> sentences;
  size_t heard = 0;
  bool sensed = false;
  int64_t latest = 0;  // number of the latest sample taken, once `sensed`
  TrackedPerson person;
  std::vector<TrackedProp> props;

  Impl(const Sensing& how, const Lesson& lesson, const Bench& bench, const Performance& what, uint64_t seed)
      : sensing(how),
        performance(&what),
        view(what.body(), bench),
        torso_turn(seed, "tracker noise of torso's turn"),
        head_turn(seed, "tracker noise of head's turn"),
        dropouts(DrawDropouts(how, what.duration_s(), seed)),
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

  bool Lost(double t_s) const {
    return std::any_of(dropouts.begin(), dropouts.end(),
                       [&](const Span& span) { return t_s >= span.start_s && t_s < span.end_s; });
  }

  bool Hidden(const BodyPose& pose, int point) const {
    if (!sensing.hidden_is_lost) return false;
    if (point >= kHandL) return view.HidesHandPoint(pose, point, point >= kHandR ? kRight : kLeft);
    return (point == kHeadLow || point == kHeadHigh) && view.HidesHead(pose);
  }

  void TakeSample(int64_t number) {
    const double stamp_s = static_cast<double>(number) / sensing.rate_hz;
    const BodyPose pose = performance->PoseAt(stamp_s);
    person.stamp_s = stamp_s;
    person.seen = false;
    const bool lost = Lost(stamp_s);
    for (size_t i = 0; i < points.size(); ++i) {
      TrackedPoint& point = person.points[i];
      point.seen = !lost && !Hidden(pose, static_cast<int>(i));
      if (!point.seen) continue;
      person.seen = true;
      point.p_W = pose.p_W[i] + points[i].bias + sensing.noise_m * NormalAt(points[i].noise, number);
      points[i].delivered_s = stamp_s;
    }
    if (!lost) {
      person.q_WT = Jolted(pose.q_WT, sensing.orientation_noise_rad * NormalAt(torso_turn, number));
      person.q_WHd = Jolted(pose.q_WHd, sensing.orientation_noise_rad * NormalAt(head_turn, number));
    }
    const std::vector<PropPose> poses = performance->PropsAt(stamp_s);
    for (size_t i = 0; i < props.size(); ++i) {
      const Eigen::Vector3d p_WP = poses[i].X_WP.translation();
      props[i].seen = !(sensing.hidden_is_lost && view.HidesProp(pose, p_WP));
      if (!props[i].seen) continue;
      props[i].p_WP = p_WP + prop_channels[i].bias + sensing.noise_m * NormalAt(prop_channels[i].noise, number);
      prop_channels[i].delivered_s = stamp_s;
    }
  }
};

Sensors::Sensors(const Sensing& sensing, const Lesson& lesson, const Bench& bench, const Performance& performance, uint64_t seed)
    : impl_(std::make_unique<Impl>(sensing, lesson, bench, performance, seed)) {}

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
