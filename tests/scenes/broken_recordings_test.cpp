// Every broken recording is refused with an InputError that says where, what and how to mend it, at once.
#include <fmt/format.h>

#include "scenes/bvh.h"
#include "scenes/captions.h"
#include "scenes/joint_mapping.h"
#include "scenes/pose_track.h"
#include "tests/scenes/refusal.h"
#include "tests/scenes/track_files.h"

namespace dryrig {
namespace {

constexpr const char* kMapping = "dryrig: mapping/1\njoints:\n  pelvis: Hueft\n  left_wrist: HandL\n  left_thumb: none\n";
constexpr int kNoLine = -1;

/// A valid file with one piece replaced. The message names the line that the piece stands on, `lines` further down.
struct Break {
  std::string kind, from, to;
  int lines;
  Words words;
};

std::string ValidBvh() {
  BvhStyle style;
  style.frames = 4;
  return WriteBvh(style);
}
std::string Valid(const std::string& kind) {
  if (kind == "bvh") return ValidBvh();
  if (kind == "csv") return WriteTrack();
  if (kind == "vtt") return "WEBVTT\n\n00:01.000 --> 00:02.000\nGlue.\n";
  if (kind == "srt") return "1\n00:00:01,000 --> 00:00:02,000\nGlue.\n";
  return kMapping;
}
void Parse(const std::string& kind, const std::string& text) {
  const std::string name = "odd/file." + kind;
  if (kind == "bvh") ParseBvh(text, name);
  if (kind == "csv") ParsePoseTrack(text, name);
  if (kind == "vtt") ParseWebVtt(text, name);
  if (kind == "srt") ParseSrt(text, name);
  if (kind == "yaml") ParseJointMapping(text, name);
}

std::string LastLine(const std::string& text) {
  const size_t end = text.size() - 1;  // of the line end
  return text.substr(text.rfind('\n', end - 1) + 1, end - text.rfind('\n', end - 1) - 1);
}

std::vector<Break> Breaks() {
  const std::string last = LastLine(ValidBvh()), first_value = last.substr(0, last.find(' '));
  const std::string rest = last.substr(last.find(' '));
  return {
      // BVH: the hierarchy.
      {"bvh", "HIERARCHY", "HIERARCHIE", 0, {"expected HIERARCHY, found \"HIERARCHIE\"", "is this a BVH file?"}},
      {"bvh", "ROOT Hips", "JOINT Hips", 0, {"expected ROOT, found \"JOINT\"", "begins with a root joint"}},
      {"bvh", "ROOT Hips", "ROOT", 0, {"a joint without a name", "write one behind ROOT or JOINT"}},
      {"bvh", "{\n  OFFSET 0", "\n  OFFSET 0", 1, {"expected {, that opens the joint, found \"OFFSET\""}},
      {"bvh",
       "  OFFSET 0.000000000 0.000000000 0.000000000\n",
       "",
       0,
       {"expected OFFSET, the joint's place in its parent, found \"CHANNELS\""}},
      {"bvh",
       "OFFSET 0.000000000 0.000000000 0.000000000",
       "OFFSET 0.000000000 0.000000000",
       0,
       {"expected three numbers of an OFFSET, found nothing", "cut short?"}},
      {"bvh", "OFFSET 0.000000000 0.0", "OFFSET 0.000000000 0,0", 0, {"found \"0,000000000\"", "the decimal mark is a point"}},
      {"bvh",
       "OFFSET 0.000000000 0.0",
       "OFFSET 0.000000000 x.0",
       0,
       {"expected three numbers of an OFFSET", "write a number there"}},
      {"bvh", "OFFSET 0.000000000", "OFFSET nan", 0, {"found \"nan\", which is not finite"}},
      {"bvh", "OFFSET 0.000000000", "OFFSET 1e12", 0, {"an OFFSET of 1000000000000", "no bone is so long"}},
      {"bvh", "CHANNELS 6", "CHANNELS 7", 0, {"expected the number of channels, found \"7\"", "from 0 to 6"}},
      {"bvh", "CHANNELS 6", "CHANNELS -1", 0, {"expected the number of channels, found \"-1\""}},
      {"bvh", "CHANNELS 6", "CHANNELS 2.5", 0, {"expected the number of channels, found \"2.5\""}},
      {"bvh", "Xposition", "Xpositoin", 0, {"channel 1 of Hips: found \"Xpositoin\"", "did you mean \"Xposition\"?"}},
      {"bvh", "Yposition", "Xposition", 0, {"joint Hips has the channel \"Xposition\" twice", "keep one"}},
      {"bvh",
       "CHANNELS 6",
       "CHANNELS 5",
       0,
       {"expected JOINT, End Site or }, found \"Yrotation\"", "mend the hierarchy here or just before"}},
      {"bvh", "JOINT Spine\n", "JIONT Spine\n", 0, {"expected JOINT, End Site or }, found \"JIONT\""}},
      {"bvh",
       "End Site",
       "End Sight\n{\nOFFSET 0 0 0\nCHANNELS 0\n}\nEnd Site",
       3,
       {"CHANNELS of an End Site", "make it a JOINT"}},
      {"bvh", "MOTION", "}\nMOTION", 0, {"expected MOTION, found \"}\""}},
      {"bvh", "}\nMOTION", "MOTION", 0, {"expected JOINT, End Site or }, found \"MOTION\""}},
      // BVH: the motion.
      {"bvh", "MOTION\n", "", 0, {"expected MOTION, found \"Frames:\"", "behind the hierarchy stands the motion"}},
      {"bvh", "Frames: 4\n", "", 0, {"expected Frames:, found \"Frame\"", "give the number of frames"}},
      {"bvh", "Frames: 4", "Frames: 0", 0, {"expected the number of frames, found \"0\"", "from 1 to 150000"}},
      {"bvh", "Frames: 4", "Frames: 999999999", 0, {"expected the number of frames, found \"999999999\"", "from 1 to 150000"}},
      {"bvh", "Frames: 4", "Frames: four", 0, {"expected the number of frames, found \"four\""}},
      {"bvh", "Frames: 4", "Frames: 5", 6, {"the file ends behind frame 4 of 5", "set `Frames: 4`"}},
      {"bvh", "Frame Time: 0.016666667", "Frame Time: 0", 0, {"a frame time of 0 s", "0.001 to 1 s"}},
      {"bvh", "Frame Time: 0.016666667", "Frame Time: -0.01", 0, {"a frame time of -0.01 s"}},
      {"bvh", "Frame Time: 0.016666667", "Frame Time: 30", 0, {"a frame time of 30 s", "0.033333 is 30 frames a second"}},
      {"bvh", "Frame Time: 0.016666667", "Frame Time: 0,0166", 0, {"the decimal mark is a point"}},
      {"bvh", "Frame Time: 0.016666667", "Frame Time: inf", 0, {"which is not finite"}},
      {"bvh", "Frame Time:", "Frames Time:", 0, {"expected Frame, found \"Frames\""}},
      {"bvh", last, "nan" + rest, 0, {"expected a number, found \"nan\", which is not finite", "cut or mend"}},
      {"bvh", last, "1,5" + rest, 0, {"expected a number, found \"1,5\"", "the decimal mark is a point"}},
      {"bvh", last, "1e300" + rest, 0, {"in frame 4: no body moves so far"}},
      {"bvh", last, rest, 0, {"frame 4 has 65 values, the channels of the hierarchy ask for 66", "restore the line"}},
      {"bvh", last, last + " 1", 0, {"frame 4 has more values than the 66 channels", "take the rest out"}},
      {"bvh", last, first_value, 0, {"frame 4 has 1 values"}},
      // Pose tracks.
      {"csv", "t,joint,x,y,z,confidence\n", "", 0, {"no column t", "the first line must name t, joint, x, y, z"}},
      {"csv", "t,joint", "time,joint", 0, {"no column t"}},
      {"csv", "x,y,z", "x,y,y", 0, {"the column y stands twice", "keep one"}},
      {"csv", "x,y,z,confidence", "x,y,confidence", 0, {"no column z"}},
      {"csv", "t,joint", "# unit: feet\nt,joint", 0, {"unit \"feet\" is not known", "mm"}},
      {"csv", "t,joint", "# up: north\nt,joint", 0, {"up \"north\" is not known"}},
      {"csv", "0.033333,pelvis,", "0.033333,pelvis,1,", 0, {"7 fields, the header names 6", "decimal mark"}},
      {"csv", ",0.900\n0.033333,neck", "\n0.033333,neck", 0, {"5 fields, the header names 6", "is the line cut short?"}},
      {"csv", "0.033333,pelvis,", "0.033333,pelvis,x", 0, {"x: expected a number, found \"x", "leave it empty"}},
      {"csv", "0.033333,pelvis,", "0.033333,pelvis,9e", 0, {"x: expected a number"}},
      {"csv", "0.033333,pelvis,", "inf,pelvis,", 0, {"t: inf is out of range"}},
      {"csv", "0.033333,pelvis,", "nan,pelvis,", 0, {"t: expected a time in seconds, found none"}},
      {"csv", "0.033333,pelvis,", "0.033333,,", 0, {"joint: expected a name, found none"}},
      {"csv", "0.033333,pelvis,", "0.033333,neck,", 1, {"joint \"neck\" at 0.033333 s stands on line 17 already", "keep one"}},
      {"csv", ",0.900\n0.033333,neck", ",1.900\n0.033333,neck", 0, {"confidence: 1.9 is out of range", "0 to 1"}},
      // Captions.
      {"vtt", "WEBVTT", "WEBVT", 0, {"expected WEBVTT, found \"WEBVT\""}},
      {"vtt", "WEBVTT", "WEBVTT2", 0, {"expected WEBVTT, found \"WEBVTT2\""}},
      {"srt", "-->", "->", kNoLine, {"no line with --> in it", "is this a caption file"}},
      // Mapping files.
      {"yaml", "mapping/1", "maping/1", 0, {"expected mapping/1"}},
      {"yaml", "pelvis", "pelvsi", 0, {"unknown key \"pelvsi\"", "did you mean \"pelvis\"?"}},
      {"yaml", "HandL", "Hueft", 0, {"left_wrist: \"Hueft\" is pelvis already", "a joint is one point"}},
      {"yaml", "Hueft", "[Hueft]", 0, {"expected text, found a list"}},
      {"yaml", "joints:", "joint:", 0, {"unknown key \"joint\""}},
  };
}

TEST(BrokenRecordings, TheUnbrokenFilesAreRead) {
  for (const char* kind : {"bvh", "csv", "vtt", "srt", "yaml"}) EXPECT_NO_THROW(Parse(kind, Valid(kind))) << kind;
}

TEST(BrokenRecordings, OneWrongPieceIsNamedWithPlaceAndMend) {
  const std::vector<Break> breaks = Breaks();
  EXPECT_GE(breaks.size(), 60u);
  for (const Break& row : breaks) {
    SCOPED_TRACE(row.kind + ": \"" + row.from.substr(0, 60) + "\" -> \"" + row.to.substr(0, 60) + "\"");
    std::string text = Valid(row.kind);
    const size_t at = text.find(row.from);
    ASSERT_NE(at, std::string::npos);
    text.replace(at, row.from.size(), row.to);
    const std::string message = Refusal([&] { Parse(row.kind, text); });
    std::string place = "odd/file." + row.kind + ":";
    if (row.lines != kNoLine)
      place += fmt::format("{}:", std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n') + 1 + row.lines);
    EXPECT_THAT(message, testing::StartsWith(place));
    ExpectWords(message, row.words);
  }
}

TEST(BrokenRecordings, HostileTextsAreRefusedAtOnce) {
  const std::string deep = [] {
    std::string text = "HIERARCHY\nROOT a\n";
    for (int i = 0; i < 100'000; ++i) text += "{\nOFFSET 0 0 0\nJOINT b\n";
    return text;
  }();
  std::string wide = "HIERARCHY\nROOT a\n{\nOFFSET 0 0 0\n";
  for (int i = 0; i < 5000; ++i) wide += fmt::format("JOINT j{}\n{{\nOFFSET 0 0 0\n}}\n", i);
  const struct {
    std::string what, kind, text;
    Words words;
  } rows[] = {
      {"nothing", "bvh", "", {"expected HIERARCHY, found the file's end"}},
      {"nothing", "csv", "", {"no header line"}},
      {"nothing", "vtt", "", {"expected WEBVTT"}},
      {"nothing", "srt", "", {"no line with -->"}},
      {"joints nested without end", "bvh", deep, {"joints nested more than 100 deep"}},
      {"joints without end", "bvh", wide + "}\n", {"more than 600 joints"}},
      {"zeros", "bvh", std::string(1'000'000, '\0'), {"expected HIERARCHY"}},
      {"zeros", "csv", std::string(1'000'000, '\0'), {"no column t"}},
      {"a picture", "bvh", "\x89PNG\r\n\x1a\n", {"expected HIERARCHY"}},
      {"one long word", "bvh", "HIERARCHY\nROOT " + std::string(1'000'000, 'x') + "\n", {"expected {"}},
      {"a body of one place",
       "bvh",
       [] {
         std::string text = ValidBvh();
         for (size_t at = text.find("OFFSET"); at != std::string::npos; at = text.find("OFFSET", at + 1)) {
           text.replace(at, text.find('\n', at) - at, "OFFSET 0 0 0");
         }
         return text;
       }(),
       {"all its points lie at one place", "a recording of a person?"}},
      {"names without end",
       "csv",
       [] {
         std::string text = "t,joint,x,y,z\n";
         for (int i = 0; i < 1000; ++i) text += fmt::format("0,j{},0,0,0\n", i);
         return text;
       }(),
       {"more than 300 joints"}},
      {"two times a day apart", "csv", "t,joint,x,y,z\n0,head,0,0,0\n86400,head,0,0,0\n", {"2 frames", "10 at least"}},
      {"a day of gaps",
       "csv",
       [] {
         std::string text = "t,joint,x,y,z\n";
         for (int i = 0; i < 20; ++i) text += fmt::format("{},head,0,0,0\n", i * 0.03);
         return text + "864000,head,0,0,0\n";
       }(),
       {"frames from first to last, at most 150000"}},
      {"milliseconds for seconds",
       "csv",
       [] {
         std::string text = "t,joint,x,y,z\n";
         for (int i = 0; i < 20; ++i) text += fmt::format("{},head,0,0,0\n", i * 33);
         return text;
       }(),
       {"frames a second", "Is t in seconds?"}},
      {"cues without end", "vtt", "WEBVTT\n\n" + Repeat("00:01.000 --> 00:02.000\nx\n\n", 25'000), {"more than 20000 cues"}},
      {"too large", "vtt", "WEBVTT\n" + std::string(20'000'000, 'x'), {"bytes, more than the", "is it the right file?"}},
  };
  for (const auto& row : rows) {
    SCOPED_TRACE(row.kind + ", " + row.what);
    const std::string message = Refusal([&] { Parse(row.kind, row.text); });
    EXPECT_THAT(message, testing::StartsWith("odd/file." + row.kind + ":"));
    ExpectWords(message, row.words);
  }
}

TEST(BrokenRecordings, AFileCutAnywhereIsRefusedOrReadNeverWorse) {
  for (const char* kind : {"bvh", "csv", "vtt", "srt"}) {
    const std::string text = Valid(kind);
    const size_t step = std::max<size_t>(1, text.size() / 400);
    int refused = 0;
    for (size_t length = 0; length < text.size(); length += step) {
      try {
        Parse(kind, text.substr(0, length));
      } catch (const InputError& error) {  // another exception fails the test
        ++refused;
        EXPECT_THAT(error.what(), testing::StartsWith(std::string("odd/file.") + kind)) << "cut after " << length;
      }
    }
    EXPECT_GT(refused, 0) << kind << ": at least the empty file";
  }
}

}  // namespace
}  // namespace dryrig
