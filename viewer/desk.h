#pragma once

#include <cmath>
#include <string>

#include "viewer/fonts.h"
#include "viewer/layout.h"
#include "viewer/pictures.h"
#include "viewer/places.h"
#include "viewer/session.h"
#include "viewer/settings.h"

namespace dryrig {

/// What stands in front of everything else.
enum class Dialog { kNone, kOpen, kHelp, kSave, kProblem };

/// What belongs to the window alone and is gone with it.
struct Front {
  Dialog dialog = Dialog::kNone;
  std::string path, save_path;                               // as typed
  std::vector<std::pair<std::string, std::string>> lessons;  // shipped, with their titles
  std::string save_said;                                     // what came of saving
  bool save_failed = false, may_replace = false;
  int params_slot = kFirst, room_slot = kFirst;
  int body = -1, body_slot = kFirst;  // chosen with the mouse
  double from_s = 0, to_s = 0;        // of the time line in view; to_s 0: all of it
  bool scrubbing = false;
  bool turned = false;   // the room was moved by hand, now or when the settings were kept
  bool hurried = false;  // shadows are left out, since the picture moves and frames come late
  size_t next_worst = 0;
  std::string note;  // at the foot, until the next one
};

/// All that the panels draw from and act on.
struct Desk {
  Session session;
  Settings settings;
  Front front;
  Fonts fonts;
  Layout layout;
  Places places;
  Pictures pictures;
  float scale = 1;   // ImGui's coordinates a unit
  float pixels = 1;  // of the frame buffer a coordinate

  float Units(float n) const { return std::round(n * scale); }
  /// The take in a slot and the frame that the cursor shows of it. @pre the slot is filled
  const std::shared_ptr<const FilmedTake>& Filmed(int slot) const { return session.slot(slot).filmed; }
  size_t Frame(int slot) const { return FrameAt(Filmed(slot)->take, session.transport.t_s); }
  /// Puts the cursor there and stops what plays.
  void JumpTo(double t_s) {
    session.transport.speed = 0;
    session.transport = Scrub(session.transport, t_s, session.reel());
  }
};

/// Each draws one panel in its rectangle of the layout and does what is pressed there.
void DrawHead(Desk& desk);
void DrawWeak(Desk& desk);
void DrawLenses(Desk& desk);
void DrawMoment(Desk& desk);
void DrawRoom(Desk& desk);
void DrawNext(Desk& desk);
void DrawTransport(Desk& desk);
void DrawTimeLine(Desk& desk);
void DrawCaution(Desk& desk);
void DrawDialogs(Desk& desk);

/// Puts a metric on the time line or takes it off, and jumps to its worst moment if asked.
void TogglePlot(Desk& desk, std::string_view metric);
void JumpToWorst(Desk& desk, std::string_view metric);
/// Opens what was named, from wherever it was named.
void OpenNamed(Desk& desk, const std::string& what, int slot = kFirst);

}  // namespace dryrig
