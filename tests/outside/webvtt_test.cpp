// Captions against the rules of their formats. WebVTT: the W3C text "WebVTT: The Web Video Text Tracks Format", sections "WebVTT
// file structure", "WebVTT parser algorithm" (collect a block, collect a timestamp) and "cue text tokenizer". The files below are
// our own, written after those rules. SubRip has no standard; its rows are common practice.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "scenes/captions.h"
#include "scenes/error.h"
#include "tests/outside/listed.h"

namespace dryrig {
namespace {

struct Cue {
  double start_s, end_s;
  std::string text;
};
struct Case {
  std::string rule;  // of the text
  std::string file;
  std::vector<Cue> cues;
  size_t notes = 0;
};

void ExpectCues(const Captions& got, const Case& wanted) {
  ASSERT_EQ(got.cues.size(), wanted.cues.size());
  for (size_t i = 0; i < got.cues.size(); ++i) {
    // Thousandths of a second added up in doubles.
    EXPECT_NEAR(got.cues[i].start_s, wanted.cues[i].start_s, 1e-9);
    EXPECT_NEAR(got.cues[i].end_s, wanted.cues[i].end_s, 1e-9);
    EXPECT_EQ(got.cues[i].text, wanted.cues[i].text);
  }
  EXPECT_EQ(got.notes.size(), wanted.notes) << (got.notes.empty() ? "" : got.notes.front());
}

TEST(OutsideWebVtt, FilesReadAsTheParserOfTheTextReadsThem) {
  const std::string one = "00:01.000 --> 00:02.500\nGlue.\n";
  const std::vector<Cue> read{{1, 2.5, "Glue."}};
  const std::vector<Case> cases{
      // File structure.
      {"signature alone", "WEBVTT", {}},
      {"signature and a line end", "WEBVTT\n", {}},
      {"a byte order mark before the signature", "\xEF\xBB\xBFWEBVTT\n\n" + one, read},
      {"a space and text behind the signature", "WEBVTT - a lesson\n\n" + one, read},
      {"a tab behind the signature", "WEBVTT\tx\n\n" + one, read},
      {"header lines before the first blank line", "WEBVTT\nKind: captions\nLanguage: en\n\n" + one, read},
      {"a cue straight behind the signature begins a block of its own", "WEBVTT\n" + one, read},
      {"line ends CR LF", "WEBVTT\r\n\r\n00:01.000 --> 00:02.500\r\nGlue.\r\n", read},
      {"line ends CR", "WEBVTT\r\r00:01.000 --> 00:02.500\rGlue.\r", read},
      {"no line end at the end", "WEBVTT\n\n00:01.000 --> 00:02.500\nGlue.", read},
      {"several blank lines between blocks", "WEBVTT\n\n\n\n" + one + "\n\n\n", read},
      {"U+0000 becomes U+FFFD",
       std::string("WEBVTT\n\n00:01.000 --> 00:02.500\nA\0B\n", 36),
       {{1, 2.5,
         "A\xEF\xBF\xBD"
         "B"}}},
      // Blocks that are no cues.
      {"NOTE on one line", "WEBVTT\n\nNOTE made by hand\n\n" + one, read},
      {"NOTE over several lines", "WEBVTT\n\nNOTE\nfirst\nsecond\n\n" + one, read},
      {"STYLE", "WEBVTT\n\nSTYLE\n::cue { color: red }\n\n" + one, read},
      {"REGION", "WEBVTT\n\nREGION\nid:fred\nwidth:40%\nlines:3\n\n" + one, read},
      {"text that is no block of a known kind", "WEBVTT\n\nnothing in particular\n\n" + one, read},
      // Cues.
      {"a number as identifier", "WEBVTT\n\n1\n" + one, read},
      {"words as identifier", "WEBVTT\n\nthe first cut\n" + one, read},
      {"an identifier of two lines is none: the second would-be cue line ends the block", "WEBVTT\n\na\nb\n" + one, read},
      {"settings behind the timings",
       "WEBVTT\n\n00:01.000 --> 00:02.500 align:start position:10%,line-left size:35% line:0 vertical:rl\nGlue.\n", read},
      {"settings that nobody knows", "WEBVTT\n\n00:01.000 --> 00:02.500 foo:bar :: x\nGlue.\n", read},
      {"no blanks about the arrow", "WEBVTT\n\n00:01.000-->00:02.500\nGlue.\n", read},
      {"tabs about the arrow", "WEBVTT\n\n00:01.000\t-->\t00:02.500\nGlue.\n", read},
      {"blanks before the timings", "WEBVTT\n\n  00:01.000 --> 00:02.500\nGlue.\n", read},
      {"several lines of text", "WEBVTT\n\n00:01.000 --> 00:02.500\nGlue\nthe  edge.\n", {{1, 2.5, "Glue the edge."}}},
      {"two cues without a blank line between: an arrow ends the block",
       "WEBVTT\n\n" + one + "00:03.000 --> 00:04.000\nPress.\n",
       {{1, 2.5, "Glue."}, {3, 4, "Press."}}},
      {"cues that overlap",
       "WEBVTT\n\n00:01.000 --> 00:04.000\nGlue.\n\n00:02.000 --> 00:03.000\nPress.\n",
       {{1, 4, "Glue."}, {2, 3, "Press."}}},
      {"cues out of order", "WEBVTT\n\n00:03.000 --> 00:04.000\nPress.\n\n" + one, {{1, 2.5, "Glue."}, {3, 4, "Press."}}},
      // Timestamps that are: minutes alone, hours of any count of digits.
      {"the last minute", "WEBVTT\n\n59:58.000 --> 59:59.999\nGlue.\n", {{3598, 3599.999, "Glue."}}},
      {"hours", "WEBVTT\n\n01:00:01.000 --> 01:00:02.500\nGlue.\n", {{3601, 3602.5, "Glue."}}},
      {"one digit of hours", "WEBVTT\n\n1:00:01.000 --> 1:00:02.500\nGlue.\n", {{3601, 3602.5, "Glue."}}},
      {"three digits of hours", "WEBVTT\n\n100:00:00.000 --> 100:00:01.000\nGlue.\n", {{360000, 360001, "Glue."}}},
      // Timestamps that are none: the cue is passed over.
      {"60 in the minutes' place is hours, and then the seconds are missing",
       "WEBVTT\n\n60:00.000 --> 60:01.000\nGlue.\n",
       {},
       1},
      {"60 seconds", "WEBVTT\n\n00:01.000 --> 00:60.000\nGlue.\n", {}, 1},
      {"60 minutes under hours", "WEBVTT\n\n00:60:00.000 --> 01:00:01.000\nGlue.\n", {}, 1},
      {"a comma before the thousandths", "WEBVTT\n\n00:01,000 --> 00:02,500\nGlue.\n", {}, 1},
      {"two digits of thousandths", "WEBVTT\n\n00:01.00 --> 00:02.50\nGlue.\n", {}, 1},
      {"four digits of thousandths", "WEBVTT\n\n00:01.0000 --> 00:02.5000\nGlue.\n", {}, 1},
      {"no thousandths", "WEBVTT\n\n00:01 --> 00:02\nGlue.\n", {}, 1},
      {"one digit of seconds", "WEBVTT\n\n00:1.000 --> 00:2.500\nGlue.\n", {}, 1},
      {"seconds alone", "WEBVTT\n\n1.000 --> 2.500\nGlue.\n", {}, 1},
      {"a minus", "WEBVTT\n\n-00:01.000 --> 00:02.500\nGlue.\n", {}, 1},
      {"half an arrow is no arrow at all", "WEBVTT\n\n00:01.000 -> 00:02.500\nGlue.\n", {}},
      {"an arrow with nothing behind", "WEBVTT\n\n00:01.000 -->\nGlue.\n", {}, 1},
      {"a cue that cannot be read does not take the next one along",
       "WEBVTT\n\n00:01,000 --> 00:02,500\nGlue.\n\n00:03.000 --> 00:04.000\nPress.\n",
       {{3, 4, "Press."}},
       1},
      // What authors must not write and players never show.
      {"an end before its start", "WEBVTT\n\n00:02.000 --> 00:01.000\nGlue.\n", {}, 1},
      {"a cue of no length", "WEBVTT\n\n00:02.000 --> 00:02.000\nGlue.\n", {}, 1},
      {"a cue without words", "WEBVTT\n\n00:01.000 --> 00:02.000\n\n", {}, 1},
      // Cue text.
      {"bold, italics, underline", "WEBVTT\n\n00:01.000 --> 00:02.500\n<b>Gl</b><i>u</i><u>e</u>.\n", read},
      {"a class", "WEBVTT\n\n00:01.000 --> 00:02.500\n<c.loud.red>Glue</c>.\n", read},
      {"a voice", "WEBVTT\n\n00:01.000 --> 00:02.500\n<v Old Hand>Glue.\n", read},
      {"a language", "WEBVTT\n\n00:01.000 --> 00:02.500\n<lang en-GB>Glue.</lang>\n", read},
      {"a time inside the text", "WEBVTT\n\n00:01.000 --> 00:02.500\nGl<00:01.500>ue.\n", read},
      {"a tag that nothing ends", "WEBVTT\n\n00:01.000 --> 00:02.500\nGlue.<b\n", read},
      {"references",
       "WEBVTT\n\n00:01.000 --> 00:02.500\nA &amp; B &lt;C&gt; D&nbsp;E&lrm;&rlm;.\n",
       {{1, 2.5, "A & B <C> D E."}}},
      {"references by number", "WEBVTT\n\n00:01.000 --> 00:02.500\n&#71;&#x6C;ue.\n", read},
      {"a reference that is none stands as it is",
       "WEBVTT\n\n00:01.000 --> 00:02.500\nA & B &nothing; C.\n",
       {{1, 2.5, "A & B &nothing; C."}}},
      {"letters beyond ASCII",
       "WEBVTT\n\n00:01.000 --> 00:02.500\nK\xC3\xA4se \xE6\xBC\xA2.\n",
       {{1, 2.5, "K\xC3\xA4se \xE6\xBC\xA2."}}},
  };
  EXPECT_GE(cases.size(), 50u);
  for (const Case& c : cases) {
    SCOPED_TRACE(c.rule);
    ExpectCues(ParseWebVtt(c.file, "f.vtt"), c);
  }
}

TEST(OutsideWebVtt, WhatHasNoSignatureIsNoWebVtt) {
  for (const char* file : {"", "WEBVT", "webvtt\n", "WEBVTTX\n", " WEBVTT\n", "WEBVTT-x\n", "\n\nWEBVTT\n",
                           "1\n00:00:01,000 --> 00:00:02,000\nGlue.\n"}) {
    SCOPED_TRACE(file);
    EXPECT_THROW(ParseWebVtt(file, "f.vtt"), InputError);
  }
}

TEST(OutsideWebVtt, ANoteSaysWhichLineAndWhatToWrite) {
  const Captions captions = ParseWebVtt("WEBVTT\n\n00:01,000 --> 00:02,500\nGlue.\n", "f.vtt");
  ASSERT_EQ(captions.notes.size(), 1u);
  EXPECT_EQ(captions.notes[0], "f.vtt:3: no cue timings: \"00:01,000 --> 00:02,500\"; write 00:01:02.500 --> 00:01:04.000");
}

TEST(OutsideSubRip, FilesReadAsIsCommonPractice) {
  const std::string one = "00:00:01,000 --> 00:00:02,500\nGlue.\n";
  const std::vector<Cue> read{{1, 2.5, "Glue."}};
  const std::vector<Case> cases{
      {"numbered", "1\n" + one, read},
      {"without a number", one, read},
      {"a byte order mark",
       "\xEF\xBB\xBF"
       "1\n" +
           one,
       read},
      {"line ends CR LF", "1\r\n00:00:01,000 --> 00:00:02,500\r\nGlue.\r\n", read},
      {"a point for the comma", "1\n00:00:01.000 --> 00:00:02.500\nGlue.\n", read},
      {"short parts", "1\n0:0:1,0 --> 0:0:2,500\nGlue.\n", read},
      {"a place on the picture", "1\n00:00:01,000 --> 00:00:02,500  X1:100 X2:200 Y1:10 Y2:20\nGlue.\n", read},
      {"markup", "1\n00:00:01,000 --> 00:00:02,500\n{\\an8}<i>Glue</i><font color=\"#ff0000\">.</font>\n", read},
      {"several lines", "1\n00:00:01,000 --> 00:00:02,500\nGlue\nit.\n", {{1, 2.5, "Glue it."}}},
      {"two cues", "1\n" + one + "\n2\n00:00:03,000 --> 00:00:04,000\nPress.\n", {{1, 2.5, "Glue."}, {3, 4, "Press."}}},
      {"two cues without a blank line",
       "1\n" + one + "2\n00:00:03,000 --> 00:00:04,000\nPress.\n",
       {{1, 2.5, "Glue."}, {3, 4, "Press."}}},
      {"a number spoken is no cue's number", "1\n00:00:01,000 --> 00:00:02,500\nCut\n40\n\n", {{1, 2.5, "Cut 40"}}},
      {"minutes that are too many",
       "1\n00:61:01,000 --> 00:61:02,500\nGlue.\n\n2\n00:00:03,000 --> 00:00:04,000\nPress.\n",
       {{3, 4, "Press."}},
       1},
  };
  for (const Case& c : cases) {
    SCOPED_TRACE(c.rule);
    ExpectCues(ParseSrt(c.file, "f.srt"), c);
  }
  for (const char* file : {"", "Glue.", "1\n2\n3\n"}) EXPECT_THROW(ParseSrt(file, "f.srt"), InputError);
}

}  // namespace
}  // namespace dryrig
