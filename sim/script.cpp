#include "sim/script.h"

#include <algorithm>

#include "sim/director.h"

namespace dryrig {

namespace {
constexpr double kIntentLeast_s = 3;
}  // namespace

std::vector<TimedIntent> LayIntents(const std::vector<Cue>& cues) {
  std::vector<TimedIntent> out;
  for (const Cue& cue : cues) {
    double start = cue.start_s;
    if (!out.empty()) {
      start = std::max(start, out.back().start_s + kIntentLeast_s);
      out.back().end_s = std::min(out.back().end_s, start);
    }
    out.push_back({start, std::max(cue.beat_end_s, start + kIntentLeast_s), *cue.shot, cue.beat});
  }
  return out;
}

Script WriteScript(const Lesson& lesson, const Bench& bench, const PersonSpec& person, const PersonBuild& build, uint64_t seed) {
  Script script;
  Director(lesson, bench, person, build, seed, &script).Play();
  constexpr double kDeg = 0.017453292519943295;
  // Sway of a person who sits or stands at ease, a few millimetres (from memory); breath 12 to 18 a minute.
  RandomStream unrest(seed, "performance unrest");
  script.sway_x = Wander(unrest, 0.0020, 0.1, 0.45);
  script.sway_y = Wander(unrest, 0.0015, 0.1, 0.45);
  script.sway_lean = Wander(unrest, 0.2 * kDeg, 0.08, 0.4);
  script.sway_twist = Wander(unrest, 0.4 * kDeg, 0.06, 0.3);
  script.sway_roll = Wander(unrest, 0.2 * kDeg, 0.06, 0.3);
  script.breath = Wander(unrest, 0.0015, 0.2, 0.3);
  RandomStream tremor(seed, "performance tremor");
  // Physiological tremor: 50 to 200 µm RMS, 8 to 12 Hz; the total over three axes lies inside that band.
  const double per_axis = tremor.Uniform(45e-6, 85e-6);
  for (HandScript& hand : script.hands) {
    for (Wander& axis : hand.tremor) axis = Wander(tremor, per_axis, 8, 12);
  }
  return script;
}

}  // namespace dryrig
