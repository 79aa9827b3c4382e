#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <numbers>
#include <sstream>

#include "bench/context.h"
#include "bench/fitted_files.h"
#include "bench/out_folder.h"
#include "bench/program.h"
#include "bench/scorecard.h"
#include "bench/text_table.h"
#include "bench/time_canvas.h"
#include "metrics/take_gap.h"
#include "policies/stored_take.h"
#include "scenes/error.h"
#include "scenes/recorded_lesson.h"
#include "scenes/yaml_node.h"
#include "sim/log_fit.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

constexpr double kDegrees = 180 / std::numbers::pi;

struct GapOptions {
  std::string rehearsed, recorded, out, arm, live_track;
  bool json = false, fit = false;
};

/// A stored take with what it was made from.
struct StoredWhole {
  Take take;
  TakeSetup setup;
  std::vector<StoredInput> inputs;
  StoredWhole(const std::string& text, const std::string& arm) {
    const TakeRef ref = ParseTakeRef(text);
    const Store store(ref.db, Store::Mode::kRead);
    take = store.ReadTake(ref.id);
    setup = PrepareStored(store, ref.id, arm).setup;
    inputs = store.ReadInputs(ref.id);
  }
  const StoredInput* Find(const char* kind) const {
    const auto it = std::find_if(inputs.begin(), inputs.end(), [kind](const StoredInput& one) { return one.kind == kind; });
    return it == inputs.end() ? nullptr : &*it;
  }
  /// A number in the identity; 0 where it is not.
  double Param(const std::string& key, double fallback) const {
    std::istringstream params(take.id.params);
    for (std::string one; params >> one;) {
      if (one.starts_with(key + "=")) return std::stod(one.substr(key.size() + 1));
    }
    return fallback;
  }
};

/// All that --fit tells.
struct Fits {
  ServoFit servo;
  std::optional<MountFit> mount;
  Eigen::Isometry3d mount_was = Eigen::Isometry3d::Identity();
  Estimate tracker;
  std::string mount_why, tracker_why;
};

double MountOff_m(const Fits& fits) {
  return (fits.mount->X_EC.translation() - fits.mount_was.translation()).norm();
}
double MountOff_deg(const Fits& fits) {
  return Eigen::AngleAxisd(fits.mount_was.linear().transpose() * fits.mount->X_EC.linear()).angle() * kDegrees;
}

Fits FitAll(const StoredWhole& recorded, const CameraTrack* track, const std::string& live_track) {
  const StoredInput* const log_input = recorded.Find("joint_log");
  if (log_input == nullptr) throw InputError("--fit needs a take that `score --log` made: this one has no joint log");
  const JointLog log = ParseJointLog(log_input->text, log_input->name, recorded.setup.stage.arm);
  LogClock clock;
  clock.offset_s = recorded.Param("clock_offset_s", 0), clock.rate = recorded.Param("clock_rate", 1);
  Fits out;
  out.servo = FitServo(recorded.setup.stage, log);
  out.mount_was = recorded.setup.stage.arm.X_EC;
  if (track != nullptr)
    out.mount = FitMount(recorded.setup.stage, log, *track, clock);
  else
    out.mount_why =
        "not identified: joints do not tell where the camera sits; record it from outside (score --log ... --camera-track)";
  if (live_track.empty()) {
    out.tracker_why = "not identified: a log does not tell what the tracker saw when; give its own track (--live-track)";
  } else {
    const Recording live =
        ParseRecording(ReadTextFile(live_track, kMostRecordedBytes), fs::path(live_track).filename().string(), {}, {});
    out.tracker = FitTrackerDelay(recorded.setup.lesson.recorded->motion, live, clock);
  }
  return out;
}

std::string FitText(const Fits& fits, const Servo& was) {
  const auto line = [](const char* name, double before, const Estimate& now, double unit, const char* unit_name) {
    return now.known ? fmt::format("  {:<22} {:.4g} ± {:.2g} {} (was {:.4g})\n", name, now.value * unit, now.sigma * unit,
                                   unit_name, before * unit)
                     : fmt::format("  {:<22} {}\n", name, now.why);
  };
  std::string out = "fitted:\n";
  out += line("servo latency", was.latency_s, fits.servo.latency_s, 1000, "ms");
  out += line("servo bandwidth", was.bandwidth_hz, fits.servo.bandwidth_hz, 1, "Hz");
  out += line("servo damping ratio", was.damping_ratio, fits.servo.damping_ratio, 1, "");
  out += fmt::format("  {:<22} {:.4f} deg with the arm file's servo, {:.4f} deg with the fitted\n", "joints less simulated",
                     fits.servo.before * kDegrees, fits.servo.after * kDegrees);
  if (fits.mount) {
    out += fmt::format("  {:<22} {:.2f} mm and {:.3f} deg off the arm file's, ± {:.2g} mm and {:.2g} deg\n", "camera mount",
                       1000 * MountOff_m(fits), MountOff_deg(fits), 1000 * fits.mount->sigma_m, fits.mount->sigma_rad * kDegrees);
  } else {
    out += fmt::format("  {:<22} {}\n", "camera mount", fits.mount_why);
  }
  out += fits.tracker.known ? fmt::format("  {:<22} {:.1f} ± {:.2g} ms\n", "tracker latency", fits.tracker.value * 1000,
                                          fits.tracker.sigma * 1000)
                            : fmt::format("  {:<22} {}\n", "tracker latency", fits.tracker_why);
  return out;
}

std::string GapText(const TakeGap& gap) {
  std::string out =
      fmt::format("{} by {} ({}) and as recorded: {:.2f} s in common, from {:.2f} s of the lesson on\n", gap.rehearsed.id.lesson,
                  gap.rehearsed.id.policy, gap.rehearsed.id.person, gap.length_s, gap.start_s);
  out += fmt::format(
      "  person apart {:.1f} mm, set points apart {:.3f} deg, arm behind its set points {:.3f} deg rehearsed, {:.3f} deg "
      "recorded,\n",
      gap.person_m * 1000, gap.commanded_rad * kDegrees, gap.lag_rehearsed_rad * kDegrees, gap.lag_recorded_rad * kDegrees);
  out += fmt::format("  camera apart {:.1f} mm and {:.2f} deg", gap.camera_m * 1000, gap.camera_rad * kDegrees);
  out += gap.calibration_m ? fmt::format("; as tracked less as the joints say {:.1f} mm and {:.2f} deg\n\n",
                                         *gap.calibration_m * 1000, *gap.calibration_rad * kDegrees)
                           : "\n\n";
  using Align = TextTable::Align;
  TextTable table({Align::kLeft, Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kRight,
                   Align::kRight, Align::kRight});
  table.Row({"metric", "unit", "rehearsed", "recorded", "difference", "person", "commanded", "followed", "calibration"});
  table.Rule();
  for (const GapRow& row : gap.rows) {
    const Metric& metric = Metrics()[row.metric];
    table.Row({std::string(metric.name), UnitForPeople(metric), ForPeople(row.rehearsed), ForPeople(row.recorded),
               ForPeople(*row.recorded - *row.rehearsed), ForPeople(row.person), ForPeople(row.commanded),
               ForPeople(row.followed), ForPeople(row.calibrated)});
  }
  return out + table.ToString() +
         "person + commanded + followed = difference; calibration: what the camera as tracked from outside would add.\n";
}

Json GapJson(const TakeGap& gap) {
  Json rows = Json::array();
  for (const GapRow& row : gap.rows) {
    const Metric& metric = Metrics()[row.metric];
    rows.push_back({{"metric", metric.name},
                    {"unit", metric.unit},
                    {"rehearsed", OrNull(row.rehearsed)},
                    {"recorded", OrNull(row.recorded)},
                    {"person", OrNull(row.person)},
                    {"commanded", OrNull(row.commanded)},
                    {"followed", OrNull(row.followed)},
                    {"calibration", OrNull(row.calibrated)}});
  }
  const auto mm = [](const std::optional<double>& m) { return m ? OrNull(*m * 1000) : Json(nullptr); };
  return {{"dryrig", "gap/1"},
          {"rehearsed", ToJson(gap.rehearsed.id)},
          {"recorded", ToJson(gap.recorded.id)},
          {"from_s", gap.start_s},
          {"length_s", gap.length_s},
          {"person_mm", gap.person_m * 1000},
          {"commanded_deg", gap.commanded_rad * kDegrees},
          {"lag_rehearsed_deg", gap.lag_rehearsed_rad * kDegrees},
          {"lag_recorded_deg", gap.lag_recorded_rad * kDegrees},
          {"camera_mm", gap.camera_m * 1000},
          {"camera_deg", gap.camera_rad * kDegrees},
          {"calibration_mm", mm(gap.calibration_m)},
          {"metrics", rows},
          {"caution", kCaution}};
}

Json EstimateJson(const Estimate& one, const std::string& why) {
  return {{"known", one.known},
          {"value", one.known ? Json(one.value) : Json(nullptr)},
          {"sigma", one.known ? Json(one.sigma) : Json(nullptr)},
          {"why", one.known ? "" : why}};
}
Json FitsJson(const Fits& fits) {
  Json mount{{"known", fits.mount.has_value()}, {"why", fits.mount_why}};
  if (fits.mount) {
    mount["off_mm"] = 1000 * MountOff_m(fits), mount["off_deg"] = MountOff_deg(fits);
    mount["sigma_mm"] = 1000 * fits.mount->sigma_m, mount["sigma_deg"] = fits.mount->sigma_rad * kDegrees;
  }
  return {{"latency_s", EstimateJson(fits.servo.latency_s, fits.servo.latency_s.why)},
          {"bandwidth_hz", EstimateJson(fits.servo.bandwidth_hz, fits.servo.bandwidth_hz.why)},
          {"damping_ratio", EstimateJson(fits.servo.damping_ratio, fits.servo.damping_ratio.why)},
          {"left_before_rad", fits.servo.before},
          {"left_after_rad", fits.servo.after},
          {"mount", mount},
          {"tracker_latency_s", EstimateJson(fits.tracker, fits.tracker_why)}};
}

/// One quantity of both takes over the common time; nothing is drawn where there was nothing to measure.
struct GapPanel {
  const char* title;
  const Series *rehearsed, *recorded;  // either may be null
};
std::string GapSvg(const TakeGap& gap) {
  const Scorecard a = ScoreTake(gap.rehearsed), b = ScoreTake(gap.recorded);
  const auto series = [](const Scorecard& card, std::string_view name) {
    return &card.scores[static_cast<size_t>(&FindMetric(name) - Metrics().data())].series;
  };
  const GapPanel panels[] = {{"framing error", series(a, "framing_error"), series(b, "framing_error")},
                             {"hands visible", series(a, "hand_visibility"), series(b, "hand_visibility")},
                             {"distance [m]", series(a, "closest_approach"), series(b, "closest_approach")},
                             {"servo error [deg]", series(a, "servo_error_deg"), series(b, "servo_error_deg")},
                             {"camera apart [m]", nullptr, &gap.camera_apart_m},
                             {"person apart [m]", nullptr, &gap.person_apart_m}};
  TimeCanvas canvas(gap.length_s);
  canvas.Add(R"(<text x="14" y="24" font-size="16">{}</text>)",
             Escaped(fmt::format("{}: rehearsed by {} and as recorded", gap.rehearsed.id.lesson, gap.rehearsed.id.policy)));
  canvas.Add(
      R"(<text x="14" y="44" fill="#555">blue: rehearsed; red: recorded, and how far apart. A simulation is no risk assessment.</text>)");
  double y = TimeLayout::kTop;
  for (const GapPanel& panel : panels) {
    double most = 1e-9;
    for (const Series* one : {panel.rehearsed, panel.recorded}) {
      for (const double v : one == nullptr ? std::vector<double>{} : one->values)
        most = std::isfinite(v) ? std::max(most, v) : most;
    }
    canvas.Label(y + 14, panel.title);
    canvas.Label(y + 30, fmt::format("to {:.3g}", most));
    canvas.Add(R"(<line x1="{:.1f}" y1="{:.1f}" x2="{:.1f}" y2="{:.1f}" stroke="#bbb"/>)", canvas.X(0), y + TimeLayout::kPanel,
               canvas.X(gap.length_s), y + TimeLayout::kPanel);
    for (const auto& [one, colour] : {std::pair(panel.rehearsed, "#2c6fbb"), {panel.recorded, "#c23b22"}}) {
      if (one == nullptr) continue;
      std::string points;
      const size_t stride = std::max<size_t>(1, one->values.size() / static_cast<size_t>(canvas.columns()));
      const auto flush = [&] {
        if (!points.empty()) canvas.Add(R"(<polyline fill="none" stroke="{}" stroke-width="1.3" points="{}"/>)", colour, points);
        points.clear();
      };
      for (size_t i = 0; i < one->values.size(); i += stride) {
        if (!std::isfinite(one->values[i])) {
          flush();
          continue;
        }
        points += fmt::format("{:.1f},{:.1f} ", canvas.X(static_cast<double>(i) / one->rate_hz),
                              y + TimeLayout::kPanel * (1 - one->values[i] / most));
      }
      flush();
    }
    y += TimeLayout::kPanel + TimeLayout::kGap;
  }
  DrawTimeAxis(&canvas, y - TimeLayout::kGap);
  return canvas.Close(y + 16);
}

int RunGap(const GapOptions& options) {
  if (options.fit && options.out.empty()) throw InputError("--fit writes an arm or sensing file: name a folder with --out");
  const StoredWhole rehearsed(options.rehearsed, options.arm), recorded(options.recorded, options.arm);
  std::optional<CameraTrack> track;
  if (const StoredInput* const input = recorded.Find("camera_track")) track = ParseCameraTrack(input->text, input->name);
  const double start_s = recorded.setup.lesson.recorded ? recorded.setup.lesson.recorded->start_s : 0;
  const TakeGap gap = CompareTakes(rehearsed.take, rehearsed.setup.stage.arm, recorded.take, recorded.Param("lesson_at_s", 0),
                                   track ? &*track : nullptr, start_s);
  std::optional<Fits> fits;
  if (options.fit) fits = FitAll(recorded, track ? &*track : nullptr, options.live_track);
  Json json = GapJson(gap);
  if (fits) json["fit"] = FitsJson(*fits);
  if (!options.out.empty()) {
    OutFolder out(options.out);
    out.Open();
    out.Write("gap.json", json.dump(2) + "\n");
    out.Write("gap.svg", GapSvg(gap));
    if (fits) {
      const std::string arm_file = FindScene(SceneKind::kArm, options.arm.empty() ? recorded.take.id.arm : options.arm).string();
      const std::string heading = fmt::format("# Servo{} as fitted to {} of one recording; uncertainties in gap.json.\n",
                                              fits->mount ? " and camera mount" : "", recorded.Find("joint_log")->name);
      out.Write(recorded.take.id.arm + "-fitted.yaml", FittedArmText(arm_file, recorded.setup.stage.arm, fits->servo,
                                                                     fits->mount ? &fits->mount->X_EC : nullptr, heading));
      if (fits->tracker.known) {
        out.Write("sensing-fitted.yaml", FittedSensingText(rehearsed.setup.sensing.text, fits->tracker.value));
      }
    }
  }
  if (options.json) {
    fmt::print("{}\n", json.dump(2));
    return kFine;
  }
  fmt::print("{}", GapText(gap));
  if (fits) fmt::print("\n{}", FitText(*fits, recorded.setup.stage.arm.servo));
  fmt::print("{}\n", kCaution);
  return kFine;
}

}  // namespace

void AddGap(CommandTable& program) {
  auto options = std::make_shared<GapOptions>();
  const Command command = program.Add("gap", "Tell how a recorded take differs from its rehearsal, and where that comes from.");
  command.Add("rehearsed", options->rehearsed, "A take that was rehearsed: folder or FILE.db, with :ID").Required();
  command.Add("recorded", options->recorded, "The take of what was recorded, made by `score --log`").Required();
  command.Flag("--fit", options->fit,
               "Estimate servo, tracker latency and camera mount from the log; write files that `take` reads into --out");
  command.Add("--live-track", options->live_track,
              "What the tracker told the arm's controller, a pose track on the log's clock, for its latency");
  command.Add("--arm", options->arm, "The arm's file, where it is not shipped");
  command.Add("--out,-o", options->out, "Folder for gap.json, gap.svg and the fitted files");
  command.Flag("--json", options->json, "Print JSON");
  command.Footer(
      "What a log cannot tell is said, not guessed.\n"
      "Example:\n"
      "  dryrig gap out/rehearsed out/real --fit --out out/gap\n"
      "  dryrig take booklet --policy planner --arm out/gap/heron-fitted.yaml --out out/again");
  command.Run([options] { return RunGap(*options); });
}

}  // namespace dryrig
