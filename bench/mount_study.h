#pragma once

#include <array>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "bench/mount_grid.h"
#include "scenes/stage.h"
#include "sim/performance.h"
#include "sim/subject.h"
#include "sim/take.h"

namespace dryrig {

/// What became of a view that a lesson intends: seen, or the last thing in its way.
enum class ViewFate { kSeen, kOutOfReach, kStrikes, kTooNear, kHidden };
inline constexpr std::array<std::string_view, 5> kFateWords{"seen", "out of reach", "strikes", "too near", "hidden"};

/// A moment of a lesson with what is to be shown then.
struct IntendedView {
  TakeFrame frame;  // person and props; links are the mount's matter
  Shot shot;
  std::vector<SubjectSample> samples;
  SubjectGeometry subject;
  WantedView wanted;
};

/// The views that a lesson intends, as one person performs it: two moments of every intent.
class LessonViews {
 public:
  /// Camera on the arm on the bench as they are; the mount is chosen per try. @throws InputError as RunTake and Performance.
  LessonViews(const Lesson& lesson, const Stage& stage, const PersonSpec& person, uint64_t seed);

  const std::vector<IntendedView>& views() const { return views_; }
  /// Fate of each view from a mount. A view is seen when some posture within the joints' limits, less than 20 mm and 3° off a
  /// camera pose that shows the subject as large as asked, at the asked angle or 12° beside it (under the scorecard's tolerance),
  /// keeps arm and camera `clearance_m` from the person, 20 mm from bench and what stands on it, and out of itself, and at least
  /// 70 % of the subject's points that can be seen from there are.
  std::vector<ViewFate> FatesFrom(const MountPlace& place, double clearance_m) const;

 private:
  Take still_;  // all that stands still, no frames
  ArmModel arm_;
  std::vector<IntendedView> views_;
};

/// Views of one mount by fate.
struct MountScore {
  std::array<int, kFateWords.size()> by_fate{};
  int views() const;
  double seen() const;  // share
};

}  // namespace dryrig
