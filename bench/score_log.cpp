#include "bench/score_log.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "bench/context.h"
#include "bench/one_take.h"
#include "bench/out_folder.h"
#include "bench/program.h"
#include "bench/scorecard.h"
#include "policies/choice.h"
#include "scenes/logged_lesson.h"
#include "scenes/recording.h"
#include "scenes/yaml_node.h"
#include "sim/logged_take.h"
#include "sim/rng.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

constexpr double kLeastOverlap_s = 5;
constexpr double kFarFromBench_m = 3;  // hips of who works there
constexpr double kLowestHips_m = 0.3, kHighestHips_m = 1.4;

std::string HashOf(const std::string& text) {
  return fmt::format("{:016x}", HashText(text));
}

std::string LowerLetters(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (std::isalnum(static_cast<unsigned char>(c))) out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  }
  return out;
}

/// A file of the command line as it was read.
struct ReadFile {
  std::string option, name, text;
  ReadFile(const char* of, const std::string& path) : option(of), name(fs::path(path).filename().string()) {
    if (!path.empty()) text = ReadTextFile(path, kMostRecordedBytes);
  }
};

/// All that is known before the lesson can be written.
class LoggedSet {
 public:
  LoggedSet(const LogChoice& choice, SceneShelf& shelf)
      : choice_(choice),
        shelf_(shelf),
        log_file_("--log", choice.log),
        track_file_("--track", choice.track),
        camera_file_("--camera-track", choice.camera_track),
        captions_file_("--captions", choice.captions) {}

  Take Film() {
    const ArmModel& arm = shelf_.GetArm(choice_.arm);
    const Stage stage = MakeStage(shelf_.GetBench(choice_.bench), arm, shelf_.GetCamera(choice_.camera));
    const Lesson& base = shelf_.GetLesson(choice_.lesson);
    log_ = ParseJointLog(log_file_.text, log_file_.name, stage.arm);
    for (const std::string& note : log_.notes) Note(log_file_.name, note);
    for (const LogGap& gap : log_.gaps)
      Note(log_file_.name, fmt::format("nothing from {:.3f} to {:.3f} s: bridged", gap.from_s, gap.to_s));
    const Recording person = ParseRecording(track_file_.text, track_file_.name, {}, {});
    for (const std::string& note : person.facts.notes) Note(track_file_.name, note);
    size_t lost = 0;
    for (const RecordedGap& gap : person.facts.gaps) lost += !gap.filled;
    if (lost > 0) Note(track_file_.name, fmt::format("{} gaps too long to fill", lost));
    RequireAtTheBench(person, stage.bench);
    FindClock(stage.arm);
    Note(log_file_.name, fmt::format("{:.4g} Hz, the person's track {:.4g} Hz: both brought to {} Hz", log_.rate_hz,
                                     person.rate_hz, setup.physics_hz));

    // What both cover.
    const double end_s = person.start_s + person.duration_s();
    const double from_s = std::max(person.start_s, clock_.TrackTime(log_.start_s()));
    const double to_s = std::min(end_s, clock_.TrackTime(log_.end_s()));
    if (to_s - from_s < kLeastOverlap_s) {
      throw InputError(
          fmt::format("{} covers {:.3f} to {:.3f} s of the person's track, "
                      "which runs from {:.3f} to {:.3f} s: {} s in common "
                      "are needed. Two clocks? A --camera-track tells how they "
                      "stand to each other",
                      log_file_.name, clock_.TrackTime(log_.start_s()), clock_.TrackTime(log_.end_s()), person.start_s, end_s,
                      kLeastOverlap_s));
    }
    if (from_s > person.start_s + 0.01 || to_s < end_s - 0.01)
      Note(track_file_.name, fmt::format("used from {:.3f} to {:.3f} s, which the log covers too", from_s, to_s));

    setup.person = shelf_.GetPerson(choice_.person.empty() ? NearestPersonName(person.stature_m) : choice_.person);
    const PersonSpec& rehearsed_by = base.person.empty() ? setup.person : shelf_.GetPerson(base.person);
    const Performance rehearsal(base, stage.bench, rehearsed_by, 1);
    const double begins_s = Begins(rehearsal, person.start_s);
    // Frames fall where the rehearsal's fall, so that the two can be laid over each other.
    const double frame_s = 1 / stage.camera.frame_rate_hz;
    const double lesson_at_s = std::ceil((from_s - begins_s) / frame_s - 1e-6) * frame_s;
    const RecordedLesson parts = RehearsedParts(rehearsal, begins_s, begins_s + lesson_at_s, to_s);
    Note("key", fmt::format("that of a rehearsal of lesson {} beginning at {:.3f} s "
                            "of the track; {} intents lie in what was recorded",
                            base.name, begins_s, parts.intents.size()));
    const std::string text = LoggedLessonText(base, stage.bench.name, track_file_.name, captions_file_.name, parts);
    setup.lesson = ParseLesson(text, base.name + "-recorded.yaml", [this](const std::string& kind, const std::string&) {
      return kind == "motion" ? track_file_.text : captions_file_.text;
    });
    setup.stage = stage;
    setup.sensing = shelf_.GetSensing("perfect");
    setup.policy = kLoggedPolicy;
    setup.params = fmt::format("lesson_at_s={:.6f} clock_offset_s={:.6f} clock_rate={:.9f} log={}", lesson_at_s, clock_.offset_s,
                               clock_.rate, HashOf(log_file_.text));
    Take take = FilmLog(setup, log_, clock_);
    RequireLens(take);
    if (log_.q_commanded.empty())
      Note(log_file_.name,
           "no commanded joints: set points are the measured "
           "ones, servo_error says nothing");
    if (log_.focal_m.empty() && stage.camera.focal_min_m < stage.camera.focal_max_m)
      Note(log_file_.name, "no focal_mm: the shortest is taken");
    if (log_.focus_m.empty()) Note(log_file_.name, "no focus_m: focused on the hands");
    Note("shots",
         "what the operator meant to film is not in a log: scores of "
         "cues have nothing to measure");
    return take;
  }

  std::vector<StoredInput> Inputs() const {
    std::vector<StoredInput> out = InputsOf(setup);
    out.push_back({HashOf(log_file_.text), "joint_log", log_file_.name, log_file_.text});
    if (!camera_file_.text.empty())
      out.push_back({HashOf(camera_file_.text), "camera_track", camera_file_.name, camera_file_.text});
    return out;
  }

  TakeSetup setup;
  std::vector<std::string> notes;

 private:
  void Note(const std::string& of, const std::string& note) { notes.push_back(of + ": " + note); }

  std::string NearestPersonName(double stature_m) {
    std::string nearest;
    double least = 1e9;
    for (const std::string& name : ListScenes(SceneKind::kPerson)) {
      const double off = std::abs(shelf_.GetPerson(name).stature_m - stature_m);
      if (off < least) least = off, nearest = name;
    }
    return nearest;
  }

  void RequireAtTheBench(const Recording& person, const Bench& bench) const {
    Eigen::Vector3d mean = Eigen::Vector3d::Zero();
    for (size_t f = 0; f < person.frames; ++f) mean += person.HipsAt(f);
    mean /= static_cast<double>(person.frames);
    const double off = Eigen::Vector2d(mean.x(), mean.y() - bench.depth_m / 2).norm();
    if (off > kFarFromBench_m || mean.z() < kLowestHips_m || mean.z() > kHighestHips_m) {
      throw InputError(
          fmt::format("{}: the hips are at ({:.2f}, {:.2f}, {:.2f}) m on "
                      "average. The track must be in the room's frame: origin "
                      "on the floor below the middle of the bench's front "
                      "edge, x to the person's right, y across the bench, z up",
                      track_file_.name, mean.x(), mean.y(), mean.z()));
    }
  }

  void FindClock(const ArmModel& arm) {
    if (camera_file_.text.empty()) {
      Note("clocks",
           "no camera track: log and person's track are taken to "
           "have one clock, as they stand");
      return;
    }
    const CameraTrack track = ParseCameraTrack(camera_file_.text, camera_file_.name);
    for (const std::string& note : track.notes) Note(camera_file_.name, note);
    clock_ = FindLogClock(log_, track, arm);
    Note("clocks", fmt::format("the log's is {:+.4f} s (± {:.4f}) off the tracks' and "
                               "runs {:+.0f} ppm; motions match by {:.3f}",
                               clock_.offset_s, clock_.sigma_s, (clock_.rate - 1) * 1e6, clock_.match));
  }

  /// When the lesson's time line begins on the track's clock: as told, as its
  /// sentences tell, or with the track.
  double Begins(const Performance& rehearsal, double start_s) {
    if (choice_.begins_given) return choice_.begins_s;
    if (!captions_file_.text.empty()) {
      const Captions captions = ParseCaptions(captions_file_.text, captions_file_.name);
      std::vector<double> off;
      for (const Sentence& sentence : rehearsal.sentences()) {
        for (const CaptionCue& cue : captions.cues) {
          if (LowerLetters(cue.text) == LowerLetters(sentence.text)) off.push_back(cue.start_s - sentence.start_s);
        }
      }
      if (!off.empty()) {
        std::sort(off.begin(), off.end());
        const double middle = off[off.size() / 2];
        Note(captions_file_.name, fmt::format("{} sentences are the lesson's: it begins at {:.3f} "
                                              "s, single ones differ by up to {:.3f} s",
                                              off.size(), middle, std::max(off.back() - middle, middle - off.front())));
        return middle;
      }
      Note(captions_file_.name,
           "no sentence is one of the lesson's: it is taken to begin with the "
           "track; --begins-s tells otherwise");
    }
    return start_s;
  }

  void RequireLens(const Take& take) const {
    const CameraBody& camera = setup.stage.camera;
    for (size_t i = 0; i < take.frames.size(); ++i) {
      const double f = take.frames[i].lens.focal_m;
      constexpr double kSlack = 0.02;
      if (f >= camera.focal_min_m * (1 - kSlack) && f <= camera.focal_max_m * (1 + kSlack)) continue;
      throw InputError(
          fmt::format("{}: focal_mm {:.4g} at {:.3f} s is outside what camera {} has, "
                      "{:.4g} to {:.4g}; mm for m, or another camera?",
                      log_file_.name, f * 1000, static_cast<double>(i) / take.id.frame_hz, camera.name, camera.focal_min_m * 1000,
                      camera.focal_max_m * 1000));
    }
  }

  const LogChoice& choice_;
  SceneShelf& shelf_;
  ReadFile log_file_, track_file_, camera_file_, captions_file_;
  JointLog log_;
  LogClock clock_;
};

}  // namespace

int ScoreLog(const LogChoice& choice) {
  for (const auto& [option, value] : {std::pair("--track", &choice.track),
                                      {"--arm", &choice.arm},
                                      {"--bench", &choice.bench},
                                      {"--camera", &choice.camera},
                                      {"--lesson", &choice.lesson},
                                      {"--out", &choice.out}}) {
    if (value->empty()) throw InputError(fmt::format("--log needs {} too", option));
  }
  OutFolder out(choice.out);
  if (fs::exists(out.Database()) && !choice.force)
    throw InputError(
        fmt::format("{} holds results already; choose another "
                    "--out, or --force to replace them",
                    out.path().string()));
  SceneShelf shelf;
  LoggedSet set(choice, shelf);
  const Take take = set.Film();
  const Scorecard card = ScoreTake(take);
  const std::vector<StoredScore> scores = ToStored(card);
  const std::vector<StoredInput> inputs = set.Inputs();
  nlohmann::ordered_json json = ScorecardJson(take.id, inputs, scores);
  json["notes"] = set.notes;
  WriteOneTake(&out, take, card, inputs, json.dump(2) + "\n", "");
  for (const std::string& note : set.notes) fmt::print(stderr, "note: {}\n", note);
  if (choice.json)
    fmt::print("{}\n", json.dump(2));
  else
    fmt::print("{}\nThe take is in {} (results.db, scorecard.json, timeline.svg).\n{}\n", ScorecardTable(take.id, scores),
               out.path().string(), kCaution);
  return kFine;
}

}  // namespace dryrig
