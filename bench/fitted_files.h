#pragma once

#include <string>

#include "sim/log_fit.h"

namespace dryrig {

/// The arm file's text with another servo and, if `X_EC` is not null, another camera mount; its URDF by its whole path. A number
/// that is not known stays. `arm_file` is read for what it says. @throws InputError.
std::string FittedArmText(const std::string& arm_file, const ArmModel& arm, const ServoFit& servo, const Eigen::Isometry3d* X_EC,
                          const std::string& heading);

/// A sensing file's text with another latency of the tracker.
std::string FittedSensingText(const std::string& text, double latency_s);

}  // namespace dryrig
