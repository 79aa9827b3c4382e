#include "sim/safety_sensor.h"

#include <cmath>

namespace dryrig {

void SafetySensor::Look(double t_s, const BodyPose& pose) {
  constexpr double kRounding_s = 1e-9;
  if (t_s < next_s_ - kRounding_s) return;
  next_s_ += 1 / spec_.rate_hz;
  if (t_s >= spec_.dead_from_s && t_s < spec_.dead_until_s) return;
  Sample sample{t_s, pose};
  for (Eigen::Vector3d& p : sample.pose.p_W) {
    // Even within a ball, by its radius and a direction: a bound that a normal distribution would not have.
    const double up = random_.Uniform(-1, 1), around = random_.Uniform(0, 2 * M_PI), across = std::sqrt(1 - up * up);
    p += spec_.error_m * std::cbrt(random_.Uniform()) * Eigen::Vector3d(across * std::cos(around), across * std::sin(around), up);
  }
  samples_.push_back(std::move(sample));
}

const SafetySensor::Sample* SafetySensor::Newest(double t_s) {
  const double behind_s = spec_.latency_s + spec_.late_s;
  while (samples_.size() > 1 && samples_[1].taken_s + behind_s <= t_s) samples_.pop_front();
  if (samples_.empty() || samples_.front().taken_s + behind_s > t_s) return nullptr;
  return &samples_.front();
}

}  // namespace dryrig
