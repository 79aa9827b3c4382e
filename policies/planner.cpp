// Reads cues and sentences, chooses a shot, and moves the arm to the posture that minimises the cost of its view.
//   [X] pointing, a raised object, hands at work, face to the front     [X] closer, wider, from above, level, look at NAME
//   [X] rides out noise, latency, lost hands and short losses of all     [X] keeps its distance from the person, also on the way
//   [ ] does not foresee the next shot                                   [ ] one instructor: whom the tracker follows
#include "policies/camera_operator.h"
#include "policies/cues.h"
#include "policies/makers.h"
#include "policies/params.h"
#include "policies/sentences.h"
#include "policies/shot_choice.h"

namespace dryrig {

namespace {

struct PlannerConfig {
  ShotChoiceConfig choice;
  OperatorConfig camera;

  void Visit(auto&& v) {
    choice.Visit(v);
    camera.Visit(v);
  }
};

class Planner : public Policy {
 public:
  explicit Planner(const PlannerConfig& config) : chooser_(config.choice), operator_(config.camera) {}

 private:
  void DoBackToOne(const Stage& stage, uint64_t) override {
    scene_.Reset(stage);
    cues_.Reset(stage);
    chooser_.Reset();
    operator_.Reset(stage);
    heard_ = 0;
  }

  Move DoDecide(const Observation& seen) override {
    scene_.Update(seen);
    const Cues& cues = cues_.Update(scene_);
    std::vector<ShotChooser::Heard> heard;
    for (; heard_ < seen.heard.size(); ++heard_) {
      std::vector<std::string> names;
      for (const TrackedProp& prop : seen.props) names.push_back(prop.name);
      const Ask ask = ReadSentence(seen.heard[heard_].text, names);
      heard.push_back({ask, cues.working && UnderHands(ask.look_at)});
    }
    return operator_.Film(seen, scene_, chooser_.Update(seen.t_s, cues, heard), cues.hands);
  }

  // Some landmark of a hand is right over it.
  bool UnderHands(const std::string& name) const {
    const int i = scene_.FindProp(name);
    if (i < 0) return false;
    const auto& prop = scene_.props()[static_cast<size_t>(i)];
    for (int point = kHandL; point < kNumBodyPoints; ++point) {
      if ((scene_.p_W(point) - prop.p_WP).head<2>().norm() < 0.4 * prop.extent_m) return true;
    }
    return false;
  }

  SceneFilter scene_;
  CueReader cues_;
  ShotChooser chooser_;
  CameraOperator operator_;
  size_t heard_ = 0;
};

}  // namespace

std::unique_ptr<Policy> MakePlanner(const ParamValues& values) {
  return std::make_unique<Planner>(MakeConfig<PlannerConfig>(values));
}
std::vector<ParamInfo> PlannerParams() {
  return DescribeParams<PlannerConfig>();
}

}  // namespace dryrig
