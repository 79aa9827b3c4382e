#include <fmt/format.h>

#include <array>
#include <cmath>

#include "metrics/compute.h"
#include "metrics/metric.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr Direction kUp = Direction::kUp;
constexpr Direction kDown = Direction::kDown;

// Step tolerances. Frames and intents fall on the same times at every physics rate, so footage differs only as far as the servo
// leaves the camera elsewhere: microns, at which a frame or a line of sight seldom changes sides.
constexpr StepTolerance kShare{0.003, 0};       // a few of some 2,000 frames, or of their sight lines
constexpr StepTolerance kOneFrame_s{0.034, 0};  // a time that is found frame by frame
constexpr StepTolerance kFiltered{0.01, 0.01};  // derivatives after the low-pass, and what a resting servo leaves
constexpr StepTolerance kDistance{0.0005, 0};   // the least of a smooth distance, met within half a tick
constexpr StepTolerance kExact{1e-6, 0};        // no physics in it

constexpr std::array kMetrics{
    // The card's five, each with its companions.
    Metric{"hand_visibility", "", kUp, "share of the landmarks of the hands in use that the camera sees", kShare, HandVisibility},
    Metric{"longest_blind_s", "s", kDown, "longest run with less than half of the hand landmarks visible", kOneFrame_s,
           LongestBlind},
    Metric{"hand_detail", "", kUp,
           "share of frames with most landmarks visible, sharp and the hands at least half as large as asked", kShare,
           HandDetail},
    Metric{"framing_error",
           "tolerances",
           kDown,
           "RMS of composition, size and angle over their tolerances; below 1 is acceptable footage",
           {0.002, 0.002},
           FramingError},
    Metric{"composition_error",
           "frame heights",
           kDown,
           "RMS distance of the subject to its composition point, while in the frame",
           {0.001, 0.01},
           CompositionError},
    Metric{"size_error",
           "octaves",
           kDown,
           "RMS of log2 of apparent over wanted size, while in the frame",
           {0.001, 0.002},
           SizeError},
    Metric{"angle_error_deg",
           "deg",
           kDown,
           "RMS of the direction of view and image-up against the angle asked for",
           {0.05, 0.005},
           AngleError},
    Metric{"facing_error_deg",
           "deg",
           kDown,
           "RMS azimuth of the camera against the torso's normal, where the camera is not overhead",
           {0.05, 0.005},
           FacingError},
    Metric{"off_subject", "", kDown, "share of frames with the subject's centre out of the frame", kShare, OffSubject},
    Metric{"jerk", "m/s³", kDown, "RMS jerk of the camera after a 10 Hz linear-phase low-pass", kFiltered, Jerk},
    Metric{"jerk_moving", "m/s³", kDown, "the same over the time in which the camera moves faster than 5 mm/s", kFiltered,
           JerkMoving},
    Metric{"jerk_p99", "m/s³", kDown, "99th percentile of the filtered jerk", {0.02, 0.02}, JerkP99},
    Metric{"angular_jerk", "rad/s³", kDown, "RMS angular jerk of the camera after the same low-pass", {0.02, 0.02}, AngularJerk},
    Metric{"log_dimensionless_jerk",
           "",
           kUp,
           "log dimensionless jerk of the camera's moves, mean by their ways; nearer plus infinity is smoother",
           {0.05, 0},
           LogJerkOfMoves},
    Metric{"spectral_arc_length",
           "",
           kUp,
           "spectral arc length of the camera's moves, mean by their ways; nearer 0 is smoother",
           {0.01, 0.005},
           ArcLengthOfMoves},
    Metric{"image_shake",
           "frame heights",
           kDown,
           "RMS image motion above 2 Hz of a world-fixed point as far away as the subject",
           {1e-5, 0.01},
           ImageShake},
    Metric{"occlusion", "", kDown,
           "share of the subjects' sample points that something hides; with outside and clear it adds to 1", kShare, Occlusion},
    Metric{"outside", "", kDown, "share of the subjects' sample points out of the frame", kShare, Outside},
    Metric{"clear", "", kUp, "share of the subjects' sample points that the camera sees", kShare, Clear},
    Metric{"occluded_by_own_arm", "", kDown, "share hidden by the person's arms", kShare, OccludedByOwnArm},
    Metric{"occluded_by_head", "", kDown, "share hidden by the person's head", kShare, OccludedByHead},
    Metric{"occluded_by_torso", "", kDown, "share hidden by the person's trunk and legs", kShare, OccludedByTorso},
    Metric{"occluded_by_other_hand", "", kDown, "share hidden by the other hand, or of a thing by a hand", kShare,
           OccludedByOtherHand},
    Metric{"occluded_by_same_hand", "", kDown, "share hidden by the hand's own fingers and palm", kShare, OccludedBySameHand},
    Metric{"occluded_by_prop", "", kDown, "share hidden by props", kShare, OccludedByProp},
    Metric{"occluded_by_bench", "", kDown, "share hidden by the bench and what is fixed to it", kShare, OccludedByBench},
    Metric{"occluded_by_robot", "", kDown, "share hidden by the camera's arm", kShare, OccludedByRobot},
    Metric{"closest_approach", "m", kUp, "least distance between the moving arm or camera and the person", kDistance,
           ClosestApproach},
    Metric{"closest_approach_p5", "m", kUp, "5th percentile of that distance", kDistance, ClosestApproachP5},
    Metric{"approach_speed",
           "m/s",
           kDown,
           "mean relative speed of the nearest pair within 0.1 s of the closest moment",
           {0.005, 0.01},
           ApproachSpeed},
    Metric{"separation_margin",
           "m",
           kUp,
           "least distance beyond the protective separation (after ISO/TS 15066, person at 1.6 m/s; illustrative)",
           {0.002, 0},
           SeparationMargin},
    Metric{"contact_speed_margin",
           "m/s",
           kUp,
           "least permissible contact speed minus approach speed, nearer than 0.5 m (after ISO/TS 15066 Annex A; illustrative)",
           {0.005, 0.01},
           ContactSpeedMargin},
    Metric{"contacts", "", kDown, "separate touches of the person by arm or camera", kExact, Contacts},
    Metric{"startles", "", kDown, "times that the arm startled the person; always 0 for those whom it does not", kExact, Startles},
    Metric{"contact_force",
           "N",
           kDown,
           "force of the hardest touch by the two-mass model, if any (illustrative)",
           {1, 0.02},
           ContactForce},
    // How fast and how rightly it answers.
    Metric{"response_s", "s", kDown,
           "mean time from an intent's start until framing is acceptable for 0.5 s; its length if never", kOneFrame_s, Response},
    Metric{"response_missed", "", kDown, "share of intents never acceptably framed", kExact, ResponseMissed},
    Metric{"cue_precision", "", kUp, "share of scored time in which the policy chose the intent's subjects", kShare,
           CuePrecision},
    Metric{"cue_recall", "", kUp, "share of intents whose subjects the policy chose for at least half of their time", kExact,
           CueRecall},
    Metric{"cue_delay_s", "s", kDown,
           "mean time from an intent's start until the policy chose its subjects for 0.5 s; its length if never", kOneFrame_s,
           CueDelay},
    // How the camera moves.
    Metric{"roll_deg",
           "deg",
           kDown,
           "RMS roll against the horizon while the camera looks less than 60° up or down",
           {0.02, 0.005},
           Roll},
    Metric{"pan_speed",
           "deg/s",
           kDown,
           "95th percentile of the turning of the camera's axis; trade's rule: a frame's width in 7 s or more",
           {0.02, 0.01},
           PanSpeed},
    Metric{"zoom_rate", "octaves/s", kDown, "fastest change of focal length", kExact, ZoomRate},
    Metric{"in_focus", "", kUp, "share of frames with the subject's centre inside the depth of field", kShare, InFocus},
    // How the arm fares.
    Metric{"joint_limit_margin",
           "",
           kUp,
           "least distance to a joint's limit in halves of its range; negative: passed",
           {0.0005, 0},
           JointLimitMargin},
    Metric{"joint_speed_margin",
           "",
           kUp,
           "least share of a joint's speed limit left; negative: passed",
           {0.002, 0},
           JointSpeedMargin},
    Metric{"singularity", "m³", kUp, "least manipulability (Yoshikawa) of the camera's Jacobian", {1e-5, 0.001}, Singularity},
    Metric{"servo_error_deg", "deg", kDown, "RMS of turning joints against their set points", {0.002, 0.01}, ServoError},
    Metric{"torque_saturation", "", kDown, "share of ticks with a joint at its torque limit", kShare, TorqueSaturation},
    Metric{"unreachable", "", kDown, "share of frames in which the arm could not reach what the policy asked for", kShare,
           Unreachable},
};

}  // namespace

std::span<const Metric> Metrics() {
  return kMetrics;
}

const Metric& FindMetric(std::string_view name) {
  std::vector<std::string> known;
  for (const Metric& metric : kMetrics) {
    if (metric.name == name) return metric;
    known.emplace_back(metric.name);
  }
  throw InputError(fmt::format("no metric \"{}\"{}", name.substr(0, 64), Suggest(name, known)));
}

Scorecard ScoreTake(const Take& take, const Tolerances& tolerances) {
  const Footage footage(take, tolerances);
  Scorecard card;
  card.scores.reserve(kMetrics.size());
  for (const Metric& metric : kMetrics) {
    card.scores.push_back(metric.compute(footage));
    const std::optional<double>& value = card.scores.back().value;
    if (value && !std::isfinite(*value)) {
      throw RunError(fmt::format("metric {} of take {} / {} / seed {} is {}", metric.name, take.id.lesson, take.id.policy,
                                 take.id.seed, *value));
    }
  }
  return card;
}

}  // namespace dryrig
