// Knows every intent beforehand and films it with the planner's own hands. A yardstick, not a bound: it sees no better than
// others.
//   [X] right shot at the right time, on its way before the cue is complete     [X] keeps its distance from the person
//   [ ] not deployable: reads the scoring key                                    [ ] tracked points are as noisy and late as for
//   all
#include <algorithm>

#include "policies/camera_operator.h"
#include "policies/cues.h"
#include "policies/makers.h"
#include "policies/params.h"

namespace dryrig {

namespace {

struct ReferenceConfig {
  double lead_s = 0.1;
  double free_lead_s = 1.5;
  OperatorConfig camera;

  // Frames what is asked rather than what shows most of the hands.
  ReferenceConfig() { camera.wish.hands_price = 0.06; }

  void Visit(auto&& v) {
    v("lead_s", "s", lead_s, 0, 3, "how long before an intent begins its shot is cut to while another intent runs");
    v("free_lead_s", "s", free_lead_s, 0, 10, "the same while no intent runs");
    camera.Visit(v);
  }
};

class Reference : public Policy {
 public:
  explicit Reference(const ReferenceConfig& config) : config_(config), operator_(config.camera) {}
  bool deployable() const override { return false; }
  void ReadKey(const std::vector<TimedIntent>& intents) override { intents_ = intents; }

 private:
  void DoBackToOne(const Stage& stage, uint64_t) override {
    scene_.Reset(stage);
    cues_.Reset(stage);
    operator_.Reset(stage);
    intents_.clear();
    shot_ = Shot{{Subject{SubjectKind::kFace, ""}}, ShotSize::kMedium, ShotAngle::kEyeLevel};
  }

  Move DoDecide(const Observation& seen) override {
    scene_.Update(seen);
    const Cues& cues = cues_.Update(scene_);
    bool running = false;
    for (const TimedIntent& intent : intents_) running = running || (seen.t_s >= intent.start_s && seen.t_s < intent.end_s);
    for (const TimedIntent& intent : intents_) {
      if (seen.t_s + (running ? config_.lead_s : config_.free_lead_s) >= intent.start_s) shot_ = intent.shot;
    }
    return operator_.Film(seen, scene_, shot_, cues.hands);
  }

  ReferenceConfig config_;
  SceneFilter scene_;
  CueReader cues_;
  CameraOperator operator_;
  std::vector<TimedIntent> intents_;
  Shot shot_;
};

}  // namespace

std::unique_ptr<Policy> MakeReference(const ParamValues& values) {
  return std::make_unique<Reference>(MakeConfig<ReferenceConfig>(values));
}
std::vector<ParamInfo> ReferenceParams() {
  return DescribeParams<ReferenceConfig>();
}

}  // namespace dryrig
