#include "policies/person_forecast.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

constexpr double kRest_mps = 0.08;                     // slower a hand is at rest; a reach begins from there
constexpr double kBefore_s = 0.12;                     // a reach has begun so long before its hand is seen to have left its rest
constexpr double kReach_mps = 0.15;                    // faster it may be reaching
constexpr double kLongest_s = 3, kShortest_s = 0.25;   // of a reach
constexpr double kLeastWay_m = 0.06;                   // shorter ones are not told from work
constexpr double kFirstDone = 0.25, kLastDone = 0.97;  // share of its time in which a reach is told
constexpr double kAside = 0.12, kSpeedOff = 0.25;      // spread of ways about the straight line, and of speeds about the law's
constexpr double kAside_m = 0.03, kSpeedOff_mps = 0.08;  // and the tracker's own
constexpr double kNowhere = 0.2;                         // weight of a reach to what is no prop
constexpr double kShortRun_s = 0.3;                      // a speed lasts so long

// The way gone at a speed that dies out.
double ShortRun_s(double after_s) {
  return kShortRun_s * (1 - std::exp(-after_s / kShortRun_s));
}

double Bell(double off, double spread) {
  return std::exp(-0.5 * off * off / (spread * spread));
}

}  // namespace

double MinimumJerkWay(double time) {
  const double t = std::clamp(time, 0.0, 1.0);
  return t * t * t * (10 + t * (6 * t - 15));
}

double MinimumJerkTime(double way) {
  double low = 0, high = 1;
  for (int halving = 0; halving < 30; ++halving) {
    const double middle = 0.5 * (low + high);
    (MinimumJerkWay(middle) < way ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

std::optional<PersonForecast::Reach> PersonForecast::Guess(const SceneFilter& scene, const Hand& hand) {
  const double speed = hand.v_W.norm();
  if (speed < kReach_mps || hand.since_s > kLongest_s) return std::nullopt;
  const Eigen::Vector3d gone = hand.centre_W - hand.from_W;
  if (gone.norm() < kLeastWay_m) return std::nullopt;
  double total = kNowhere, most = 0;
  std::optional<Reach> best;
  for (size_t i = 0; i < scene.props().size(); ++i) {
    const auto& prop = scene.props()[i];
    if (!prop.known) continue;
    const Eigen::Vector3d all = prop.p_WP - hand.from_W;
    const double length_m = all.norm();
    if (length_m < kLeastWay_m) continue;
    const double way = gone.dot(all) / (length_m * length_m);
    const double done = MinimumJerkTime(std::clamp(way, 0.0, 1.0));
    if (done < kFirstDone || done > kLastDone) continue;
    const double length_s = hand.since_s / done;
    if (length_s < kShortest_s || length_s > kLongest_s) continue;
    const Eigen::Vector3d aside = gone - way * all;
    // The law's speed: derivative of its way.
    const Eigen::Vector3d v_W = 30 * std::pow(done * (1 - done), 2) / length_s * all;
    const double likely =
        Bell(aside.norm(), kAside * length_m + kAside_m) * Bell((hand.v_W - v_W).norm(), kSpeedOff * speed + kSpeedOff_mps);
    total += likely;
    if (likely > most) {
      most = likely;
      best = Reach{hand.from_W, prop.p_WP, static_cast<int>(i), done, length_s, 0};
    }
  }
  if (best) best->sure = most / total;
  return best;
}

void PersonForecast::Update(const SceneFilter& scene) {
  head_v_W_ = 0.5 * (scene.v_W(kHeadLow) + scene.v_W(kHeadHigh));
  for (const Side side : {kLeft, kRight}) {
    Hand& hand = hands_[side];
    hand.centre_W = scene.HandCentre(side);
    hand.v_W = scene.HandVelocity(side);
    hand.since_s += scene.dt_s();
    if (!started_ || hand.v_W.norm() < kRest_mps) hand.from_W = hand.centre_W, hand.since_s = kBefore_s;
    hand.reach = Guess(scene, hand);
  }
  started_ = true;
}

Eigen::Vector3d PersonForecast::ReachShift_W(Side side, double after_s) const {
  const std::optional<Reach>& reach = hands_[side].reach;
  if (!reach) return Eigen::Vector3d::Zero();
  const double way = MinimumJerkWay(reach->done + after_s / reach->length_s) - MinimumJerkWay(reach->done);
  return reach->sure * way * (reach->to_W - reach->from_W);
}

Eigen::Vector3d PersonForecast::HandShift_W(Side side, double after_s) const {
  const Hand& hand = hands_[side];
  const double other = hand.reach ? 1 - hand.reach->sure : 1;
  return ReachShift_W(side, after_s) + other * ShortRun_s(after_s) * hand.v_W;
}

Eigen::Vector3d PersonForecast::HeadShift_W(double after_s) const {
  return ShortRun_s(after_s) * head_v_W_;
}

}  // namespace dryrig
