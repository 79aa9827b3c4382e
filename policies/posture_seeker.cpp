#include "policies/posture_seeker.h"

namespace dryrig {

namespace {

constexpr double kSearchEvery_s = 1.0;  // a poor shot is sought anew so often
constexpr double kPoor = 0.3;           // squared tolerances from which on a shot is poor
constexpr double kGain = 0.15;          // squared tolerances by which a new posture must be better
constexpr double kLosing = 2.5;         // squared tolerances a second of travel must be worth when it breaks into a shot
constexpr int kHoldSteps = 2;

}  // namespace

void PostureSeeker::Reset(const ViewSolver& solver, double travel_price) {
  *this = PostureSeeker();
  solver_ = &solver;
  travel_price_ = travel_price;
}

bool PostureSeeker::Seek(const WantedPicture& picture, const PersonGuess& person, const Eigen::VectorXd& q, double t_s, bool cut,
                         bool settled) {
  const bool poor = goal_.cost > kPoor && t_s - searched_s_ > kSearchEvery_s && settled;
  if (!cut && !poor) {
    goal_ = solver_->Improve(picture, person, goal_.q, goal_.q, kHoldSteps);
    return false;
  }
  searched_s_ = t_s;
  const ViewSolver::Result found = solver_->Search(picture, person, q, travel_price_);
  if (!cut && !(found.cost + kLosing * solver_->Travel_s(q, found.q) < goal_.cost - kGain)) return false;
  goal_ = found;
  return true;
}

}  // namespace dryrig
