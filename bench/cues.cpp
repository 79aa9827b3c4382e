#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "bench/cue_score.h"
#include "bench/program.h"
#include "bench/scorecard.h"
#include "bench/sentence_corpus.h"
#include "bench/text_table.h"
#include "policies/choice.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

using Json = nlohmann::ordered_json;
using Align = TextTable::Align;

struct CuesOptions {
  std::string lesson, sensing = "good", person, sentences, program;
  std::vector<std::string> props;
  int seeds = 1;
  double patience_s = 2;
  bool json = false;
};

int TellLessons(const CuesOptions& options) {
  SceneShelf shelf;
  std::vector<std::string> lessons{options.lesson};
  if (options.lesson == "all") lessons = ListScenes(SceneKind::kLesson);
  CueScores all;
  for (const std::string& lesson : lessons) {
    for (int seed = 1; seed <= options.seeds; ++seed) {
      TakeChoice choice;
      choice.lesson = lesson, choice.person = options.person, choice.sensing = options.sensing;
      choice.seed = static_cast<uint64_t>(seed);
      choice.policy.name = "tripod";  // any: the arm stands still
      const PreparedTake prepared = Prepare(WithDefaults(choice, shelf), shelf);
      if (prepared.setup.lesson.recorded)
        throw InputError(fmt::format("lesson {} is recorded: it has no beats to hold cues against", lesson));
      all.Add(ScoreCues(prepared.setup));
    }
  }
  TextTable table(
      {Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kLeft});
  table.Row({"cue", "precision", "recall", "F1", "delay s", "shown", "read", ""});
  table.Rule();
  Json out{{"dryrig", "cues/1"}, {"lessons", lessons}, {"sensing", options.sensing}, {"seeds", options.seeds}};
  for (size_t i = 0; i < all.kinds.size(); ++i) {
    const CueCount& c = all.kinds[i];
    const bool state = IsState(i);
    table.Row({kCueKinds[i], ForPeople(c.Precision()), ForPeople(c.Recall()), ForPeople(c.F1()), ForPeople(c.MedianDelay_s()),
               ForPeople(c.shown), ForPeople(c.read), state ? "seconds" : "times"});
    out["cues"].push_back({{"cue", kCueKinds[i]},
                           {"precision", OrNull(c.Precision())},
                           {"recall", OrNull(c.Recall())},
                           {"f1", OrNull(c.F1())},
                           {"median_delay_s", OrNull(c.MedianDelay_s())},
                           {"shown", c.shown},
                           {"read", c.read},
                           {"unit", state ? "s" : "1"}});
  }
  TextTable by_distance({Align::kLeft, Align::kRight, Align::kRight, Align::kRight});
  by_distance.Row({"pointing, fingertip to prop", "shown", "readings", "right"});
  by_distance.Rule();
  double from_m = 0;
  for (const PointingAtDistance& one : all.pointing) {
    const bool last = &one == &all.pointing.back();
    const std::string right = one.readings > 0 ? fmt::format("{:.1f} %", 100.0 * one.right / one.readings) : "-";
    by_distance.Row({last ? fmt::format("beyond {} m", from_m) : fmt::format("{} to {} m", from_m, one.up_to_m),
                     fmt::to_string(one.shown), fmt::to_string(one.readings), right});
    out["pointing_by_distance"].push_back({{"from_m", from_m},
                                           {"to_m", last ? Json(nullptr) : Json(one.up_to_m)},
                                           {"shown", one.shown},
                                           {"readings", one.readings},
                                           {"right", one.right}});
    from_m = one.up_to_m;
  }
  std::sort(all.torso_off_rad.begin(), all.torso_off_rad.end());
  const auto torso_deg = [&](double share) {
    const size_t n = all.torso_off_rad.size();
    return n == 0 ? 0 : all.torso_off_rad[static_cast<size_t>(share * static_cast<double>(n - 1))] * 180 / M_PI;
  };
  out["torso_direction_off_deg"] = {{"median", torso_deg(0.5)}, {"percentile_95", torso_deg(0.95)}};
  if (options.json)
    fmt::print("{}\n", out.dump(2));
  else
    fmt::print(
        "Cues of {} as read under sensing {}, {} seed{} each\n\n{}\n{}\nThe torso's direction is read {:.1f} deg off in the "
        "median, {:.1f} deg at the 95th percentile.\nHeld against the lessons' own beats; the delay is the "
        "median, from the end of "
        "the approach or of the\nlast word; - where nothing was there.\n",
        fmt::join(lessons, ", "), options.sensing, options.seeds, options.seeds == 1 ? "" : "s", table.ToString(),
        by_distance.ToString(), torso_deg(0.5), torso_deg(0.95));
  return kFine;
}

int TellSentences(const CuesOptions& options) {
  const std::vector<LabelledSentence> corpus = ReadCorpus(ReadTextFile(options.sentences), options.sentences);
  std::optional<SentenceProgram> program;
  SentenceReader reader;
  if (!options.program.empty()) {
    program.emplace(options.program, options.patience_s);
    reader = [&program](const std::string& text) { return program->Read(text); };
  } else {
    std::set<std::string> names(options.props.begin(), options.props.end());
    for (const std::string& lesson : ListScenes(SceneKind::kLesson)) {
      for (const Prop& prop : ReadLesson(FindScene(SceneKind::kLesson, lesson)).props) names.insert(prop.name);
    }
    reader = ShippedReading({names.begin(), names.end()});
  }
  const Confusion confusion = Read(corpus, reader);
  TextTable table(std::vector<Align>(kLabels + 3, Align::kRight));
  std::vector<std::string> header{"label"};
  header.insert(header.end(), kSentenceLabels.begin(), kSentenceLabels.end());
  header.insert(header.end(), {"all", "F1"});
  table.Row(header);
  table.Rule();
  Json out{{"dryrig", "sentences/1"}, {"sentences", corpus.size()}, {"macro_f1", confusion.MacroF1()}};
  for (size_t i = 0; i < kLabels; ++i) {
    std::vector<std::string> row{kSentenceLabels[i]};
    for (size_t j = 0; j < kLabels; ++j) {
      row.push_back(confusion.counts[i][j] == 0 ? "." : fmt::to_string(confusion.counts[i][j]));
      out["confusion"][kSentenceLabels[i]][kSentenceLabels[j]] = confusion.counts[i][j];
    }
    row.push_back(fmt::to_string(confusion.Of(i)));
    row.push_back(confusion.Of(i) > 0 ? fmt::format("{:.3f}", confusion.F1(i)) : "-");
    table.Row(row);
  }
  if (options.json)
    fmt::print("{}\n", out.dump(2));
  else
    fmt::print(
        "{} sentences, rows as labelled, columns as read by {}\n\n{}\nmacro-F1 {:.3f}, the mean over the labels that are there\n",
        corpus.size(), options.program.empty() ? "dryrig" : options.program, table.ToString(), confusion.MacroF1());
  return kFine;
}

int RunCues(const CuesOptions& options) {
  if (options.sentences.empty() == options.lesson.empty())
    throw InputError("cues: of what? a lesson, `all`, or --sentences FILE.tsv");
  if (options.sentences.empty() && !options.program.empty()) throw InputError("--reader goes with --sentences");
  return options.sentences.empty() ? TellLessons(options) : TellSentences(options);
}

}  // namespace

void AddCues(CommandTable& program) {
  auto options = std::make_shared<CuesOptions>();
  const Command command = program.Add("cues", "How well are cues and sentences read, apart from any camera motion?");
  command.Add("lesson", options->lesson, "Lesson file or name, or `all` that ship");
  command.Add("--sensing", options->sensing, "Sensing, also as NAME:key=value,...").ShowDefault();
  command.Add("--person", options->person, "Person; default: each lesson's");
  command.Add("--seeds", options->seeds, "Performances of each lesson, seeds 1 to N").Range(1, 1000).ShowDefault();
  command.Add("--sentences", options->sentences, "Sentences of your own: a line each of label, tab, sentence");
  command.Add("--prop", options->props, "With --sentences: a prop's name beside those of the shipped lessons; may be repeated");
  command.Add("--reader", options->program,
              "With --sentences: a program in the reader's place: {\"text\": ...} in, {\"label\": ...} out, a line each");
  command.Add("--patience", options->patience_s, "Seconds that it may take for one").Range(0.01, 3600.0).ShowDefault();
  command.Flag("--json", options->json, "Print JSON");
  command.Footer(fmt::format("Labels: {}\nExamples:\n  dryrig cues all --sensing good\n  dryrig cues --sentences mine.tsv",
                             fmt::join(kSentenceLabels, " ")));
  command.Run([options] { return RunCues(*options); });
}

}  // namespace dryrig
