// Reads cues, chooses and frames shots as planner does, but weighs the pictures of the coming two seconds against the camera's
// jerk and hands out the first bit of the best way.
//   [X] foresees hands that reach for a prop (minimum jerk)   [X] inside joint position, speed, acceleration and jerk limits
//   [X] rides out noise, latency and lost hands               [X] keeps its distance from where the person will be
//   [ ] does not foresee the next shot                        [ ] one instructor: whom the tracker follows
//   [ ] no bound on how fast the picture pans
#include <memory>

#include "policies/horizon_path.h"
#include "policies/makers.h"
#include "policies/params.h"
#include "policies/person_forecast.h"
#include "policies/posture_seeker.h"
#include "policies/shot_reader.h"
#include "policies/wished_view.h"

namespace dryrig {

namespace {

constexpr int kRoundsAtCut = 3;
constexpr double kToldMove_m = 0.03;  // a reach that goes on for less than this takes no more room

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
    forecast_.Reset();
    solver_ = std::make_unique<ViewSolver>(stage, config_.view);
    seeker_.Reset(*solver_, config_.travel_price);
    path_.Reset(*solver_, stage, config_.path);
  }

  Move DoDecide(const Observation& seen) override {
    const Shot& shot = reader_.Update(seen);
    const SceneFilter& scene = reader_.scene();
    const WantedPicture& picture = view_.Update(seen, scene, shot, reader_.hands());
    GuessPerson(scene, config_.foresight_s, &outlook_.people[0]);
    const Eigen::VectorXd own = path_.now().q;
    const Eigen::VectorXd& q = own.size() > 0 ? own : seen.arm.q;
    const bool another = seeker_.Seek(picture, outlook_.people[0], q, seen.t_s, view_.cut(), !path_.travelling());
    if (another) path_.Plan(seeker_.goal().q, outlook_.people[0]);
    forecast_.Update(scene);
    Foresee(shot);

    Move move;
    move.motion = JointTarget{path_.Step(seen.arm.q, seeker_.goal().q, outlook_, another ? kRoundsAtCut : 1, scene.dt_s())};
    move.focus_m = view_.Focus_m(seen, scene, reader_.hands());
    move.focal_m = solver_->FocalFor(picture, view_.Depth_m(seen));
    move.chosen = shot;
    return move;
  }

  // Where what is filmed will have gone: with the hands that reach, a prop or a face for a moment at its present speed.
  Eigen::Vector3d SubjectShift_W(const Shot& shot, double after_s) const {
    const HandsInUse& hands = reader_.hands();
    const Subject& subject = shot.subjects.front();
    Eigen::Vector3d shift_W = Eigen::Vector3d::Zero();
    if (subject.kind == SubjectKind::kFace) return forecast_.HeadShift_W(after_s);
    if (subject.kind != SubjectKind::kHands) return shift_W;
    const bool none = !hands[kLeft] && !hands[kRight], both = hands[kLeft] == hands[kRight];
    for (const Side side : {kLeft, kRight}) {
      if (none || hands[side]) shift_W += (both ? 0.5 : 1.0) * forecast_.ReachShift_W(side, after_s);
    }
    return shift_W;
  }

  void Foresee(const Shot& shot) {
    const JerkProgramme* programme = path_.programme();
    if (!programme) {
      outlook_.pictures.fill(view_.picture());
      outlook_.people.fill(outlook_.people[0]);
      return;
    }
    view_.Foresee(
        programme->ends_s(), [&](double after_s) { return SubjectShift_W(shot, after_s); }, outlook_.pictures);
    for (size_t k = 1; k < outlook_.people.size(); ++k) {
      outlook_.people[k] = outlook_.people[0];
      for (const Side side : {kLeft, kRight}) {
        const Eigen::Vector3d shift_W = forecast_.ReachShift_W(side, programme->ends_s()[k]);
        if (shift_W.norm() < kToldMove_m) continue;
        const SceneFilter& scene = reader_.scene();
        const Eigen::Vector3d elbow_W = scene.p_W(side == kLeft ? kElbowL : kElbowR);
        const Eigen::Vector3d wrist_W = scene.p_W(HandPoint(side, 0)), middle_W = scene.p_W(HandPoint(side, 12));
        outlook_.people[k].capsules.push_back({wrist_W + shift_W, middle_W + shift_W, 0.06, false});
        outlook_.people[k].capsules.push_back({elbow_W + 0.5 * shift_W, wrist_W + shift_W, 0.045, false});
      }
    }
  }

  HorizonConfig config_;
  ShotReader reader_;
  WishedView view_;
  std::unique_ptr<ViewSolver> solver_;
  PostureSeeker seeker_;
  HorizonPath path_;
  PersonForecast forecast_;
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
