// A library of policies that go wrong, each in its own way, one second into the take, and one that does not.
#include <unistd.h>

#include <csignal>
#include <cstdio>
#include <limits>
#include <stdexcept>

#include "policies/outside/own_policy.h"

using namespace dryrig;

namespace {

/// Holds the posture it begins with.
class Still : public Policy {
 protected:
  virtual void Spoil(Move*) {}

 private:
  void DoBackToOne(const Stage& stage, uint64_t) override { q_ = stage.arm.home, focal_m_ = stage.camera.focal_min_m; }
  Move DoDecide(const Observation& seen) override {
    Move move{JointTarget{q_}, focal_m_, 1, {}};
    if (seen.t_s >= 1) Spoil(&move);
    return move;
  }
  Eigen::VectorXd q_;
  double focal_m_ = 0;
};

struct Sleeper : Still {
  void Spoil(Move*) override { sleep(5); }
};
struct Thrower : Still {
  void Spoil(Move*) override { throw std::runtime_error("lost my bearings"); }
};
struct Nan : Still {
  void Spoil(Move* move) override { std::get<JointTarget>(move->motion).q[2] = std::numeric_limits<double>::quiet_NaN(); }
};
struct Short : Still {
  void Spoil(Move* move) override { move->motion = JointTarget{Eigen::VectorXd::Zero(2)}; }
};
struct BeyondJoint : Still {
  void Spoil(Move* move) override { std::get<JointTarget>(move->motion).q[1] = 50; }
};
struct BeyondLens : Still {
  void Spoil(Move* move) override { move->focal_m = 0.5; }
};
struct Skewed : Still {
  void Spoil(Move* move) override {
    CameraTarget target;
    target.X_WC.linear() *= 2;
    move->motion = target;
  }
};
struct Crasher : Still {
  void Spoil(Move*) override { raise(SIGSEGV); }
};
struct Quitter : Still {
  void Spoil(Move*) override { _exit(7); }
};
struct Chatterer : Still {
  void Spoil(Move*) override { std::puts("a word on standard output"), std::fflush(stdout); }
};

struct BadConfig {
  double level = 0.5;
  void Visit(auto&& v) { v("level", "1", level, 0, 1, "of nothing"); }
};
struct Config : Still {
  explicit Config(const BadConfig&) {}
};

}  // namespace

DRYRIG_POLICIES(policies) {
  policies.Add<Still>("still", "stands");
  policies.Add<Config, BadConfig>("with-config", "stands, and has a parameter");
  policies.Add<Sleeper>("sleeper", "sleeps 5 s");
  policies.Add<Thrower>("thrower", "throws");
  policies.Add<Nan>("nan", "says NaN");
  policies.Add<Short>("short", "has too few joints");
  policies.Add<BeyondJoint>("beyond-joint", "asks for a posture beyond the limits");
  policies.Add<BeyondLens>("beyond-lens", "asks for a focal length that the lens has not");
  policies.Add<Skewed>("skewed", "asks for a rotation that is none");
  policies.Add<Crasher>("crasher", "crashes");
  policies.Add<Quitter>("quitter", "leaves");
  policies.Add<Chatterer>("chatterer", "prints");
}
