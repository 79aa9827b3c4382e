// Reads cues, chooses and frames shots as planner does, but weighs the pictures of the coming two seconds against the camera's
// jerk and hands out the first bit of the best way.
//   [X] pointing, a raised object, hands at work, face to the front     [X] closer, wider, from above, level, look at NAME
//   [X] rides out noise, latency, lost hands and short losses of all     [X] keeps its distance from the person, also on the way
//   [ ] does not foresee the next shot                                   [ ] one instructor: whom the tracker follows
#include <memory>

#include "policies/horizon_path.h"
#include "policies/makers.h"
#include "policies/params.h"
#include "policies/posture_seeker.h"
#include "policies/shot_reader.h"
#include "policies/wished_view.h"

namespace dryrig {

namespace {

constexpr int kRoundsAtCut = 3;

struct HorizonConfig {
  ShotChoiceConfig choice;
  ViewTuning view;
  WishConfig wish;
  HorizonTuning path;
  double travel_price = 0.8;
  double foresight_s = 0.45;

  void Visit(auto&& v) {
    choice.Visit(v);
    view.Visit(v);
    wish.Visit(v);
    path.Visit(v);
    v("travel_price", "1/s", travel_price, 0, 10, "squared tolerances that a second of travel is worth between shots");
    v("foresight_s", "s", foresight_s, 0, 2, "how far ahead moving hands and head are kept clear of");
  }
};

class Horizon : public Policy {
 public:
  explicit Horizon(const HorizonConfig& config) : config_(config), reader_(config.choice), view_(config.wish) {}

 private:
  void DoBackToOne(const Stage& stage, uint64_t) override {
    reader_.Reset(stage);
    view_.Reset(stage);
    solver_ = std::make_unique<ViewSolver>(stage, config_.view);
    seeker_.Reset(*solver_, config_.travel_price);
    path_.Reset(*solver_, stage, config_.path);
  }

  Move DoDecide(const Observation& seen) override {
    const Shot& shot = reader_.Update(seen);
    const SceneFilter& scene = reader_.scene();
    const WantedPicture& picture = view_.Update(seen, scene, shot, reader_.hands());
    GuessPerson(scene, config_.foresight_s, &outlook_.people[0]);
    const Eigen::VectorXd own = path_.q();
    const Eigen::VectorXd& q = own.size() > 0 ? own : seen.arm.q;
    const bool another = seeker_.Seek(picture, outlook_.people[0], q, seen.t_s, view_.cut(), !path_.travelling());
    if (another) path_.Plan(seeker_.goal().q, outlook_.people[0]);
    Foresee(picture);

    Move move;
    move.motion = JointTarget{path_.Step(seen.arm.q, seeker_.goal().q, outlook_, another ? kRoundsAtCut : 1, scene.dt_s())};
    move.focus_m = view_.Focus_m(seen, scene, reader_.hands());
    move.focal_m = solver_->FocalFor(picture, view_.Depth_m(seen));
    move.chosen = shot;
    return move;
  }

  void Foresee(const WantedPicture& picture) {
    for (size_t k = 0; k < outlook_.pictures.size(); ++k) {
      outlook_.pictures[k] = picture;
      if (k > 0) outlook_.people[k] = outlook_.people[0];
    }
  }

  HorizonConfig config_;
  ShotReader reader_;
  WishedView view_;
  std::unique_ptr<ViewSolver> solver_;
  PostureSeeker seeker_;
  HorizonPath path_;
  Outlook outlook_;
};

}  // namespace

std::unique_ptr<Policy> MakeHorizon(const ParamValues& values) {
  return std::make_unique<Horizon>(MakeConfig<HorizonConfig>(values));
}
std::vector<ParamInfo> HorizonParams() {
  return DescribeParams<HorizonConfig>();
}

}  // namespace dryrig
