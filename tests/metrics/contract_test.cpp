#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <set>

#include "scenes/error.h"
#include "tests/metrics/metric_contract.h"

namespace dryrig::testing {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

using Change = std::function<void(TakeBuilder&)>;
constexpr double kTurn = 2 * kPi;

/// Hands, then the face; an honest camera that stands right, drifts a little and answers within half a second.
TakeBuilder Honest() {
  TakeBuilder b;
  b.duration_s = 9;
  b.Ask(0, 5, HandsShot()).Ask(5, 9, FaceShot());
  const Eigen::Isometry3d hands = b.ViewOf(HandsShot()), face = b.ViewOf(FaceShot());
  b.camera = [=](double t_s) {
    const double u = std::clamp((t_s - 5) / 1.2, 0.0, 1.0), share = u * u * u * (10 - 15 * u + 6 * u * u);
    Eigen::Isometry3d X_WC = Eigen::Isometry3d::Identity();
    X_WC.linear() = Eigen::Quaterniond(hands.linear()).slerp(share, Eigen::Quaterniond(face.linear())).toRotationMatrix();
    X_WC.translation() = (1 - share) * hands.translation() + share * face.translation() +
                         Eigen::Vector3d(0.01 * std::sin(0.3 * kTurn * t_s), 0, 0);
    return X_WC;
  };
  b.lens = [=](double t_s) {
    return LensState{
        0.018, ((t_s < 5.2 ? hands : face).translation() - b.Subject(t_s < 5.2 ? HandsShot() : FaceShot()).centre_W).norm()};
  };
  b.chosen = [](double t_s) { return t_s < 5.3 ? HandsShot() : FaceShot(); };
  return b;
}

Change MoveCamera(const std::function<Eigen::Isometry3d(double)>& by) {
  return [=](TakeBuilder& b) { b.camera = [before = b.camera, by](double t_s) { return before(t_s) * by(t_s); }; };
}
Change Shake(double hz) {
  return MoveCamera([=](double t_s) {
    return Eigen::Isometry3d(Eigen::Translation3d(0.002 * std::sin(kTurn * hz * t_s), 0, 0) *
                             Eigen::AngleAxisd(0.002 * std::sin(kTurn * hz * t_s), Eigen::Vector3d::UnitX()));
  });
}
Change LookAside() {
  return MoveCamera([](double t_s) { return Eigen::Isometry3d(Eigen::AngleAxisd(t_s > 3 ? 2.5 : 0, Eigen::Vector3d::UnitY())); });
}
/// A box between camera and subject, at this share of the way.
Change Obstacle(double share, bool prop) {
  return [=](TakeBuilder& b) {
    const Eigen::Isometry3d X_WC = b.camera(0);
    const Eigen::Vector3d p = X_WC.translation() + share * (b.Subject(HandsShot()).centre_W - X_WC.translation());
    if (prop) {
      b.Place("box", Shape::Box({0.05, 0.05, 0.05}));
      b.prop = [=](size_t, double) { return Eigen::Isometry3d(Eigen::Translation3d(p)); };
    }
  };
}
/// Swings a capsule of the body across the line of sight: from `a`, through the hands' view.
Change BodyPartInView(int a, int b_point) {
  return [=](TakeBuilder& b) {
    const Eigen::Isometry3d X_WC = b.camera(0);
    const Eigen::Vector3d p = X_WC.translation() + 0.6 * (b.Subject(HandsShot()).centre_W - X_WC.translation());
    b.pose = [=](double, BodyPose* pose) {
      pose->p_W[static_cast<size_t>(a)] = p - Eigen::Vector3d(0.15, 0, 0);
      pose->p_W[static_cast<size_t>(b_point)] = p + Eigen::Vector3d(0.15, 0, 0);
    };
  };
}
Change Nearer(double least_m) {
  return [=](TakeBuilder& b) { b.distance = [=](double t_s) { return least_m + 0.1 * std::abs(t_s - 4); }; };
}
Change Touching(double mps) {
  return [=](TakeBuilder& b) {
    b.distance = [](double t_s) { return t_s > 4 && t_s < 4.2 ? -0.001 : 0.3; };
    b.approach = [=](double) { return mps; };
  };
}
Change Both(const Change& first, const Change& second) {
  return [=](TakeBuilder& b) { first(b), second(b); };
}
const Change kNothing = [](TakeBuilder&) {};

/// What makes the honest take good by a metric, and what spoils it.
struct Pair {
  Change good, bad;
};
const std::map<std::string_view, Pair>& Pairs() {
  const auto wide = MoveCamera([](double) { return Eigen::Isometry3d(Eigen::Translation3d(0, 0, -1.5)); });
  const auto rolled = MoveCamera([](double) { return Eigen::Isometry3d(Eigen::AngleAxisd(0.5, Eigen::Vector3d::UnitZ())); });
  // One long move whose speed swells and sinks twice a second.
  const auto stop_and_go = MoveCamera(
      [](double t_s) { return Eigen::Isometry3d(Eigen::Translation3d(0.05 * t_s + 0.003 * std::sin(kTurn * 2 * t_s), 0, 0)); });
  static const std::map<std::string_view, Pair> pairs{
      {"hand_visibility", {kNothing, Obstacle(0.7, true)}},
      {"longest_blind_s", {kNothing, LookAside()}},
      {"hand_detail", {kNothing, wide}},
      {"framing_error", {kNothing, wide}},
      {"composition_error",
       {kNothing, MoveCamera([](double) { return Eigen::Isometry3d(Eigen::AngleAxisd(0.1, Eigen::Vector3d::UnitY())); })}},
      {"size_error", {kNothing, wide}},
      {"angle_error_deg", {kNothing, rolled}},
      {"facing_error_deg", {kNothing, MoveCamera([](double) { return Eigen::Isometry3d(Eigen::Translation3d(0.4, 0, 0)); })}},
      {"off_subject", {kNothing, LookAside()}},
      {"jerk", {kNothing, Shake(6)}},
      {"jerk_moving", {kNothing, Shake(6)}},
      {"jerk_p99", {kNothing, Shake(6)}},
      {"angular_jerk", {kNothing, Shake(6)}},
      {"log_dimensionless_jerk", {kNothing, Shake(6)}},
      {"spectral_arc_length", {kNothing, stop_and_go}},
      {"image_shake", {kNothing, Shake(6)}},
      {"occlusion", {kNothing, Obstacle(0.7, true)}},
      {"outside", {kNothing, LookAside()}},
      {"clear", {kNothing, LookAside()}},
      {"occluded_by_own_arm", {kNothing, BodyPartInView(kShoulderL, kElbowL)}},
      {"occluded_by_head", {kNothing, BodyPartInView(kHeadLow, kHeadHigh)}},
      {"occluded_by_torso", {kNothing, BodyPartInView(kPelvis, kLumbar)}},
      {"occluded_by_other_hand",
       {kNothing,
        [](TakeBuilder& b) {
          // The left hand is lifted into the view of the right one, which alone is in use.
          const Eigen::Vector3d to_camera = b.camera(0).translation() - b.person.pose.p_W[HandPoint(kRight, 9)];
          const Eigen::Vector3d by =
              b.person.pose.p_W[HandPoint(kRight, 9)] - b.person.pose.p_W[HandPoint(kLeft, 9)] + 0.15 * to_camera;
          b.pose = [=](double, BodyPose* pose) {
            pose->hand_in_use = {false, true};
            for (int i = 0; i < kHandLandmarks; ++i) pose->p_W[static_cast<size_t>(HandPoint(kLeft, i))] += by;
          };
        }}},
      {"occluded_by_same_hand",
       {kNothing,
        [](TakeBuilder& b) {  // fingers curled toward the camera: their tips stand before the knuckles
          const Eigen::Vector3d to_camera = (b.camera(0).translation() - b.person.pose.p_W[HandPoint(kRight, 9)]).normalized();
          b.pose = [=](double, BodyPose* pose) {
            for (const Side side : {kLeft, kRight}) {
              for (int finger = 1; finger < 5; ++finger) {
                const Eigen::Vector3d knuckle = pose->p_W[static_cast<size_t>(HandPoint(side, 4 * finger + 1))];
                for (int joint = 1; joint < 4; ++joint) {
                  pose->p_W[static_cast<size_t>(HandPoint(side, 4 * finger + 1 + joint))] = knuckle + 0.03 * joint * to_camera;
                }
              }
            }
          };
        }}},
      {"occluded_by_prop", {kNothing, Obstacle(0.7, true)}},
      {"occluded_by_bench",
       {kNothing,
        [](TakeBuilder& b) {  // hands under the bench
          b.pose = [](double, BodyPose* pose) {
            for (int i = kHandL; i < kNumBodyPoints; ++i) pose->p_W[static_cast<size_t>(i)].z() -= 0.2;
          };
        }}},
      {"occluded_by_robot", {kNothing, kNothing}},  // see SpoiltTake
      {"closest_approach", {kNothing, Nearer(0.05)}},
      {"closest_approach_p5", {kNothing, Nearer(0.05)}},
      {"approach_speed", {kNothing, Shake(4)}},
      {"separation_margin", {kNothing, Nearer(0.05)}},
      {"contact_speed_margin", {Nearer(0.3), Both(Nearer(0.3), [](TakeBuilder& b) { b.approach = [](double) { return 0.5; }; })}},
      {"contacts", {kNothing, Touching(0.1)}},
      {"startles", {kNothing, [](TakeBuilder& b) { b.startles = {{2.0, -Eigen::Vector3d::UnitY(), 0.2}}; }}},
      {"contact_force", {Touching(0.01), Touching(0.2)}},
      {"response_s", {kNothing, LookAside()}},
      {"response_missed", {kNothing, wide}},
      {"cue_precision", {kNothing, [](TakeBuilder& b) { b.chosen = [](double) { return HandsShot(); }; }}},
      {"cue_recall", {kNothing, [](TakeBuilder& b) { b.chosen = [](double) { return HandsShot(); }; }}},
      {"cue_delay_s", {kNothing, [](TakeBuilder& b) { b.chosen = [](double) { return HandsShot(); }; }}},
      {"roll_deg", {kNothing, rolled}},
      {"pan_speed", {kNothing, Shake(2)}},
      {"zoom_rate",
       {kNothing, [](TakeBuilder& b) { b.lens = [](double t_s) {
                                         return LensState{t_s < 3 ? 0.018 : 0.036, 1};
                                       }; }}},
      {"in_focus", {kNothing, [](TakeBuilder& b) { b.lens = [](double) {
                                                     return LensState{0.018, 0.25};
                                                   }; }}},
      {"joint_limit_margin", {kNothing, [](TakeBuilder& b) { b.q = [](double) { return Eigen::Vector2d(1.9, 0); }; }}},
      {"joint_speed_margin", {kNothing, [](TakeBuilder& b) { b.qd = [](double) { return Eigen::Vector2d(1.4, 0); }; }}},
      {"singularity", {kNothing, [](TakeBuilder& b) { b.manipulability = [](double) { return 1e-4; }; }}},
      {"servo_error_deg", {kNothing, [](TakeBuilder& b) { b.lag = [](double) { return Eigen::Vector2d(0.1, 0); }; }}},
      {"torque_saturation", {kNothing, [](TakeBuilder& b) { b.torque = [](double) { return Eigen::Vector2d(40, 0); }; }}},
      {"unreachable", {kNothing, [](TakeBuilder& b) { b.unreachable = [](double) { return true; }; }}},
  };
  return pairs;
}

Take GoodTake(std::string_view metric) {
  TakeBuilder b = Honest();
  Pairs().at(metric).good(b);
  return b.Build();
}
Take SpoiltTake(std::string_view metric) {
  TakeBuilder b = Honest();
  Pairs().at(metric).bad(b);
  Take take = b.Build();
  if (metric == "occluded_by_robot") {
    take.arm_bodies.push_back({0, {"boom", Shape::Box({0.1, 0.1, 0.01}), Eigen::Isometry3d(Eigen::Translation3d(0, 0, 0.3))}});
  }
  return take;
}

TEST(MetricContract, EveryMetricKeepsIt) {
  for (const Metric& metric : Metrics()) {
    ASSERT_TRUE(Pairs().contains(metric.name)) << metric.name << ": say what makes a take good and bad by it";
    EXPECT_THAT(CheckMetric(metric, GoodTake(metric.name), SpoiltTake(metric.name)), IsEmpty());
  }
}

TEST(MetricContract, NamesAreUniqueAndFindable) {
  std::set<std::string_view> names;
  for (const Metric& metric : Metrics()) {
    EXPECT_TRUE(names.insert(metric.name).second) << metric.name;
    EXPECT_EQ(&FindMetric(metric.name), &metric);
    EXPECT_GE(metric.step_tolerance.absolute, 0);
  }
  EXPECT_THAT([] { FindMetric("jrek"); }, ::testing::ThrowsMessage<InputError>(HasSubstr("\"jerk\"")));
}

// Twins of a metric, each broken in one way.
Score WrongSign(const Footage& footage) {
  Score score = FindMetric("framing_error").compute(footage);
  score.value = -*score.value;
  return score;
}
Score NotANumber(const Footage& footage) {
  Score score = FindMetric("framing_error").compute(footage);
  score.value = std::nan("");
  return score;
}
Score ShortSeries(const Footage& footage) {
  Score score = FindMetric("framing_error").compute(footage);
  score.series.values.pop_back();
  return score;
}
Score LooksAtWorldAxes(const Footage& footage) {
  Score score = FindMetric("framing_error").compute(footage);
  score.value = *score.value + 1e-6 * footage.take().frames[0].X_WC.translation().x() +
                1e-6 * footage.take().frames[0].X_WC.translation().y();
  return score;
}
Score AlwaysNull(const Footage& footage) {
  Score score = FindMetric("framing_error").compute(footage);
  score.value.reset();
  score.worst_t_s.reset();
  return score;
}
Score LateWorst(const Footage& footage) {
  Score score = FindMetric("framing_error").compute(footage);
  score.worst_t_s = footage.take().duration_s + 1;
  return score;
}

TEST(MetricContract, CheckerRejectsBrokenTwins) {
  const Take good = GoodTake("framing_error"), bad = SpoiltTake("framing_error");
  const std::vector<std::pair<Score (*)(const Footage&), std::string>> twins{
      {WrongSign, "direction"},       {NotANumber, "not finite"}, {ShortSeries, "series of"},
      {LooksAtWorldAxes, "quarters"}, {AlwaysNull, "null"},       {LateWorst, "outside the take"}};
  for (const auto& [compute, complaint] : twins) {
    Metric twin = FindMetric("framing_error");
    twin.compute = compute;
    EXPECT_THAT(CheckMetric(twin, good, bad), Contains(HasSubstr(complaint)));
  }
  EXPECT_THAT(CheckMetric(FindMetric("framing_error"), good, bad), IsEmpty());
}

TEST(ScoreTake, EqualsTheMetricsOneByOne) {
  const Take take = Honest().Build();
  const Scorecard card = ScoreTake(take);
  ASSERT_EQ(card.scores.size(), Metrics().size());
  for (size_t i = 0; i < card.scores.size(); ++i) {
    EXPECT_TRUE(SameBits(card.scores[i], Metrics()[i].compute(Footage(take)))) << Metrics()[i].name;
  }
}

// Whatever a take lacks, each score is a finite number or null.
TEST(DegenerateTakes, ScoreFiniteOrNull) {
  std::map<std::string, Take> takes;
  takes["no intents"] = TakeBuilder{}.Build();
  takes["still camera"] = TakeBuilder{}.Ask(0, 6, HandsShot()).Build();
  {
    TakeBuilder b;
    b.duration_s = 0;
    takes["one frame, one tick"] = b.Ask(0, 3, HandsShot()).Build();
  }
  {
    Take empty = TakeBuilder{}.Ask(0, 6, HandsShot()).Build();
    empty.frames.clear();
    takes["ticks without frames"] = empty;
    empty.ticks.clear();
    takes["nothing recorded"] = empty;
  }
  {
    TakeBuilder b;
    b.Ask(0, 6, HandsShot());
    const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot()) * Eigen::AngleAxisd(kPi, Eigen::Vector3d::UnitX());
    b.camera = [=](double) { return X_WC; };
    takes["subject behind"] = b.Build();
    b.camera = [p = b.Subject(HandsShot()).centre_W](double) { return Eigen::Isometry3d(Eigen::Translation3d(p)); };
    b.lens = [](double) { return LensState{0.018, 1}; };
    takes["camera inside the subject"] = b.Build();
  }
  {
    Take take = TakeBuilder{}.Ask(0, 6, FaceShot()).Build();
    take.person.face_points.clear();
    takes["a face without points"] = take;
    take.person.capsules.clear();
    for (TakeTick& tick : take.ticks) tick.clearance.capsule = -1;
    takes["nobody there"] = take;
    take.arm_bodies.clear();
    take.joints.clear();
    for (TakeTick& tick : take.ticks) {
      tick.clearance.arm_body = -1;
      tick.q.resize(0), tick.qd.resize(0), tick.q_wish.resize(0), tick.torque.resize(0);
    }
    takes["no arm"] = take;
  }
  {
    Take take = TakeBuilder{}.Ask(0, 6, HandsShot()).Build();
    take.moving_mass_kg = take.payload_kg = 0;
    for (JointLimit& joint : take.joints) joint = {joint.name, 0, 0, 0, 0, 0, false};
    takes["limits of zero"] = take;
  }
  for (const auto& [name, take] : takes) {
    const Scorecard card = ScoreTake(take);
    for (size_t i = 0; i < card.scores.size(); ++i)
      EXPECT_THAT(CheckScore(take, card.scores[i]), IsEmpty()) << name << ": " << Metrics()[i].name;
  }
  const auto null_count = [](const Take& take) {
    int n = 0;
    for (const Score& score : ScoreTake(take).scores) n += !score.value;
    return n;
  };
  EXPECT_EQ(null_count(takes["nothing recorded"]), static_cast<int>(Metrics().size()));
}

TEST(DegenerateTakes, BrokenOnesAreRefusedByName) {
  const auto refuses = [](const std::function<void(Take&)>& spoil, const std::string& what) {
    TakeBuilder b;
    b.Place("awl", Shape::Sphere(0.02)).Ask(0, 6, HandsShot());
    Take take = b.Build();
    spoil(take);
    EXPECT_THAT([&] { ScoreTake(take); }, ::testing::ThrowsMessage<RunError>(HasSubstr(what)));
  };
  const double nan = std::nan("");
  refuses([&](Take& t) { t.frames[7].X_WC.translation().x() = nan; }, "frame 7: camera pose is not finite");
  refuses([&](Take& t) { t.ticks[9].p_WC.y() = nan; }, "tick 9: camera pose is not finite");
  refuses([&](Take& t) { t.ticks[9].clearance.distance_m = nan; }, "tick 9: its clearance is not finite");
  refuses([&](Take& t) { t.ticks[9].clearance.capsule = 1000; }, "a body that is not there");
  refuses([&](Take& t) { t.ticks[9].qd[1] = nan; }, "a joint value is not finite");
  refuses([&](Take& t) { t.ticks[9].q.resize(1); }, "2 joints");
  refuses([&](Take& t) { t.frames[3].lens.focal_m = 0; }, "focal length is 0 m");
  refuses([&](Take& t) { t.frames[3].person.p_W[kElbowL].z() = nan; }, "a point of the person");
  refuses([&](Take& t) { t.frames[3].X_WP.clear(); }, "0 prop poses for 1 props");
  refuses([&](Take& t) { t.frames[3].X_WL.clear(); }, "0 link poses");
  refuses([&](Take& t) { t.intents[0].shot.subjects[0] = {SubjectKind::kProp, "owl"}; }, "prop \"owl\"");
  refuses([&](Take& t) { t.intents[0].shot.subjects.clear(); }, "no subject");
  refuses([&](Take& t) { t.intents[0].end_s = -1; }, "intent 0 runs from 0 s to -1 s");
  refuses([&](Take& t) { t.id.physics_hz = 0; }, "rates");
  refuses([&](Take& t) { t.camera.sensor_width_m = 0; }, "sensor");
}

}  // namespace
}  // namespace dryrig::testing
