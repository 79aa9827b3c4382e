#include <fmt/format.h>

#include <CLI/CLI.hpp>

#include "bench/out_folder.h"
#include "bench/program.h"
#include "bench/series_csv.h"
#include "bench/text_table.h"
#include "scenes/error.h"
#include "sim/store.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

struct ExportOptions {
  std::string take, csv;
  std::vector<std::string> series;
  bool list = false, force = false;
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
  using Align = TextTable::Align;
  TextTable table({Align::kLeft, Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kLeft});
  table.Row({"series", "unit", "rate [Hz]", "samples", "columns", "of"});
  table.Rule();
  for (const TakeSeries& one : all) {
    table.Row({one.name, one.unit, ForMachines(one.rate_hz), std::to_string(one.rows()), std::to_string(one.columns.size()),
               IsMetric(one.name) ? "metric" : "take"});
  }
  fmt::print("{}", table.ToString());
}

int RunExport(const ExportOptions& options) {
  if (options.csv.empty() && !options.list)
    throw InputError("say --csv FILE (- for standard output), or --list to see what there is");
  const bool to_file = !options.csv.empty() && options.csv != "-";
  if (to_file && fs::exists(options.csv) && !options.force) {
    throw InputError(fmt::format("{} is there already; choose another file, or --force to replace it", options.csv));
  }
  const fs::path folder = to_file ? fs::absolute(options.csv).parent_path() : fs::path();
  if (to_file && !fs::is_directory(folder)) throw InputError(fmt::format("--csv {}: no folder {}", options.csv, folder.string()));
  const TakeRef ref = ParseTakeRef(options.take);
  const Take take = Store(ref.db, Store::Mode::kRead).ReadTake(ref.id);
  const std::vector<TakeSeries> all = AllSeries(take, ScoreTake(take));
  if (options.list) {
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

void AddExport(CLI::App& program, int* exit_code) {
  auto options = std::make_shared<ExportOptions>();
  CLI::App* command = program.add_subcommand("export", "Write series of a stored take as CSV.");
  command->add_option("take", options->take, "A folder or FILE.db, with :ID after it where there are several takes")->required();
  command->add_option("--csv", options->csv, "File to write; - is standard output");
  command->add_option("--series", options->series, "Series by name; may be repeated; default: those of all metrics")
      ->allow_extra_args(false);
  command->add_flag("--list", options->list, "List the series instead");
  command->add_flag("--force", options->force, "Replace a file that is there");
  command->footer(
      "Times are in seconds; a header gives each unit; an empty field: nothing to measure, or between two samples.\n"
      "Examples:\n"
      "  dryrig export out/one --list\n"
      "  dryrig export out/one --csv out/one/metrics.csv\n"
      "  dryrig export out/one --series camera_position --series clearance --csv out/one/camera.csv");
  command->callback([options, exit_code] { *exit_code = RunExport(*options); });
}

}  // namespace dryrig
