// Every broken file is refused with an InputError that says where, what and how to mend it, at once.
#include "tests/scenes/refusal.h"

namespace dryrig {
namespace {

/// A valid file with one piece replaced.
struct Mutation {
  std::string kind, from, to;
  std::string place;  // line:column
  Words words;        // what is wrong, how to mend it
};

const std::vector<Mutation>& Mutations() {
  static const std::vector<Mutation> rows{
      // The header.
      {"lesson", "lesson/1", "lesson/2", "1:9", {"expected lesson/1, found \"lesson/2\"", "version 1 alone"}},
      {"lesson", "lesson/1", "bench/1", "1:9", {"expected lesson/1, found \"bench/1\"", "give a lesson file"}},
      {"bench", "bench/1", "[1]", "1:9", {"dryrig: expected bench/1, found a list"}},
      {"camera", "dryrig: camera/1\n", "", "1:1", {"expected `dryrig: camera/1` as the first key"}},
      // Keys.
      {"lesson", "craft:", "kraft:", "3:1", {"unknown key \"kraft\"", "did you mean \"craft\"?"}},
      {"lesson", "for_s: 4,", "for_z: 4,", "11:15", {"beat 1: address: unknown key \"for_z\"", "did you mean \"for_s\"?"}},
      {"lesson", "  - reach", "  - raech", "12:5", {"beat 2: unknown key \"raech\"", "did you mean \"reach\"?"}},
      {"lesson", "title: Holes\n", "", "1:1", {"\"title\" is missing; add it"}},
      {"lesson",
       "title: Holes\n",
       "title: Holes\ntitle: Pages\n",
       "3:1",
       {"\"title\" is given twice, first on line 2", "keep one"}},
      {"lesson", "{hand: dominant, to: awl}", "{to: awl, to: awl}", "12:22", {"\"to\" is given twice", "keep one"}},
      {"lesson", "to: awl", "[1, 2]: awl", "12:29", {"expected a key"}},
      {"lesson", "    intent", "    intend", "16:5", {"beat 5: unknown key \"intend\"", "did you mean \"intent\"?"}},
      // Types.
      {"lesson", "for_s: 4", "for_s: abc", "11:22", {"beat 1: for_s: expected a number, found \"abc\""}},
      {"lesson",
       "for_s: 4",
       "for_s: \"4\"",
       "11:22",
       {"for_s: expected a number, found \"4\" in quotes", "take the quotes away"}},
      {"lesson", "for_s: 4", "for_s: [4]", "11:22", {"for_s: expected a number, found a list"}},
      {"lesson", "for_s: 4", "for_s:", "11:15", {"for_s: expected a number, found nothing"}},
      {"person", "1700", "1,7", "3:13", {"stature_mm: expected a number, found \"1,7\"", "decimal mark is a point"}},
      {"person", "1700", "0x7", "3:13", {"stature_mm: expected a number, found \"0x7\""}},
      {"lesson", "title: Holes", "title: {a: 1}", "2:8", {"title: expected text, found a map"}},
      {"lesson", "title: Holes", "title: \"\"", "2:8", {"title: expected text, found none"}},
      {"lesson", "title: Holes", "title: \"" + std::string(400, 'x') + "\"", "2:8", {"400 bytes", "at most 300", "shorten"}},
      {"lesson", "title: Holes", "title: \"a\\nb\"", "2:8", {"title: text must stand on one line"}},
      {"lesson", "{for_s: 4, say: \"Welcome.\"}", "4", "11:14", {"beat 1: address: expected a map with for_s, say, found \"4\""}},
      {"lesson",
       "size_mm: [120, 20, 18]",
       "size_mm: [120, 20]",
       "8:32",
       {"prop 1: size_mm: expected a list of 3, found 2 items"}},
      {"lesson", "size_mm: [120, 20, 18]", "size_mm: [120, x, 18]", "8:38", {"size_mm, item 2: expected a number, found \"x\""}},
      {"sensing", "true", "yes", "8:17", {"hidden_is_lost: expected true or false, found \"yes\""}},
      {"camera", "1920", "1920.5", "4:17", {"resolution_px, item 1: expected a whole number, found \"1920.5\""}},
      // Numbers that are none, or too large or too small.
      {"lesson", "for_s: 4", "for_s: .nan", "11:22", {"for_s: expected a finite number, found \".nan\""}},
      {"lesson", "for_s: 4", "for_s: NaN", "11:22", {"for_s: expected a finite number, found \"NaN\""}},
      {"bench", "740", "-.inf", "5:12", {"height_mm: expected a finite number, found \"-.inf\""}},
      {"bench", "740", "1e999", "5:12", {"height_mm: expected a finite number, found \"1e999\""}},
      {"lesson", "for_s: 4", "for_s: 0", "11:22", {"for_s: 0 s is out of range; give 0.1 to 300 s"}},
      {"lesson", "for_s: 4", "for_s: -3", "11:22", {"for_s: -3 s is out of range"}},
      {"lesson", "rate_hz: 1,", "rate_hz: 60,", "13:69", {"beat 3: rate_hz: 60 Hz is out of range; give 0.05 to 6 Hz"}},
      {"lesson", "span_mm: 20", "span_mm: 4000", "13:81", {"span_mm: 4000 mm is out of range; give 1 to 400 mm"}},
      {"lesson", "[120, 20, 18]", "[620, 20, 18]", "8:33", {"prop 1: size_mm, item 1: 620 mm is out of range; give 1 to 600 mm"}},
      {"lesson", "[120, 20, 18]", "[120, 0, 18]", "8:38", {"size_mm, item 2: 0 mm is out of range"}},
      {"lesson", "mass_g: 40", "mass_g: -1", "8:75", {"mass_g: -1 g is out of range"}},
      {"bench", "740", "74", "5:12", {"height_mm: 74 mm is out of range; give 400 to 1300 mm"}},
      {"bench", "890]", "-890]", "7:10", {"mount: at_mm: the arm's base would be 890 mm below the floor"}},
      {"camera", "f_number: 4", "f_number: 0", "8:11", {"f_number: 0 is out of range; give 0.7 to 64"}},
      {"camera", "1920", "99999999999999999999", "4:17", {"99999999999999999999 is out of range; give 64 to 8192"}},
      {"camera", "mass_kg: 0.9", "mass_kg: 900", "10:10", {"mass_kg: 900 kg is out of range; give 0.01 to 20 kg"}},
      {"person", "1700", "17", "3:13", {"stature_mm: 17 mm is out of range; give 1200 to 2200 mm"}},
      {"person", "pace: 1", "pace: 5", "8:7", {"pace: 5 is out of range; give 0.5 to 2"}},
      {"sensing", "0.05", "5", "9:18", {"word_error_rate: 5 is out of range; give 0 to 1"}},
      {"sensing", "rate_hz: 30", "rate_hz: 0", "3:10", {"rate_hz: 0 Hz is out of range; give 1 to 240 Hz"}},
      // Names.
      {"lesson", "to: awl", "to: awll", "12:33", {"beat 2: reach to \"awll\": no such prop", "did you mean \"awl\"?"}},
      {"lesson", "on: sheets", "on: sheet", "13:16", {"beat 3: work on \"sheet\": no such prop", "did you mean \"sheets\"?"}},
      {"lesson", "prop:sheets", "prop:shets", "16:23", {"beat 5: intent of \"shets\": no such prop", "did you mean \"sheets\"?"}},
      {"lesson", "motion: press", "motion: pres", "13:43", {"motion: \"pres\" is not known", "did you mean \"press\"?"}},
      {"lesson", "hand: dominant, to", "hand: left, to", "12:19", {"hand: \"left\" is not known", "known: dominant, other"}},
      {"lesson", "hand: dominant, to", "hand: both, to", "12:19", {"hand: \"both\" is not known"}},
      {"lesson", "size: close-up", "size: closeup", "16:42", {"no shot size \"closeup\"", "did you mean \"close-up\"?"}},
      {"lesson", "angle: overhead", "angle: overhaed", "16:59", {"no shot angle \"overhaed\"", "did you mean \"overhead\"?"}},
      {"lesson", "subject: prop:sheets", "subject: feet", "16:23", {"no subject \"feet\"", "face"}},
      {"lesson", "subject: prop:sheets", "subject: []", "16:23", {"subject: expected a list of 1 to 6, found 0"}},
      {"lesson", "subject: prop:sheets", "subject: [face, face]", "16:30", {"named twice; keep one"}},
      {"lesson", "name: sheets", "name: awl", "9:5", {"prop 2: the name \"awl\" is taken; choose another"}},
      {"lesson", "name: awl", "name: hands", "8:12", {"\"hands\" is a subject of its own; choose another name"}},
      {"lesson", "name: awl", "name: Awl 1", "8:12", {"\"Awl 1\" is no name; use up to 40 small letters"}},
      {"bench", "name: post", "name: bench", "10:5", {"keep-out 1: the name \"bench\" is taken; choose another"}},
      {"person", "right", "rigth", "5:9", {"handed: \"rigth\" is not known", "did you mean \"right\"?"}},
      // Contradictions.
      {"lesson",
       "  - reach: {hand: dominant, to: awl}\n",
       "",
       "12:30",
       {"beat 2: work with \"awl\": no hand at work holds it", "let the dominant hand reach to it first"}},
      {"lesson",
       "hand: dominant, at_mm",
       "hand: other, at_mm",
       "14:15",
       {"put_down: the other hand holds nothing", "reach to something first"}},
      {"lesson",
       "  - put_down: {hand: dominant, at_mm: [200, 240]}",
       "  - reach: {to: sheets}",
       "14:17",
       {"reach to \"sheets\": the dominant hand already holds \"awl\"", "put that down first"}},
      {"lesson",
       "  - put_down: {hand: dominant, at_mm: [200, 240]}",
       "  - hold_up: {prop: sheets, for_s: 3}",
       "14:21",
       {"hold up \"sheets\": the dominant hand already holds \"awl\"", "put that down first"}},
      {"lesson",
       "  - put_down: {hand: dominant, at_mm: [200, 240]}",
       "  - reach: {hand: other, to: awl}",
       "14:30",
       {"reach to \"awl\": the dominant hand holds it", "put it down first"}},
      {"lesson",
       "  - put_down: {hand: dominant, at_mm: [200, 240]}",
       "  - point: {at: awl}",
       "14:17",
       {"point at \"awl\": the dominant hand holds it", "use the other hand"}},
      {"lesson", "on: sheets, with: awl", "on: awl", "13:16", {"work on \"awl\": the dominant hand, which is to work, holds it"}},
      {"lesson",
       "on: sheets, with",
       "on: sheets, hands: other, with",
       "13:44",
       {"work with \"awl\": no hand at work holds it", "let the other hand reach"}},
      {"lesson", "with: awl", "with: sheets", "13:30", {"work on \"sheets\" with itself", "name a tool"}},
      {"lesson",
       "at_mm: [200, 240]}",
       "at_mm: [20, 240]}",
       "14:15",
       {"put_down: \"awl\" at [20, 240] mm would lie on \"sheets\"", "give another at_mm"}},
      {"lesson",
       "at_mm: [200, 240], mass",
       "at_mm: [90, 240], mass",
       "9:5",
       {"prop 2: \"sheets\" at [0, 220] mm lies on \"awl\" at [90, 240] mm", "move one"}},
      {"lesson",
       "  - reach: {",
       "  - pause: {for_s: 2}\n    reach: {",
       "12:12",
       {"beat 2: has both \"reach\" and \"pause\"; give one action"}},
      {"lesson",
       "  - say: \"Look from above.\"\n    intent",
       "  - intent",
       "15:5",
       {"beat 5: no action; give one of address, reach"}},
      {"lesson", "angle: overhead", "cue: action", "16:57", {"this beat is talk alone; use sentence"}},
      {"lesson",
       "    intent: {subject: prop:sheets, size: close-up, angle: overhead}",
       "    intent: maybe",
       "16:13",
       {"\"maybe\" is no intent; give a map with subject and size, or none"}},
      {"lesson",
       "box: {size_mm: [120, 20, 18]}",
       "box: {size_mm: [120, 20, 18]}, sphere: {diameter_mm: 9}",
       "8:56",
       {"prop 1: has both \"box\" and \"sphere\"; give one shape"}},
      {"lesson", "box: {size_mm: [120, 20, 18]}, ", "", "8:5", {"prop 1: no shape; give one of box, cylinder, capsule, sphere"}},
      {"lesson",
       "box: {size_mm: [120, 20, 18]}",
       "capsule: {diameter_mm: 40, length_mm: 30}",
       "8:55",
       {"length_mm: 30 mm is less than the capsule's diameter of 40 mm"}},
      {"camera", "[8.8, 26]", "[26, 8.8]", "5:11", {"focal_mm: 26 mm to 8.8 mm is no zoom range", "the shorter first"}},
      {"camera", "[8.8, 26]", "18", "6:21", {"zoom_octaves_per_s: a prime of 18 mm does not zoom", "leave this out"}},
      {"camera", "zoom_octaves_per_s: 0.6\n", "", "1:1", {"\"zoom_octaves_per_s\" is missing"}},
      {"camera",
       "[13.2, 7.4]",
       "[13.2, 13.2]",
       "4:16",
       {"1920 x 1080 is 1.778 times as wide as high, the sensor 1.000", "match the two"}},
      {"camera",
       "focus_nearest_mm: 150",
       "focus_nearest_mm: 20",
       "7:19",
       {"focus_nearest_mm: 20 mm is not beyond the focal length of 26 mm"}},
      {"person", "seated: true\n", "", "6:17", {"a person who stands has no seat; add `seated: true`"}},
      {"person", "seat_height_mm: 450\n", "", "1:1", {"\"seat_height_mm\" is missing; add it"}},
      {"person",
       "pace: 1\n",
       "eye_height_mm: 1300\nshoulder_height_mm: 1350\n",
       "9:21",
       {"shoulder_height_mm of 1350 mm is not below eye_height_mm of 1300 mm", "measure again"}},
      {"person", "pace: 1\n", "hand_mm: 18\n", "8:10", {"hand_mm: 18 mm is out of range"}},
      {"sensing",
       "dropout_for_s: 0.3\n",
       "",
       "6:16",
       {"dropout_per_s of 0.01 with dropout_for_s of 0", "both above 0, or neither"}},
      // Syntax and tricks of YAML.
      {"lesson", "for_s: 4, say", "for_s: &a 4, say", "11:22", {"anchors (&name) and aliases (*name)", "write the value out"}},
      {"lesson", "for_s: 4, say", "for_s: *a, say", "11:22", {"anchors (&name) and aliases (*name)", "write the value out"}},
      {"lesson", "props:\n", "props: &p\n  - *p\n", "7:8", {"anchors (&name) and aliases (*name)"}},
      {"lesson", "for_s: 4, say", "for_s: !!float 4, say", "11:22", {"tag", "leave it out"}},
      {"lesson", "title: Holes", "title: Holes\n\tcraft: x", "3:1", {"not valid YAML", "mend the syntax here or just before"}},
      {"lesson", "title: Holes", "title: [Holes", "", {"not valid YAML", "mend the syntax"}},
      {"lesson", "title: Holes", "title: \"Holes", "", {"not valid YAML", "mend the syntax"}},
      {"lesson", "title: Holes", "title: Holes: two", "2:13", {"not valid YAML", "mend the syntax"}},
      {"lesson", "title: Holes", "---\ntitle: Holes", "3:1", {"a second document", "keep one in a file"}},
      {"lesson", "Welcome.", "W\xE9lcome.", "11:32", {"byte 0xE9 is not UTF-8", "save the file as UTF-8"}},
      {"lesson", "Welcome.", "W\xC0\xAF", "11:32", {"byte 0xC0 is not UTF-8"}},
      {"lesson", "Welcome.", "W\xED\xA0\x80", "11:32", {"byte 0xED is not UTF-8"}},
      {"lesson", "Welcome.", std::string("W\0x", 3), "11:32", {"control character 0x00", "take it out"}},
  };
  return rows;
}

TEST(BrokenInputs, TheUnbrokenFilesAreRead) {
  for (const auto& [kind, reader] : Readers()) {
    SCOPED_TRACE(kind);
    EXPECT_NO_THROW(reader.parse(reader.valid, "valid.yaml"));
  }
}

TEST(BrokenInputs, OneWrongPieceIsNamedWithPlaceAndMend) {
  EXPECT_GE(Mutations().size(), 60u);
  for (const Mutation& row : Mutations()) {
    SCOPED_TRACE(row.kind + ": \"" + row.from + "\" -> \"" + row.to + "\"");
    const Reader& reader = Readers().at(row.kind);
    std::string text = reader.valid;
    const size_t at = text.find(row.from);
    ASSERT_NE(at, std::string::npos);
    text.replace(at, row.from.size(), row.to);
    const std::string message = Refusal([&] { reader.parse(text, "odd/file.yaml"); });
    EXPECT_THAT(message, testing::StartsWith("odd/file.yaml:" + row.place + (row.place.empty() ? "" : ": ")));
    ExpectWords(message, row.words);
  }
}

}  // namespace
}  // namespace dryrig
