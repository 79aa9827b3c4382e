#include "sim/sight.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "sim/distance.h"

namespace dryrig {

namespace {

constexpr double kSkin_m = 3e-3;     // a surface point's own body may be entered this far before it
constexpr double kContact_m = 1e-6;  // another body entered this near to the point touches it and does not hide it

bool IsElbow(int point) {
  return point == kElbowL || point == kElbowR;
}
bool IsHandPoint(int point) {
  return point >= kHandL || point == kWristL || point == kWristR;
}
int SideOf(int point) {
  return point >= kHandR || point == kWristR ? kRight : kLeft;
}

// A hand's wrist landmark is the arm's wrist.
int Twin(int point) {
  switch (point) {
    case kWristL:
      return kHandL;
    case kWristR:
      return kHandR;
    case kHandL:
      return kWristL;
    case kHandR:
      return kWristR;
    default:
      return point;
  }
}

bool IsHeadPoint(int point) {
  return point == kNeck || point == kHeadLow || point == kHeadHigh;
}

Blocker KindOfCapsule(const PersonCapsule& capsule, int hand) {
  if (IsElbow(capsule.a) || IsElbow(capsule.b)) return Blocker::kOwnArm;
  if (IsHandPoint(capsule.a) || IsHandPoint(capsule.b)) {
    return SideOf(IsHandPoint(capsule.a) ? capsule.a : capsule.b) == hand ? Blocker::kSameHand : Blocker::kOtherHand;
  }
  return IsHeadPoint(capsule.a) && IsHeadPoint(capsule.b) ? Blocker::kHead : Blocker::kTorso;
}

}  // namespace

SightScene::SightScene(const Take& take) : take_(&take) {
  const auto& capsules = take.person.capsules;
  first_prop_ = static_cast<int>(capsules.size());
  first_bench_ = first_prop_ + static_cast<int>(take.props.size());
  for (const Body& body : take.keep_out) {
    if (!body.name.starts_with("zone")) still_.push_back(&body);
  }
  for (const ArmBody& part : take.arm_bodies) {
    if (part.body.name != "camera") arm_.push_back(&part);
  }
  first_arm_ = first_bench_ + 1 + static_cast<int>(still_.size());
  const size_t all = first_arm_ + arm_.size();
  radius_.resize(all);
  middle_.resize(all);
  a_.resize(capsules.size());
  b_.resize(capsules.size());
  pose_.resize(all - capsules.size());

  for (const TakeProp& prop : take.props) shape_.push_back(&prop.shape);
  shape_.push_back(&take.bench_top.shape);
  for (const Body* body : still_) shape_.push_back(&body->shape);
  for (const ArmBody* part : arm_) shape_.push_back(&part->body.shape);
  for (size_t i = 0; i < shape_.size(); ++i) radius_[capsules.size() + i] = shape_[i]->BoundingRadius();

  own_.resize(kNumBodyPoints);
  for (size_t i = 0; i < capsules.size(); ++i) {
    const PersonCapsule& capsule = capsules[i];
    for (int point = 0; point < kNumBodyPoints; ++point) {
      if (capsule.a == point || capsule.b == point || capsule.a == Twin(point) || capsule.b == Twin(point)) {
        own_[point].push_back(static_cast<int>(i));
      }
    }
    head_.push_back(KindOfCapsule(capsule, -1) == Blocker::kHead && capsule.region != "neck");
  }
}

void SightScene::SetFrame(const TakeFrame& frame) {
  const auto& capsules = take_->person.capsules;
  for (size_t i = 0; i < capsules.size(); ++i) {
    a_[i] = frame.person.p_W[capsules[i].a];
    b_[i] = frame.person.p_W[capsules[i].b];
    middle_[i] = 0.5 * (a_[i] + b_[i]);
    radius_[i] = 0.5 * (b_[i] - a_[i]).norm() + capsules[i].radius_m;
  }
  size_t next = 0;
  for (size_t i = 0; i < take_->props.size(); ++i) pose_[next++] = frame.X_WP[i];
  pose_[next++] = take_->bench_top.X_LS;
  for (const Body* body : still_) pose_[next++] = body->X_LS;
  for (const ArmBody* part : arm_) pose_[next++] = (part->link < 0 ? take_->X_WB : frame.X_WL[part->link]) * part->body.X_LS;
  for (size_t i = 0; i < pose_.size(); ++i) middle_[capsules.size() + i] = pose_[i].translation();
}

bool SightScene::IsOwn(int body, const SubjectSample& sample) const {
  if (sample.inside) {
    if (sample.landmark < 0) return body == sample.body;
    const auto& own = own_[sample.landmark];
    return std::find(own.begin(), own.end(), body) != own.end();
  }
  if (body == sample.body) return true;
  return sample.body >= 0 && sample.body < first_prop_ && body < first_prop_ && head_[sample.body] && head_[body];
}

double SightScene::EntryOf(int body, const Eigen::Vector3d& from, const Eigen::Vector3d& to) const {
  if (body < first_prop_) return RayEntryCapsule(a_[body], b_[body], take_->person.capsules[body].radius_m, from, to);
  return RayEntry(*shape_[body - first_prop_], pose_[body - first_prop_], from, to);
}

int SightScene::FirstBlocker(const Eigen::Vector3d& p_WC, const SubjectSample& sample) const {
  const Eigen::Vector3d line = sample.p_W - p_WC;
  const double length = line.norm();
  if (!(length > 0)) return -1;
  const Eigen::Vector3d way = line / length;

  // A body met beyond `limit` comes too late to hide the sample.
  double limit = 1 - kContact_m / length;
  if (sample.inside) {
    const auto shorten = [&](int body) { limit = std::min(limit, EntryOf(body, p_WC, sample.p_W)); };
    if (sample.landmark < 0)
      shorten(sample.body);
    else
      std::for_each(own_[sample.landmark].begin(), own_[sample.landmark].end(), shorten);
  }
  const double own_limit = 1 - kSkin_m / length;

  int first = -1;
  for (int body = 0; body < size(); ++body) {
    const Eigen::Vector3d to_middle = middle_[body] - p_WC;
    const double along = std::clamp(to_middle.dot(way), 0.0, length);
    if ((to_middle - along * way).squaredNorm() > radius_[body] * radius_[body]) continue;
    const bool own = IsOwn(body, sample);
    if (own && sample.inside) continue;
    const double entry = EntryOf(body, p_WC, sample.p_W);
    if (entry < (own ? std::min(limit, own_limit) : limit)) limit = entry, first = body;
  }
  return first;
}

bool SightScene::IsFarSide(const Eigen::Vector3d& p_WC, const SubjectSample& sample) const {
  if (sample.inside || sample.body < first_prop_ || sample.body >= first_bench_) return false;
  const double length = (sample.p_W - p_WC).norm();
  return length > 0 && EntryOf(sample.body, p_WC, sample.p_W) < 1 - kSkin_m / length;
}

Blocker SightScene::KindOf(int body, int hand) const {
  if (body < 0) return Blocker::kNone;
  if (body < first_prop_) return KindOfCapsule(take_->person.capsules[body], hand);
  if (body < first_bench_) return Blocker::kProp;
  return body < first_arm_ ? Blocker::kBench : Blocker::kRobot;
}

std::string SightScene::NameOf(int body) const {
  if (body < 0) return "";
  if (body < first_prop_) return take_->person.capsules[body].name;
  if (body < first_bench_) return take_->props[body - first_prop_].name;
  if (body == first_bench_) return take_->bench_top.name;
  if (body < first_arm_) return still_[body - first_bench_ - 1]->name;
  return arm_[body - first_arm_]->body.name;
}

}  // namespace dryrig
