// Reads cues and sentences, chooses a shot, and moves the arm to the posture that minimises the cost of its view.
//   [X] pointing, a raised object, hands at work, face to the front     [X] closer, wider, from above, level, look at NAME
//   [X] rides out noise, latency, lost hands and short losses of all     [X] keeps its distance from the person, also on the way
//   [ ] does not foresee the next shot                                   [ ] one instructor: whom the tracker follows
#include "policies/camera_operator.h"
#include "policies/makers.h"
#include "policies/params.h"
#include "policies/shot_reader.h"

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
  explicit Planner(const PlannerConfig& config) : reader_(config.choice), operator_(config.camera) {}

 private:
  void DoBackToOne(const Stage& stage, uint64_t) override {
    reader_.Reset(stage);
    operator_.Reset(stage);
  }

  Move DoDecide(const Observation& seen) override {
    const Shot& shot = reader_.Update(seen);
    return operator_.Film(seen, reader_.scene(), shot, reader_.hands());
  }

  ShotReader reader_;
  CameraOperator operator_;
};

}  // namespace

std::unique_ptr<Policy> MakePlanner(const ParamValues& values) {
  return std::make_unique<Planner>(MakeConfig<PlannerConfig>(values));
}
std::vector<ParamInfo> PlannerParams() {
  return DescribeParams<PlannerConfig>();
}

}  // namespace dryrig
