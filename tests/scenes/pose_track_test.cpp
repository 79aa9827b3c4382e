#include "scenes/pose_track.h"

#include <gmock/gmock.h>

#include <cmath>
#include <numbers>

#include "scenes/error.h"
#include "scenes/track_repair.h"
#include "tests/scenes/track_files.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::Contains;
using testing::HasSubstr;

/// Farthest that any joint of the recording is from the figure, over frames [first, last).
double WorstMiss(const Recording& r, size_t first, size_t last) {
  double worst = 0;
  for (const auto& [name, joint] : TrackedJoints()) {
    const TrackPoint point = *FindTrackPoint(name);
    for (size_t f = first; f < last; ++f)
      worst = std::max(worst, (r.At(f, point) - TrackedAt(joint, static_cast<double>(f) / r.rate_hz)).norm());
  }
  return worst;
}

TEST(PoseTrack, EveryPointIsWhereTheFileHasIt) {
  const Recording r = ParsePoseTrack(WriteTrack(), "figure.csv");
  EXPECT_EQ(r.frames, 60u);
  EXPECT_NEAR(r.rate_hz, 30, 1e-3);  // times of six decimals
  EXPECT_EQ(r.facts.unit, "m");
  EXPECT_EQ(r.facts.up, "z");
  EXPECT_EQ(r.facts.gaps.size(), 0u);
  // Gestures of half a second and slower under a low-pass of 6 Hz: a fraction of a millimetre, more at the ends.
  EXPECT_LT(WorstMiss(r, 10, 50), 5e-4);
  EXPECT_LT(WorstMiss(r, 0, 60), 5e-3);
}

TEST(PoseTrack, UnitAndUpComeFromTheFileOrFromTheBody) {
  TrackStyle style;
  style.units_per_metre = 1000;
  EXPECT_EQ(ParsePoseTrack(WriteTrack(style), "f.csv").facts.unit, "mm");
  style.head = "# unit: mm\n# up: z\n# made by hand\nt,joint,x,y,z,confidence\n";
  EXPECT_LT(WorstMiss(ParsePoseTrack(WriteTrack(style), "f.csv"), 10, 50), 5e-4);
  style.head = "# unit: cm\nt,joint,x,y,z,confidence\n";
  EXPECT_THROW(ParsePoseTrack(WriteTrack(style), "f.csv"), InputError);
}

TEST(PoseTrack, ColumnsMayStandInAnyOrderAndCaseAndBehindOtherMarks) {
  const Recording wanted = ParsePoseTrack(WriteTrack(), "f.csv");
  std::string text = WriteTrack();
  const auto replace = [&](char from, char to) {
    for (char& c : text) c = c == from ? to : c;
  };
  replace(',', ';');
  EXPECT_EQ(ParsePoseTrack(text, "f.csv").p_R, wanted.p_R);
  replace(';', '\t');
  EXPECT_EQ(ParsePoseTrack(text, "f.csv").p_R, wanted.p_R);
  std::string turned = "Z,Y,X,extra,Joint,T\r\n";
  for (size_t f = 0; f < 60; ++f) {
    for (const auto& [name, joint] : TrackedJoints()) {
      const Vector3d p = TrackedAt(joint, static_cast<double>(f) / 30);
      turned +=
          fmt::format("{:.9f}, {:.9f}, {:.9f}, x, \"{}\", {:.6f}\r\n", p.z(), p.y(), p.x(), name, static_cast<double>(f) / 30);
    }
  }
  const Recording r = ParsePoseTrack("\xEF\xBB\xBF" + turned, "f.csv");
  EXPECT_EQ(r.p_R, wanted.p_R);
}

TEST(PoseTrack, RowsOutOfOrderAreSortedAndSaidToBe) {
  std::string text = WriteTrack();
  const size_t header = text.find('\n') + 1, middle = text.find("1.000000,pelvis");
  text = text.substr(0, header) + text.substr(middle) + text.substr(header, middle - header);
  const Recording r = ParsePoseTrack(text, "f.csv");
  EXPECT_EQ(r.p_R, ParsePoseTrack(WriteTrack(), "f.csv").p_R);
  EXPECT_THAT(r.facts.notes, Contains(HasSubstr("sorted")));
}

TEST(PoseTrack, ShortGapsAreFilledLongOnesAreLostBothAreMarked) {
  TrackStyle style;
  style.frames = 120;
  style.keep = [](size_t f, const std::string& joint) {
    return !(joint == "left_wrist" && f >= 30 && f < 36) && !(joint == "right_wrist" && f >= 60 && f < 90);
  };
  const Recording r = ParsePoseTrack(WriteTrack(style), "f.csv");
  ASSERT_EQ(r.frames, 120u);
  ASSERT_EQ(r.facts.gaps.size(), 2u);
  const RecordedGap& filled = r.facts.gaps[0];
  EXPECT_EQ(filled.point, TrackPoint::kWristL);
  EXPECT_TRUE(filled.filled);
  EXPECT_NEAR(filled.from_s, 1.0, 1e-4);
  EXPECT_NEAR(filled.to_s, 1.2, 1e-4);
  EXPECT_FALSE(r.facts.gaps[1].filled);
  EXPECT_NEAR(r.facts.gaps[1].to_s - r.facts.gaps[1].from_s, 1.0, 1e-3);
  const auto state = [&](size_t f, TrackPoint point) {
    return r.states[f * static_cast<size_t>(r.columns) + static_cast<size_t>(r.column[static_cast<size_t>(point)])];
  };
  EXPECT_EQ(state(29, TrackPoint::kWristL), PointState::kMeasured);
  EXPECT_EQ(state(33, TrackPoint::kWristL), PointState::kFilled);
  EXPECT_EQ(state(75, TrackPoint::kWristR), PointState::kLost);
  // A gap of 0.2 s in gestures of a second: the cubic is within a centimetre, where the hand moves by ten.
  EXPECT_LT((r.At(33, TrackPoint::kWristL) - TrackedAt(9, 33.0 / 30)).norm(), 0.01);
}

TEST(PoseTrack, LowConfidenceEmptyFieldsAndNaNCountAsNotSeen) {
  TrackStyle style;
  style.confidence = [](size_t f, const std::string& joint) { return joint == "left_wrist" && f >= 30 && f < 33 ? 0.1 : 0.9; };
  style.error = [](size_t f, const std::string& joint) {
    return joint == "left_wrist" && f >= 30 && f < 33 ? Vector3d(5, 5, 5) : Vector3d(Vector3d::Zero());
  };
  const Recording doubted = ParsePoseTrack(WriteTrack(style), "f.csv");
  ASSERT_EQ(doubted.facts.gaps.size(), 1u);
  EXPECT_LT((doubted.At(31, TrackPoint::kWristL) - TrackedAt(9, 31.0 / 30)).norm(), 0.01);
  EXPECT_THAT(doubted.facts.notes, Contains(HasSubstr("3 rows have no position, or a confidence under 0.3")));

  for (const char* nothing : {"nan,nan,nan", ",,", "NaN,0.1,0.1"}) {
    SCOPED_TRACE(nothing);
    std::string text = WriteTrack();
    const size_t row = text.find("1.000000,left_wrist,") + 20, end = text.find(",0.900", row);
    text.replace(row, end - row, nothing);
    EXPECT_EQ(ParsePoseTrack(text, "f.csv").facts.gaps.size(), 1u);
  }
}

TEST(PoseTrack, AJitteryTrackBecomesSmoothAndStaysInTime) {
  TrackStyle style;
  style.rate_hz = 60;
  style.frames = 240;
  // 5 mm of alternating error, 30 Hz: ten times what the filter may leave.
  style.error = [](size_t f, const std::string&) { return Vector3d(f % 2 == 0 ? 0.005 : -0.005, 0, 0); };
  EXPECT_LT(WorstMiss(ParsePoseTrack(WriteTrack(style), "f.csv"), 30, 210), 1e-3);
}

TEST(PoseTrack, AClockThatStartsLateKeepsItsTime) {
  TrackStyle style;
  style.start_s = 12.5;
  EXPECT_NEAR(ParsePoseTrack(WriteTrack(style), "f.csv").start_s, 12.5, 1e-9);
}

TEST(PoseTrack, APointSeldomSeenIsLeftOut) {
  TrackStyle style;
  style.keep = [](size_t f, const std::string& joint) { return joint != "left_knee" || f < 5; };
  const Recording r = ParsePoseTrack(WriteTrack(style), "f.csv");
  EXPECT_FALSE(r.Has(TrackPoint::kKneeL));
  EXPECT_THAT(r.facts.notes, Contains(HasSubstr("left_knee (left_knee) is seen in 8 % of the frames only: left out")));
}

TEST(PoseTrack, NamesOfAPointTrackerAreKnown) {
  std::string text = "t,joint,x,y,z,confidence\n";
  const std::vector<std::pair<std::string, Vector3d>> joints{{"nose", {0, 0.12, 1.55}},
                                                             {"left_eye", {-0.03, 0.1, 1.58}},
                                                             {"right_eye", {0.03, 0.1, 1.58}},
                                                             {"left_ear", {-0.07, 0, 1.56}},
                                                             {"right_ear", {0.07, 0, 1.56}},
                                                             {"left_shoulder", {-0.18, 0, 1.4}},
                                                             {"right_shoulder", {0.18, 0, 1.4}},
                                                             {"left_elbow", {-0.2, 0.1, 1.12}},
                                                             {"right_elbow", {0.2, 0.1, 1.12}},
                                                             {"left_wrist", {-0.15, 0.34, 1.1}},
                                                             {"right_wrist", {0.15, 0.34, 1.1}},
                                                             {"left_pinky", {-0.17, 0.42, 1.1}},
                                                             {"right_pinky", {0.17, 0.42, 1.1}},
                                                             {"left_index", {-0.13, 0.43, 1.1}},
                                                             {"right_index", {0.13, 0.43, 1.1}},
                                                             {"left_hip", {-0.1, 0, 0.9}},
                                                             {"right_hip", {0.1, 0, 0.9}},
                                                             {"left_knee", {-0.1, 0.02, 0.48}},
                                                             {"right_knee", {0.1, 0.02, 0.48}},
                                                             {"left_ankle", {-0.1, 0, 0.07}},
                                                             {"right_ankle", {0.1, 0, 0.07}},
                                                             {"left_heel", {-0.1, -0.05, 0.02}},
                                                             {"right_heel", {0.1, -0.05, 0.02}},
                                                             {"left_foot_index", {-0.1, 0.15, 0.02}},
                                                             {"right_foot_index", {0.1, 0.15, 0.02}}};
  for (int f = 0; f < 30; ++f) {
    for (const auto& [name, p] : joints) text += fmt::format("{:.4f},{},{},{},{},1\n", f / 30.0, name, p.x(), p.y(), p.z());
  }
  const Recording r = ParsePoseTrack(text, "f.csv");
  for (const char* name :
       {"nose", "left_ear", "right_eye", "left_toe", "right_toe", "left_fingers", "right_fingers", "left_hip"}) {
    EXPECT_TRUE(r.Has(*FindTrackPoint(name))) << name;
  }
  EXPECT_THAT(r.facts.unmapped, Contains("left_heel"));
}

TEST(TrackRepair, TheLowPassHalvesThePowerAtItsCutoffWithoutDelay) {
  // Winter 2009: two passes, each corrected so that together they are -3 dB, that is 1/sqrt(2), at the cutoff.
  const double rate_hz = 120, cutoff_hz = 6;
  for (const auto& [hz, gain] : {std::pair{0.5, 1.0}, {6.0, 1 / std::numbers::sqrt2}, {24.0, 0.0}}) {
    std::vector<Vector3d> p;
    for (int i = 0; i < 1200; ++i) p.emplace_back(std::sin(2 * std::numbers::pi * hz * i / rate_hz), 3, 0.01 * i);
    std::vector<Vector3d> y = p;
    ASSERT_TRUE(LowPass(rate_hz, cutoff_hz, &y));
    double in_phase = 0, out_of_phase = 0;
    for (int i = 300; i < 900; ++i) {
      in_phase += y[static_cast<size_t>(i)].x() * std::sin(2 * std::numbers::pi * hz * i / rate_hz) / 300;
      out_of_phase += y[static_cast<size_t>(i)].x() * std::cos(2 * std::numbers::pi * hz * i / rate_hz) / 300;
    }
    // The bilinear transform bends frequencies by less than 1 % here; 24 Hz is 1/(1 + 0.41·4^4), a hundredth.
    EXPECT_NEAR(in_phase, gain, 0.012) << hz;
    EXPECT_NEAR(out_of_phase, 0, 1e-3) << hz;
    EXPECT_NEAR(y[600].y(), 3, 1e-12);      // what stands stands
    EXPECT_NEAR(y[1199].z(), 11.99, 1e-9);  // a steady course goes through to its very ends
  }
  std::vector<Vector3d> slow(50, Vector3d::Ones());
  EXPECT_FALSE(LowPass(10, 6, &slow));
}

TEST(TrackRepair, GapsAreToldApartByLength) {
  std::vector<SeenPoint> seen;
  for (int i = 0; i < 100; ++i) {
    if ((i >= 20 && i < 24) || (i >= 50 && i < 80)) continue;
    seen.push_back({i / 10.0, {i / 10.0, 0, 0}});
  }
  const FilledPoint filled = FillGaps(seen, {0, 10, 100}, 1.0);
  for (size_t f = 0; f < 100; ++f) {
    EXPECT_NEAR(filled.p[f].x(), static_cast<double>(f) / 10, 1e-9);  // a line stays a line however it is filled
    EXPECT_EQ(filled.states[f], f >= 20 && f < 24   ? PointState::kFilled
                                : f >= 50 && f < 80 ? PointState::kLost
                                                    : PointState::kMeasured)
        << f;
  }
}

}  // namespace
}  // namespace dryrig
