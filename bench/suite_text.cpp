#include "bench/suite_text.h"

#include <fmt/format.h>

#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <tuple>

#include "bench/grid.h"
#include "bench/text_table.h"

namespace dryrig {

namespace {

using Json = nlohmann::ordered_json;

/// The parts that a grid's takes are of, each once, in the grid's order.
struct GridParts {
  std::vector<std::string> lessons, people, policies, sensings, arms, benches, cameras;
  std::set<uint64_t> seeds;
  size_t takes = 0;
  double film_s = 0;
};

GridParts PartsOf(const Suite& suite, SceneShelf& shelf) {
  for (const PrimaryComparison& primary : suite.primary) FindMetric(primary.metric);
  for (const HardLimit& limit : suite.limits) FindMetric(limit.metric);
  GridParts out;
  std::map<std::tuple<std::string, std::string, std::string, uint64_t>, double> lengths;
  const auto note = [](std::vector<std::string>* names, const std::string& name) {
    if (std::find(names->begin(), names->end(), name) == names->end()) names->push_back(name);
  };
  for (const GridTake& take : MakeGrid(suite, shelf)) {
    note(&out.lessons, take.id.lesson), note(&out.people, take.id.person), note(&out.policies, take.policy);
    note(&out.sensings, take.id.sensing), note(&out.arms, take.id.arm), note(&out.benches, take.id.bench);
    note(&out.cameras, take.id.camera);
    out.seeds.insert(take.id.seed);
    ++out.takes;
    const TakeChoice& c = take.choice;
    const auto [it, fresh] = lengths.try_emplace({c.lesson, c.bench, c.person, c.seed}, 0);
    if (fresh) {
      it->second =
          Performance(shelf.GetLesson(c.lesson), shelf.GetBench(c.bench), shelf.GetPerson(c.person), c.seed).duration_s();
    }
    out.film_s += it->second;
  }
  return out;
}

std::string Counted(size_t count, const char* one, const char* many) {
  return fmt::format("{} {}", count, count == 1 ? one : many);
}

std::string Hours(double s) {
  return s < 3600 ? fmt::format("{:.0f} min", s / 60) : fmt::format("{:.1f} h", s / 3600);
}

}  // namespace

std::string TellSuite(const Suite& suite, SceneShelf& shelf) {
  const GridParts parts = PartsOf(suite, shelf);
  std::string out = fmt::format("suite {}: {}\n  {}, {} to film at {} Hz physics\n", suite.name, suite.title,
                                Counted(parts.takes, "take", "takes"), Hours(parts.film_s), suite.physics_hz);
  const auto tell = [&out](const char* one, const char* many, const std::vector<std::string>& names) {
    const std::string text = fmt::format("{}: {}", Counted(names.size(), one, many), fmt::join(names, ", "));
    out += fmt::format("  {}\n", Wrap(text, 116, 6));
  };
  tell("lesson", "lessons", parts.lessons);
  tell("policy", "policies", parts.policies);
  tell("person", "people", parts.people);
  tell("sensing", "sensings", parts.sensings);
  tell("arm", "arms", parts.arms);
  tell("bench", "benches", parts.benches);
  tell("camera", "cameras", parts.cameras);
  out += fmt::format("  {}\n", Counted(parts.seeds.size(), "seed", "seeds"));
  for (const PrimaryComparison& primary : suite.primary)
    out += fmt::format("  compares {} of {} against {}\n", primary.metric, primary.policy, primary.against);
  for (const HardLimit& limit : suite.limits) {
    out += fmt::format("  allows {} {} {} of {}\n", limit.metric, limit.at_least ? "at least" : "at most",
                       limit.at_least ? *limit.at_least : *limit.at_most,
                       limit.policies.empty() ? "every policy" : fmt::format("{}", fmt::join(limit.policies, ", ")));
  }
  return out;
}

std::string ListSuites(bool json) {
  using Align = TextTable::Align;
  TextTable table({Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kRight,
                   Align::kRight, Align::kLeft});
  table.Row({"suite", "takes", "to film", "lessons", "policies", "people", "sensings", "seeds", "title"});
  table.Rule();
  Json all = Json::array();
  for (const std::string& name : ListScenes(SceneKind::kSuite)) {
    SceneShelf shelf;
    const Suite suite = ReadSuite(FindScene(SceneKind::kSuite, name));
    const GridParts parts = PartsOf(suite, shelf);
    table.Row({name, std::to_string(parts.takes), Hours(parts.film_s), std::to_string(parts.lessons.size()),
               std::to_string(parts.policies.size()), std::to_string(parts.people.size()), std::to_string(parts.sensings.size()),
               std::to_string(parts.seeds.size()), suite.title});
    all.push_back({{"name", name},
                   {"title", suite.title},
                   {"takes", parts.takes},
                   {"film_s", parts.film_s},
                   {"lessons", parts.lessons},
                   {"policies", parts.policies},
                   {"people", parts.people},
                   {"sensings", parts.sensings},
                   {"seeds", parts.seeds}});
  }
  if (json) return all.dump(2) + "\n";
  return table.ToString() + "\nFilm one with `dryrig compare NAME --out FOLDER`; `dryrig check FILE` tells what a suite holds.\n";
}

}  // namespace dryrig
