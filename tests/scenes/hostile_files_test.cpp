// Files that were never meant for us, or are meant to hurt: no crash, no hang, a plain message.
#include <fmt/format.h>

#include <fstream>
#include <tuple>

#include "scenes/catalogue.h"
#include "tests/scenes/refusal.h"

namespace dryrig {
namespace {

TEST(HostileFiles, AreRefusedAtOnceByEveryReader) {
  struct Hostile {
    std::string what, text;
    Words words;
  };
  std::string steps;  // each key one column further in
  for (size_t depth = 0; depth < 900; ++depth) steps += std::string(depth, ' ') + "a:\n";
  std::string bomb = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n";
  for (int i = 1; i < 12; ++i) {
    bomb += fmt::format("a{}: &a{} [{}]\n", i, i, Repeat(fmt::format("*a{}, ", i - 1), 9));
  }
  const Words syntax{"f.yaml:"};
  const std::vector<Hostile> rows{
      {"nothing", "", {"is empty"}},
      {"blank lines", "\n\n  \n", {"is empty"}},
      {"a comment", "# nothing here\n", {"is empty"}},
      {"an empty document", "---\n", {"expected a map that begins with `dryrig: "}},
      {"a word", "lesson", {"f.yaml:1:1: expected a map that begins with `dryrig: ", "found \"lesson\""}},
      {"a list", "- a\n- b\n", {"f.yaml:1:1: expected a map", "found a list"}},
      {"deep brackets", Repeat("[", 100'000), syntax},
      {"deep braces", Repeat("{", 100'000), syntax},
      {"deep pairs", Repeat("{a: ", 100'000), syntax},
      {"deep flow under a key", "a: " + Repeat("[", 100'000) + Repeat("]", 100'000), {"nested more than 16 levels"}},
      {"deep dashes", Repeat("- ", 200'000), {"nested more than 16 levels"}},
      {"deep questions", Repeat("? ", 200'000), syntax},
      {"deep steps", steps, {"nested more than 16 levels"}},
      {"alias bomb", bomb, {"anchors (&name) and aliases (*name)", "write the value out"}},
      {"alias of itself", "a: &a [*a]\n", {"anchors (&name) and aliases (*name)"}},
      {"merge key", "a: {b: 1}\n<<: *a\n", {"anchor"}},
      {"many values", Repeat("- 1\n", 120'000), {"more than 100000 values", "split"}},
      {"many keys",
       [] {
         std::string text;
         for (int i = 0; i < 30'000; ++i) text += fmt::format("k{}: 1\n", i);
         return text;
       }(),
       {"more than 200 keys"}},
      {"too large", Repeat("# padding\n", 600'000), {"6000000 bytes, more than the", "is it the right file?"}},
      {"UTF-16",
       std::string("\xFF\xFE"
                   "d\0r\0",
                   6),
       {"f.yaml:1:1: byte 0xFF is not UTF-8", "save the file as UTF-8"}},
      {"zeros", std::string(1000, '\0'), {"control character 0x00"}},
      {"a picture", "\x89PNG\r\n\x1a\n", {"byte 0x89 is not UTF-8"}},
      {"one long word", std::string(400'000, 'q'), {"found \"qqq"}},
      {"one long key", "dryrig: x/1\n" + std::string(1000, 'k') + ": 1\n", {"expected "}},
      {"many openings of a quote", Repeat("a: \"", 100'000), syntax},
      {"a tag of our own", "%TAG ! tag:x,2000:\n---\n!foo a\n", {"tag ", "leave it out"}},
  };
  for (const auto& [kind, reader] : Readers()) {
    for (const Hostile& row : rows) {
      SCOPED_TRACE(kind + " reader, " + row.what);
      const std::string message = Refusal([&] { reader.parse(row.text, "f.yaml"); });
      EXPECT_THAT(message, testing::StartsWith("f.yaml:"));
      ExpectWords(message, row.words);
    }
  }
}

TEST(HostileFiles, TooManyOrTooLongIsRefusedByNumber) {
  const std::string head = std::string(kLesson).substr(0, std::string(kLesson).find("beats:"));
  const auto refuse = [](const std::string& text) { return Refusal([&] { ParseLesson(text, "f.yaml"); }); };
  ExpectWords(refuse(head + "beats: []\n"), {"f.yaml:10:8: beats: expected a list of 1 to 2000, found 0 items"});
  ExpectWords(refuse(head + "beats:\n" + Repeat("  - pause: {for_s: 0.1}\n", 2001)),
              {"expected a list of 1 to 2000, found 2001 items"});
  ExpectWords(refuse(head + "beats:\n" + Repeat("  - pause: {for_s: 1}\n", 1'000'000)),
              {"bytes, more than the", "is it the right file?"});
  ExpectWords(refuse(head + "beats:\n" + Repeat("  - pause: {for_s: 300}\n", 5)),
              {"f.yaml:15:5: beat 5: the lesson lasts 1500 s", "at most 1200 s"});
  std::string props = "props:\n";
  for (int i = 0; i < 41; ++i) {
    props += fmt::format("  - {{name: p{}, sphere: {{diameter_mm: 5}}, at_mm: [{}, 100], mass_g: 1}}\n", i, 10 * i);
  }
  const std::string no_props = head.substr(0, head.find("props:"));
  ExpectWords(refuse(no_props + props + "beats:\n  - pause: {for_s: 1}\n"),
              {"f.yaml:8:3: props: expected a list of 0 to 40, found 41 items"});
  ExpectWords(refuse(no_props + "beats:\n  - reach: {to: awl}\n"), {"reach to \"awl\": no such prop; the lesson has no props"});
}

TEST(HostileFiles, FilesThatAreNoneAreNamedAsTheUserGaveThem) {
  const std::filesystem::path folder = std::filesystem::path(testing::TempDir()) / "dryrig_broken_inputs";
  std::filesystem::create_directories(folder);
  const std::string large = (folder / "large.yaml").string(), latin = (folder / "latin.yaml").string();
  std::ofstream(large) << Repeat("0123456789abcde\n", 300'000);
  std::ofstream(latin) << "dryrig: lesson/1\ntitle: Caf\xE9\n";
  for (const auto& [kind, reader] : Readers()) {
    SCOPED_TRACE(kind);
    ExpectWords(Refusal([&] { reader.read("nowhere/none.yaml"); }), {"nowhere/none.yaml: no such file", "check the path"});
    ExpectWords(Refusal([&] { reader.read(folder); }), {folder.string() + ": is a folder", "name a file in it"});
    ExpectWords(Refusal([&] { reader.read("/dev/zero"); }), {"/dev/zero: is not a plain file"});
    ExpectWords(Refusal([&] { reader.read(large); }), {large + ": 4800000 bytes, more than the", "is it the right file?"});
    ExpectWords(Refusal([&] { reader.read(latin); }), {latin + ":2:11: byte 0xE9 is not UTF-8", "save the file"});
    ExpectWords(Refusal([&] { reader.read(large + "/x.yaml"); }), {large + "/x.yaml: ", "check the path"});
  }
  std::filesystem::remove_all(folder);
}

// What a lesson names must be there when it is read from a file; a text alone is judged by itself.
TEST(HostileFiles, ALessonsBenchAndPersonMustExist) {
  const std::filesystem::path file = std::filesystem::path(testing::TempDir()) / "dryrig_no_bench.yaml";
  for (const auto& [from, to, words] : std::vector<std::tuple<std::string, std::string, std::string>>{
           {"study-table", "study-tabel", ":5:8: no bench \"study-tabel\"; did you mean \"study-table\"?"},
           {"avery", "averi", ":6:9: no person \"averi\"; did you mean \"avery\"?"}}) {
    std::string text = kLesson;
    text.replace(text.find(from), from.size(), to);
    std::ofstream(file) << text;
    EXPECT_NO_THROW(ParseLesson(text, "f.yaml"));
    ExpectWords(Refusal([&] { ReadLesson(file); }), {file.string() + words});
  }
  std::filesystem::remove(file);
}

// Damage at random: whatever is left of a shipped file, it reads or is refused as bad input.
TEST(HostileFiles, DamagedShippedFilesReadOrAreRefused) {
  uint64_t state = 20240229;
  const auto random = [&state](size_t below) {  // Knuth's MMIX congruential generator: plenty for choosing bytes
    state = state * 6364136223846793005u + 1442695040888963407u;
    return static_cast<size_t>((state >> 33) % below);
  };
  size_t refused = 0, read = 0;
  const auto attempt = [&](const Reader& reader, const std::string& text) {
    const auto start = std::chrono::steady_clock::now();
    try {
      reader.parse(text, "f.yaml");
      ++read;
    } catch (const InputError& e) {
      EXPECT_THAT(std::string(e.what()), testing::StartsWith("f.yaml:")) << text;
      ++refused;
    } catch (const std::exception& e) {
      ADD_FAILURE() << "threw something else: " << e.what() << "\n" << text;
    }
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    EXPECT_LT(took.count(), 1.0) << text;
  };
  const std::map<std::string, SceneKind> kinds{{"lesson", SceneKind::kLesson},
                                               {"bench", SceneKind::kBench},
                                               {"camera", SceneKind::kCamera},
                                               {"person", SceneKind::kPerson},
                                               {"sensing", SceneKind::kSensing}};
  for (const auto& [kind, reader] : Readers()) {
    for (const std::string& name : ListScenes(kinds.at(kind))) {
      SCOPED_TRACE(kind + " " + name);
      std::ifstream in(FindScene(kinds.at(kind), name), std::ios::binary);
      const std::string whole{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
      ASSERT_FALSE(whole.empty());
      for (size_t length = 0; length < whole.size(); length += 37) attempt(reader, whole.substr(0, length));
      for (int round = 0; round < 150; ++round) {
        std::string text = whole;
        const size_t flips = 1 + random(4);
        for (size_t i = 0; i < flips; ++i) {
          // Half of the damage is any byte, half is a character that means something to YAML.
          static constexpr std::string_view kSharp = "[]{}:,-?&*!|>'\"%@` \n\t#";
          text[random(text.size())] = random(2) == 0 ? static_cast<char>(random(256)) : kSharp[random(kSharp.size())];
        }
        attempt(reader, text);
      }
    }
  }
  // Both happen, so neither branch above is idle.
  EXPECT_GT(refused, 1000u);
  EXPECT_GT(read, 50u);
}

}  // namespace
}  // namespace dryrig
