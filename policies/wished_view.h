#pragma once

#include <functional>
#include <span>

#include "policies/hand_view.h"
#include "policies/picture.h"
#include "policies/scene_filter.h"

namespace dryrig {

struct WishConfig {
  double calm_s = 0.7;
  double view_calm_s = 0.6;
  double hands_price = 0.015;
  double sharp_octaves = 0.5;

  void Visit(auto&& v) {
    v("calm_s", "s", calm_s, 0.1, 5, "time to follow a small change of the subject");
    v("view_calm_s", "s", view_calm_s, 0.1, 5, "time to follow the torso's turning");
    v("hands_price", "1", hands_price, 0.01, 10, "share of the hands' landmarks that 15 deg off the wanted angle is worth");
    v("sharp_octaves", "octaves", sharp_octaves, 0, 1,
      "most that hands are filmed smaller than asked so that more of them is sharp");
  }
};

/// The picture that a shot wants at each tick: follows the subject calmly, turns to where the hands show, leaves room for the
/// depth of field, and says what to focus on. Where the camera goes for it is not its affair.
class WishedView {
 public:
  explicit WishedView(const WishConfig& config) : config_(config) {}

  void Reset(const Stage& stage);
  /// Once a control tick. A shot equal to the last one is held, any other is cut to.
  const WantedPicture& Update(const Observation& seen, const SceneFilter& scene, const Shot& shot, const HandsInUse& hands);
  /// The pictures that will be wanted so many seconds from now, ascending, when what is filmed will have gone by `shift_W` of
  /// them.
  void Foresee(std::span<const double> after_s, const std::function<Eigen::Vector3d(double)>& shift_W,
               std::span<WantedPicture> out) const;
  /// The last Update began another shot.
  bool cut() const { return cut_; }
  /// Of the last Update.
  const WantedPicture& picture() const { return picture_; }
  /// The subject as followed.
  const CalmSubject& subject() const { return subject_; }
  /// Of the subject, from the camera as it stands.
  double Depth_m(const Observation& seen) const;
  /// Where to focus now, calmly. Once a tick, after Update.
  double Focus_m(const Observation& seen, const SceneFilter& scene, const HandsInUse& hands);

 private:
  double SharpShare(const Observation& seen, const SceneFilter& scene, const WantedPicture& picture,
                    const HandsInUse& hands) const;
  double FocusDepth(const Observation& seen, const SceneFilter& scene, const HandsInUse& hands) const;

  WishConfig config_;
  const Stage* stage_ = nullptr;
  CalmSubject subject_;
  HandView hand_view_;
  Eigen::Quaterniond q_WT_ = Eigen::Quaterniond::Identity();  // heading that views are asked from
  Shot shot_;
  WantedPicture picture_;
  SubjectGeometry measured_;
  double frame_m_ = 1, dt_s_ = 0;  // height of the wanted frame at the subject; of the last Update
  double focus_m_ = 1, wider_ = 1;
  bool started_ = false, cut_ = false;
};

}  // namespace dryrig
