#include "bench/list_lessons.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "bench/text_table.h"
#include "policies/choice.h"
#include "scenes/catalogue.h"
#include "sim/performance.h"

namespace dryrig {

namespace {

using Json = nlohmann::ordered_json;
using Align = TextTable::Align;

/// A lesson as its own person performs it.
struct Played {
  const Lesson& lesson;
  const PersonSpec& person;
  const Bench& bench;
  Performance performance;
};

Played Play(const std::string& name, SceneShelf& shelf) {
  TakeChoice asked;
  asked.lesson = name;
  const TakeChoice choice = WithDefaults(asked, shelf);
  const Lesson& lesson = shelf.GetLesson(name);
  const Bench& bench = shelf.GetBench(choice.bench);
  const PersonSpec& person = shelf.GetPerson(choice.person);
  return {lesson, person, bench, Performance(lesson, bench, person, 1)};
}

std::string Clock(double t_s) {
  const int seconds = static_cast<int>(t_s + 0.5);
  return fmt::format("{}:{:02}", seconds / 60, seconds % 60);
}

/// What happens and what is said in the beat that an intent belongs to.
std::string ActionOf(const Played& played, const TimedIntent& intent) {
  for (const TimedBeat& beat : played.performance.beats()) {
    if (beat.beat == intent.beat) return beat.label;
  }
  return "";
}
std::string SayOf(const Played& played, const TimedIntent& intent) {
  const auto i = static_cast<size_t>(intent.beat);
  return intent.beat >= 0 && i < played.lesson.beats.size() ? played.lesson.beats[i].say : "";
}

std::string SubjectsOf(const Shot& shot) {
  std::string out;
  for (const Subject& subject : shot.subjects) out += (out.empty() ? "" : " + ") + ToString(subject);
  return out;
}

}  // namespace

std::string ListLessons(bool json) {
  SceneShelf shelf;
  Json out = Json::array();
  TextTable table(
      {Align::kLeft, Align::kLeft, Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kLeft, Align::kLeft});
  table.Row({"lesson", "set", "craft", "length", "beats", "intents", "bench", "person"});
  table.Rule();
  std::string hard;
  for (const std::string& name : ListScenes(SceneKind::kLesson)) {
    const Played played = Play(name, shelf);
    const Lesson& lesson = played.lesson;
    const Performance& p = played.performance;
    const std::string set(ToString(lesson.set));
    out.push_back({{"name", lesson.name},
                   {"title", lesson.title},
                   {"set", set},
                   {"craft", lesson.craft},
                   {"length_s", p.duration_s()},
                   {"beats", p.beats().size()},
                   {"intents", p.intents().size()},
                   {"hard_for", lesson.hard_for},
                   {"bench", played.bench.name},
                   {"person", played.person.name}});
    table.Row({lesson.name, set, lesson.craft, Clock(p.duration_s()), std::to_string(p.beats().size()),
               std::to_string(p.intents().size()), played.bench.name, played.person.name});
    hard += Wrap(fmt::format("{}: {}. Hard for {}.", lesson.name, lesson.title, lesson.hard_for), 110, 4) + "\n";
  }
  if (json) return out.dump(2) + "\n";
  return table.ToString() + "\n" + hard +
         "\nLength in minutes as performed by the lesson's own person, seed 1. Policies are tuned on set train alone.\n";
}

std::string ListIntents(const std::string& name, bool json) {
  SceneShelf shelf;
  const Played played = Play(name, shelf);
  Json out = Json::array();
  TextTable table(
      {Align::kRight, Align::kRight, Align::kRight, Align::kLeft, Align::kLeft, Align::kLeft, Align::kLeft, Align::kLeft});
  table.Row({"from_s", "to_s", "beat", "action", "subject", "size", "angle", "composition"});
  table.Rule();
  for (const TimedIntent& intent : played.performance.intents()) {
    const std::string action = ActionOf(played, intent);
    const std::string size(ToString(intent.shot.size)), angle(ToString(intent.shot.angle));
    const std::string composition(ToString(intent.shot.composition));
    Json subjects = Json::array();
    for (const Subject& subject : intent.shot.subjects) subjects.push_back(ToString(subject));
    out.push_back({{"start_s", intent.start_s},
                   {"end_s", intent.end_s},
                   {"beat", intent.beat + 1},
                   {"action", action},
                   {"say", SayOf(played, intent)},
                   {"subjects", subjects},
                   {"size", size},
                   {"angle", angle},
                   {"composition", composition}});
    table.Row({fmt::format("{:.1f}", intent.start_s), fmt::format("{:.1f}", intent.end_s), std::to_string(intent.beat + 1),
               action, SubjectsOf(intent.shot), size, angle, composition});
  }
  if (json) return out.dump(2) + "\n";
  return fmt::format("{}: {}, by {} at {}, seed 1\n", played.lesson.name, played.lesson.title, played.person.name,
                     played.bench.name) +
         table.ToString();
}

}  // namespace dryrig
