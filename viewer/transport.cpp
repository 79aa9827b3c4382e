#include "viewer/transport.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

constexpr double kFastest = 8, kSlowMotion = 0.25;
constexpr double kFrameSlack = 1e-6;     // frames; a time computed as i / rate is frame i
constexpr double kLongestStep_s = 0.25;  // a window that stood still for longer goes on where it was

/// Speed after J (direction -1) or L (+1) was struck.
double Struck(double speed, double direction) {
  if (speed * direction < 1) return direction;
  return direction * std::min(2 * std::abs(speed), kFastest);
}

void StepTo(Transport* now, double t_s) {
  now->t_s = t_s;
  now->speed = 0;
}

void Apply(const TransportEvent& event, const Reel& reel, Transport* now) {
  const int frame = FrameNumber(now->t_s, reel.frame_hz);
  const bool struck = event.down && !event.repeat;
  switch (event.key) {
    case TransportKey::kBack:
    case TransportKey::kForward: {
      const bool back = event.key == TransportKey::kBack;
      const double direction = back ? -1 : 1;
      (back ? now->back_held : now->forward_held) = event.down;
      if (struck) {
        now->speed = now->stop_held ? direction * kSlowMotion : Struck(now->speed, direction);
        if (!back && !now->stop_held && now->t_s >= reel.length_s) now->t_s = 0;
      } else if (!event.down && now->stop_held) {
        now->speed = 0;
      }
      return;
    }
    case TransportKey::kStop:
      now->stop_held = event.down;
      if (struck) now->speed = now->forward_held ? kSlowMotion : now->back_held ? -kSlowMotion : 0;
      if (!event.down) now->speed = 0;
      return;
    default:
      break;
  }
  if (!event.down) return;
  const auto& marks = reel.marks_s;
  switch (event.key) {
    case TransportKey::kPlayOrStop:
      if (event.repeat) return;
      if (now->speed == 0 && now->t_s >= reel.length_s) now->t_s = 0;
      now->speed = now->speed == 0 ? 1 : 0;
      return;
    case TransportKey::kFrameBack:
      return StepTo(now, (frame - 1) / reel.frame_hz);
    case TransportKey::kFrameForward:
      return StepTo(now, (frame + 1) / reel.frame_hz);
    case TransportKey::kSecondBack:
      return StepTo(now, now->t_s - 1);
    case TransportKey::kSecondForward:
      return StepTo(now, now->t_s + 1);
    case TransportKey::kStart:
      return StepTo(now, 0);
    case TransportKey::kEnd:
      return StepTo(now, reel.length_s);
    case TransportKey::kBeatBack: {
      const auto at = std::lower_bound(marks.begin(), marks.end(), now->t_s - kFrameSlack);
      return StepTo(now, at == marks.begin() ? 0 : *std::prev(at));
    }
    case TransportKey::kBeatForward: {
      const auto at = std::upper_bound(marks.begin(), marks.end(), now->t_s + kFrameSlack);
      return StepTo(now, at == marks.end() ? reel.length_s : *at);
    }
    default:
      return;
  }
}

}  // namespace

int FrameNumber(double t_s, double frame_hz) {
  return static_cast<int>(std::floor(t_s * frame_hz + kFrameSlack));
}

Transport Scrub(Transport now, double t_s, const Reel& reel) {
  now.t_s = std::clamp(t_s, 0.0, std::max(0.0, reel.length_s));
  return now;
}

Transport Advance(Transport now, std::span<const TransportEvent> events, double dt_s, const Reel& reel) {
  for (const TransportEvent& event : events) {
    Apply(event, reel, &now);
    now = Scrub(now, now.t_s, reel);
  }
  if (now.speed == 0) return now;
  const double wish_s = now.t_s + now.speed * std::clamp(dt_s, 0.0, kLongestStep_s);
  now = Scrub(now, wish_s, reel);
  if (now.t_s != wish_s) now.speed = 0;
  return now;
}

}  // namespace dryrig
