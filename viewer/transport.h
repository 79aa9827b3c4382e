#pragma once

#include <span>
#include <vector>

namespace dryrig {

/// What the transport's keys ask for. The first three are held keys, the others strokes.
enum class TransportKey {
  kBack,
  kStop,
  kForward,
  kPlayOrStop,
  kFrameBack,
  kFrameForward,
  kSecondBack,
  kSecondForward,
  kStart,
  kEnd,
  kBeatBack,
  kBeatForward,
};

struct TransportEvent {
  TransportKey key;
  bool down = true;
  bool repeat = false;  // sent by the keyboard while the key is held
};

/// What the transport moves over: frames at i / frame_hz up to length_s, and places to jump to, in order.
struct Reel {
  double length_s = 0;
  double frame_hz = 30;
  std::vector<double> marks_s;
};

/// Where the cursor is and how it moves.
struct Transport {
  double t_s = 0;    // [0, length]
  double speed = 0;  // seconds of the lesson a second; negative: backwards; 0: stands
  bool back_held = false, stop_held = false, forward_held = false;
  bool operator==(const Transport&) const = default;
};

/// The next state after these events and then dt_s of the wall clock. As editing desks have it: J and L play back and forth,
/// struck again 2, 4 and 8 times as fast; K stops; K held with J or L is slow motion at a quarter, and ends with either key.
/// Steps to a frame, second or beat stop what plays. Either end stops it; playing from the end starts over.
Transport Advance(Transport now, std::span<const TransportEvent> events, double dt_s, const Reel& reel);

/// The cursor put there by hand; speed and held keys stay.
Transport Scrub(Transport now, double t_s, const Reel& reel);

/// Number of the frame that is shown at t_s: the last one that has begun. @pre frame_hz > 0
int FrameNumber(double t_s, double frame_hz);

}  // namespace dryrig
