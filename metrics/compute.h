#pragma once

#include "metrics/metric.h"

namespace dryrig {

/// Every metric's computation, by the file that holds it; table.cpp gives each its name and unit.

// hand_visibility.cpp
Score HandVisibility(const Footage& footage);
Score LongestBlind(const Footage& footage);
Score HandDetail(const Footage& footage);

// framing_error.cpp
Score FramingError(const Footage& footage);
Score CompositionError(const Footage& footage);
Score SizeError(const Footage& footage);
Score AngleError(const Footage& footage);
Score FacingError(const Footage& footage);
Score OffSubject(const Footage& footage);

// jerk.cpp
Score Jerk(const Footage& footage);
Score JerkMoving(const Footage& footage);
Score JerkP99(const Footage& footage);
Score AngularJerk(const Footage& footage);
Score LogJerkOfMoves(const Footage& footage);
Score ArcLengthOfMoves(const Footage& footage);

// image_shake.cpp
Score ImageShake(const Footage& footage);

// occlusion.cpp
Score Occlusion(const Footage& footage);
Score Outside(const Footage& footage);
Score Clear(const Footage& footage);
Score OccludedByOwnArm(const Footage& footage);
Score OccludedByHead(const Footage& footage);
Score OccludedByTorso(const Footage& footage);
Score OccludedByOtherHand(const Footage& footage);
Score OccludedBySameHand(const Footage& footage);
Score OccludedByProp(const Footage& footage);
Score OccludedByBench(const Footage& footage);
Score OccludedByRobot(const Footage& footage);

// closest_approach.cpp
Score ClosestApproach(const Footage& footage);
Score ClosestApproachP5(const Footage& footage);
Score ApproachSpeed(const Footage& footage);
Score SeparationMargin(const Footage& footage);

// contact.cpp
Score ContactSpeedMargin(const Footage& footage);
Score Contacts(const Footage& footage);
Score Startles(const Footage& footage);
Score ContactForce(const Footage& footage);

// response.cpp
Score Response(const Footage& footage);
Score ResponseMissed(const Footage& footage);

// cue_reading.cpp
Score CuePrecision(const Footage& footage);
Score CueRecall(const Footage& footage);
Score CueDelay(const Footage& footage);

// camera_motion.cpp
Score Roll(const Footage& footage);
Score PanSpeed(const Footage& footage);
Score ZoomRate(const Footage& footage);

// focus.cpp
Score InFocus(const Footage& footage);

// arm_health.cpp
Score JointLimitMargin(const Footage& footage);
Score JointSpeedMargin(const Footage& footage);
Score Singularity(const Footage& footage);
Score ServoError(const Footage& footage);
Score TorqueSaturation(const Footage& footage);
Score Unreachable(const Footage& footage);

}  // namespace dryrig
