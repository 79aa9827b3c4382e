#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <locale>
#include <numbers>

#include "scenes/error.h"
#include "scenes/yaml_node.h"

namespace dryrig {
namespace {

using testing::HasSubstr;
using testing::StartsWith;
using testing::ThrowsMessage;

YamlMap Map(const std::string& text, const std::vector<std::string>& known) {
  return YamlNode::Parse(text, "f.yaml").Map(known);
}
double One(const std::string& key, const std::string& number) {
  return Map(key + ": " + number, {key}).Number(key, {-1e9, 1e9});
}

TEST(Yaml, NumbersComeInSiByTheSuffixOfTheirKey) {
  EXPECT_EQ(One("a_mm", "740"), 0.74);
  EXPECT_EQ(One("a_um", "15"), 1.5e-5);
  EXPECT_EQ(One("a_g", "40"), 0.04);
  EXPECT_EQ(One("a_ms", "80"), 0.08);
  EXPECT_EQ(One("a_kg", "0.9"), 0.9);
  EXPECT_EQ(One("a_s", "2.5"), 2.5);
  EXPECT_EQ(One("a_hz", "30"), 30);
  EXPECT_EQ(One("a_deg", "180"), std::numbers::pi);
  EXPECT_EQ(One("a_deg_per_s", "-180"), -std::numbers::pi);
  EXPECT_EQ(One("a_octaves_per_s", "0.6"), 0.6);  // not seconds, and not divided
  EXPECT_EQ(One("pace", "1.1"), 1.1);
}

TEST(Yaml, ListItemsCarryTheUnitOfTheirKey) {
  const Eigen::Vector3d v = Map("at_mm: [1, -2, 3e3]", {"at_mm"}).Vector<3>("at_mm", {-5000, 5000});
  EXPECT_EQ(v, Eigen::Vector3d(0.001, -0.002, 3));
  EXPECT_THAT(
      [] {
        Map("at_mm: [1, 9]", {"at_mm"}).Vector<2>("at_mm", {0, 5});
      },
      ThrowsMessage<InputError>(HasSubstr("f.yaml:1:12: at_mm, item 2: 9 mm is out of range; give 0 to 5 mm")));
}

TEST(Yaml, NumbersReadInEveryUsualSpelling) {
  for (const auto& [text, value] : std::vector<std::pair<std::string, double>>{
           {"4", 4}, {"+4", 4}, {"-4.0", -4}, {"4.", 4}, {".5", 0.5}, {"4e2", 400}, {"4E-2", 0.04}, {"007", 7}}) {
    SCOPED_TRACE(text);
    EXPECT_EQ(One("x", text), value);
  }
  for (const char* text : {"4 5", "4x", "e5", "+-4", "++4", "0x10", "4_000", "--4", "1:30", "true"}) {
    SCOPED_TRACE(text);
    EXPECT_THAT([&] { One("x", text); }, ThrowsMessage<InputError>(HasSubstr("x: expected a number, found")));
  }
}

TEST(Yaml, LimitsAreIncluded) {
  const YamlMap map = Map("a: 1\nb: 2\nc: 2.0000000001", {"a", "b", "c"});
  EXPECT_EQ(map.Number("a", {1, 2}), 1);
  EXPECT_EQ(map.Number("b", {1, 2}), 2);
  EXPECT_THROW(map.Number("c", {1, 2}), InputError);
}

// A decimal comma and a thousands point in the process's locale change nothing.
TEST(Yaml, NumbersDoNotDependOnTheLocale) {
  struct Comma : std::numpunct<char> {
    char do_decimal_point() const override { return ','; }
    char do_thousands_sep() const override { return '.'; }
    std::string do_grouping() const override { return "\3"; }
  };
  const std::locale before = std::locale::global(std::locale(std::locale::classic(), new Comma));
  const double value = One("a_mm", "1234.5");
  std::string message;
  try {
    Map("a_mm: 12345.5", {"a_mm"}).Number("a_mm", {0.25, 10'000});
  } catch (const InputError& e) {
    message = e.what();
  }
  std::locale::global(before);
  EXPECT_EQ(value, 1.2345);
  EXPECT_THAT(message, HasSubstr("12345.5 mm is out of range; give 0.25 to 10000 mm"));
}

TEST(Yaml, PlacesCountFromOneAndNameTheFileAsGiven) {
  const std::string text = "a: 1\nlist:\n  - x\n  - {deep: 2}\n";
  const YamlMap map = YamlNode::Parse(text, "some/where.yaml").Map({"a", "list"});
  const SourcePos a = map.At("a").pos();
  EXPECT_EQ(ToString(a), "some/where.yaml:1:4");
  const YamlNode deep = map.At("list").List(2, 2)[1].Map({"deep"}).At("deep");
  EXPECT_EQ(ToString(deep.pos()), "some/where.yaml:4:12");
}

TEST(Yaml, WindowsLineEndsAndAByteOrderMarkAreNoMatter) {
  const YamlMap map =
      Map("\xEF\xBB\xBF"
          "a: 1\r\nb_mm: 2\r\n",
          {"a", "b_mm"});
  EXPECT_EQ(map.Number("b_mm", {0, 9}), 0.002);
  EXPECT_EQ(ToString(map.At("b_mm").pos()), "f.yaml:2:7");
}

TEST(Yaml, AHeadingTakesThePlaceOfTheName) {
  const YamlNode beat = Map("beats: [{for_s: x}]", {"beats"}).At("beats").List(1, 9)[0];
  EXPECT_THAT(
      [&] {
        beat.Map({"for_s"}).Number("for_s", {0, 1});
      },
      ThrowsMessage<InputError>(StartsWith("f.yaml:1:17: for_s: ")));
  EXPECT_THAT(
      [&] {
        beat.In("beat 1").Map({"for_s"}).Number("for_s", {0, 1});
      },
      ThrowsMessage<InputError>(StartsWith("f.yaml:1:17: beat 1: for_s: expected a number")));
  EXPECT_THAT([&] { beat.Map({"say"}); },
              ThrowsMessage<InputError>(HasSubstr("f.yaml:1:10: beats, item 1: unknown key \"for_s\"; known: say")));
}

TEST(Yaml, TextKeepsCharactersOfEveryLanguage) {
  EXPECT_EQ(Map("t: \"na\xC3\xAFve \xE2\x82\xAC \xF0\x9F\x98\x80\"", {"t"}).Text("t"),
            "na\xC3\xAFve \xE2\x82\xAC \xF0\x9F\x98\x80");
  EXPECT_EQ(Map("t: >-\n  one\n  two\n", {"t"}).Text("t"), "one two");
}

// A quoted word is text even where it looks like something else; nothing is guessed.
TEST(Yaml, NothingIsGuessed) {
  EXPECT_EQ(Map("t: 12", {"t"}).Text("t"), "12");
  EXPECT_THROW(Map("t: '12'", {"t"}).Number("t", {0, 99}), InputError);
  EXPECT_THROW(Map("t: 'true'", {"t"}).Bool("t", false), InputError);
  EXPECT_THROW(Map("t: yes", {"t"}).Bool("t", false), InputError);
  EXPECT_THROW(Map("t: ~", {"t"}).Text("t"), InputError);
  EXPECT_THROW(Map("t: 2.0", {"t"}).At("t").Integer(0, 9), InputError);
}

TEST(Yaml, FallbacksAreForMissingKeysAlone) {
  const YamlMap map = Map("a: x", {"a", "b"});
  EXPECT_EQ(map.Number("b", {0, 1}, 0.5), 0.5);
  EXPECT_TRUE(map.Bool("b", true));
  EXPECT_THROW(map.Number("a", {0, 1}, 0.5), InputError);
  EXPECT_THROW(map.Bool("a", true), InputError);
}

TEST(Yaml, GarbageIsQuotedShortAndPrintable) {
  const std::string bell = "t: \"a\\a" + std::string(5000, 'b') + "\"";
  try {
    Map(bell, {"t"}).Number("t", {0, 1});
    FAIL() << "was read";
  } catch (const InputError& e) {
    const std::string message = e.what();
    EXPECT_LT(message.size(), 150u);
    EXPECT_THAT(message, HasSubstr("\"a?bbb"));
    EXPECT_EQ(message.find('\a'), std::string::npos);
  }
}

TEST(Suggest, NamesTheNearestWordAndCountsASwapAsOneSlip) {
  const std::vector<std::string> words{"reach", "work", "point"};
  EXPECT_EQ(Suggest("raech", words), "; did you mean \"reach\"?");
  EXPECT_EQ(Suggest("pont", words), "; did you mean \"point\"?");
  EXPECT_EQ(Suggest("wrok", words), "; did you mean \"work\"?");
  EXPECT_EQ(Suggest("banana", words), "; known: reach, work, point");
  EXPECT_EQ(Suggest("x", {}), "");
}

}  // namespace
}  // namespace dryrig
