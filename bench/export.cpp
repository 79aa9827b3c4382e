#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "bench/edit_out.h"
#include "bench/joint_export.h"
#include "bench/out_folder.h"
#include "bench/outside_options.h"
#include "bench/pictures.h"
#include "bench/program.h"
#include "bench/series_csv.h"
#include "bench/text_table.h"
#include "scenes/error.h"
#include "sim/store.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

using Align = TextTable::Align;

struct ExportOptions {
  std::string take, csv, video, png, view = "lens", size;
  std::string edl, otio, vtt, rate, start, media = "lens.mp4";
  std::vector<std::string> series;
  JointExport joints;
  OutsideChoice outside;
  double frame_s = std::numeric_limits<double>::quiet_NaN();
  bool list = false, force = false, quiet = false;
};

bool IsMetric(const std::string& name) {
  return std::any_of(Metrics().begin(), Metrics().end(), [&](const Metric& metric) { return metric.name == name; });
}

/// Those named, in that order; all of the metrics if none is.
std::vector<TakeSeries> Choose(const std::vector<TakeSeries>& all, const std::vector<std::string>& names) {
  std::vector<TakeSeries> out;
  if (names.empty()) {
    std::copy_if(all.begin(), all.end(), std::back_inserter(out), [](const TakeSeries& one) { return IsMetric(one.name); });
    return out;
  }
  for (const std::string& name : names) {
    const auto it = std::find_if(all.begin(), all.end(), [&](const TakeSeries& one) { return one.name == name; });
    if (it == all.end()) {
      std::vector<std::string> known;
      for (const TakeSeries& one : all) known.push_back(one.name);
      throw InputError(fmt::format("no series \"{}\"{}; --list shows all", name, Suggest(name, known)));
    }
    out.push_back(*it);
  }
  return out;
}

void PrintList(const std::vector<TakeSeries>& all) {
  TextTable table({Align::kLeft, Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kLeft});
  table.Row({"series", "unit", "rate [Hz]", "samples", "columns", "of"});
  table.Rule();
  for (const TakeSeries& one : all) {
    table.Row({one.name, one.unit, ForMachines(one.rate_hz), std::to_string(one.rows()), std::to_string(one.columns.size()),
               IsMetric(one.name) ? "metric" : "take"});
  }
  fmt::print("{}", table.ToString());
}

/// What one command line asks for; the rest of the options belong to it.
enum class Wish { kList, kCsv, kVideo, kFrame, kEdit, kJoints };
Wish WishOf(const ExportOptions& options) {
  const bool frame = !std::isnan(options.frame_s);
  if (frame != !options.png.empty()) throw InputError("--frame T_s and --png FILE go together");
  const bool edit = !options.edl.empty() || !options.otio.empty() || !options.vtt.empty();
  const bool joints = !options.joints.file.empty();
  const int wishes = options.list + !options.csv.empty() + !options.video.empty() + frame + edit + joints;
  if (wishes == 0) {
    throw InputError(
        "say --csv FILE (- for standard output), --video FILE.mp4, --frame T_s --png FILE, --edl, --otio or --vtt FILE, "
        "--joints FILE, or --list to see what series there are");
  }
  if (wishes > 1) throw InputError("--list, --csv, --video, --frame, --joints and the edit each need a command of their own");
  return options.list            ? Wish::kList
         : joints                ? Wish::kJoints
         : edit                  ? Wish::kEdit
         : frame                 ? Wish::kFrame
         : options.video.empty() ? Wish::kCsv
                                 : Wish::kVideo;
}

/// Nothing is replaced without --force.
void RequireWritable(const std::string& option, const fs::path& file, bool force) {
  if (fs::exists(file) && !force)
    throw InputError(fmt::format("{} is there already; choose another file, or --force to replace it", file.string()));
  const fs::path folder = fs::absolute(file).parent_path();
  if (!fs::is_directory(folder)) throw InputError(fmt::format("{} {}: no folder {}", option, file.string(), folder.string()));
}

/// The edit's files, all of them made before the first is written.
void WriteEdit(const Take& take, const ExportOptions& options) {
  const std::string usual = fmt::format("{:g}", take.id.frame_hz);
  const FrameRate& rate = FindFrameRate(options.rate.empty() ? usual : options.rate);
  EditSource source{fmt::format("{} by {}", take.id.lesson, take.id.policy), options.media, 0};
  if (!options.start.empty()) source.first_frame = FromTimeCode(options.start, rate);
  std::vector<std::pair<std::string, std::string>> files;
  if (!options.edl.empty()) files.emplace_back(options.edl, EditList(take, source, rate));
  if (!options.otio.empty()) files.emplace_back(options.otio, EditTimeline(take, source, rate));
  if (!options.vtt.empty()) files.emplace_back(options.vtt, SpokenWebVtt(take));
  for (const auto& [file, text] : files) WriteFile(file, text);
}

int RunExport(const ExportOptions& options) {
  options.outside.Load({});
  const Wish wish = WishOf(options);
  const bool to_file = wish == Wish::kCsv && options.csv != "-";
  if (to_file) RequireWritable("--csv", options.csv, options.force);
  if (wish == Wish::kVideo) RequireWritable("--video", options.video, options.force);
  if (wish == Wish::kFrame) RequireWritable("--png", options.png, options.force);
  for (const auto& [option, file] : {std::pair("--edl", &options.edl), {"--otio", &options.otio}, {"--vtt", &options.vtt}}) {
    if (!file->empty()) RequireWritable(option, *file, options.force);
  }
  if (wish == Wish::kJoints) {
    RequireWritable("--joints", options.joints.file, options.force);
    return ExportJoints(options.take, options.joints);
  }
  FilmChoice film{ParseFilmView(options.view), {}};
  if (!options.size.empty()) film.size = ParseFrameSize(options.size);
  const TakeRef ref = ParseTakeRef(options.take);
  const Take take = Store(ref.db, Store::Mode::kRead).ReadTake(ref.id);
  if (wish == Wish::kEdit) {
    WriteEdit(take, options);
    return kFine;
  }
  if (wish == Wish::kVideo) {
    WriteFilm(take, film, options.video, options.quiet);
    return kFine;
  }
  if (wish == Wish::kFrame) {
    WriteFrame(take, options.frame_s, film, options.png);
    return kFine;
  }
  const std::vector<TakeSeries> all = AllSeries(take, ScoreTake(take));
  if (wish == Wish::kList) {
    PrintList(all);
    return kFine;
  }
  const std::string csv = SeriesCsv(Choose(all, options.series));
  if (to_file)
    WriteFile(options.csv, csv);
  else
    fmt::print("{}", csv);
  return kFine;
}

}  // namespace

void AddExport(CommandTable& program) {
  auto options = std::make_shared<ExportOptions>();
  const Command command = program.Add(
      "export",
      "Write series of a stored take as CSV, its frames as a film or a picture, its shots as an edit, its joint motion.");
  command.Add("take", options->take, "A folder or FILE.db, with :ID after it where there are several takes").Required();
  command.Add("--csv", options->csv, "File to write; - is standard output");
  command.Add("--series", options->series, "Series by name; may be repeated; default: those of all metrics");
  command.Flag("--list", options->list, "List the series instead");
  command.Add("--video", options->video, "Film to write, MP4 with H.264");
  command.Add("--frame", options->frame_s, "Time in seconds of one frame, for --png");
  command.Add("--png", options->png, "Picture to write");
  command.Add("--view", options->view, "What film and picture show: lens, room or both").ShowDefault();
  command.Add("--size", options->size, "WIDTHxHEIGHT in pixels; default: 540 high, in the camera's aspect");
  command.Add("--edl", options->edl, "Edit list to write, CMX 3600: the shots chosen, moves marked, missed cues");
  command.Add("--otio", options->otio, "The same as an OpenTimelineIO file");
  command.Add("--vtt", options->vtt, "The sentences as WebVTT");
  command.Add("--rate", options->rate, "Frame rate of the edit: 23.976, 24, 25, 29.97, 29.97-drop, ...; default: the camera's");
  command.Add("--start", options->start, "Time code of the film's first frame; default: zero");
  command.Add("--media", options->media, "Name of the film in the edit").ShowDefault();
  command.Add("--joints", options->joints.file,
              "Joint motion for the arm's controller: .yaml or .json in the fields of "
              "trajectory_msgs/JointTrajectory, or .csv");
  command.Add("--rate-hz", options->joints.rate_hz, "Points a second of the joint motion, 20 to 1000").ShowDefault();
  command.Add("--park", options->joints.park,
              "Posture before and after it, one number a joint: deg, or mm; default: the arm's home");
  command.Add("--least-mm", options->joints.least_mm, "How far it must stay from the person as recorded").ShowDefault();
  command.Add("--built-together", options->joints.together,
              "BODY:BODY, two of the arm's own bodies that overlap in its coarse shapes alone; may be repeated");
  command.Add("--arm", options->joints.arm, "The arm's file, where the take was filmed with one that is not shipped");
  command.Flag("--quiet,-q", options->quiet, "No progress");
  command.Flag("--force", options->force, "Replace a file that is there");
  options->outside.AddTo(command);
  command.Footer(
      "Times are in seconds; a header gives each unit; an empty field: nothing to measure, or between two samples.\n"
      "Joint motion is held against every limit before it is written: exit 1 names what would be broken, and nothing is "
      "written.\n"
      "Examples:\n"
      "  dryrig export out/one --list\n"
      "  dryrig export out/one --csv out/one/metrics.csv\n"
      "  dryrig export out/one --series camera_position --series clearance --csv out/one/camera.csv\n"
      "  dryrig export out/one --video out/one/lens.mp4\n"
      "  dryrig export out/one --edl out/one/edit.edl --vtt out/one/spoken.vtt --rate 29.97-drop --start \"01:00:00;00\"\n"
      "  dryrig export out/one --joints out/one/joints.yaml --rate-hz 250\n"
      "  dryrig export out/one --frame 12.5 --png out/one/both.png --view both");
  command.Run([options] { return RunExport(*options); });
}

}  // namespace dryrig
