#pragma once

#include <vector>

#include "policies/outside/wire.h"

namespace dryrig {

/// An observation that owns its parts, the stage aside.
struct Seen {
  double t_s = 0;
  TrackedPerson person;
  std::vector<TrackedProp> props;
  std::vector<HeardSentence> heard;
  ArmState arm;
  LensState lens;

  Seen() = default;
  explicit Seen(const Observation& seen)
      : t_s(seen.t_s),
        person(seen.person),
        props(seen.props.begin(), seen.props.end()),
        heard(seen.heard.begin(), seen.heard.end()),
        arm(seen.arm),
        lens(seen.lens) {}
  /// Valid as long as both are.
  Observation View(const Stage& stage) const { return {t_s, person, props, heard, arm, lens, stage}; }
};

template <class A>
void Fields(A& a, Seen& v) {
  a(v.t_s, v.person, v.props, v.heard, v.arm, v.lens);
}

}  // namespace dryrig
