// Reading of cues and of sentences, scored apart from camera motion.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "bench/program.h"
#include "bench/sentence_corpus.h"
#include "scenes/error.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

constexpr const char* kCorpus =
    "# invented\n"
    "closer\tCome closer, please.\n"
    "wider\tGo wider so that we see the whole bench.\n"
    "none\tFold the sheet along the line.\n"
    "none\tThis glue dries in an hour.\n";

TEST(Corpus, ConfusionAndMacroF1OfAReaderThatIsKnown) {
  const std::vector<LabelledSentence> corpus = ReadCorpus(kCorpus, "mine.tsv");
  ASSERT_EQ(corpus.size(), 4u);
  // Reads everything as closer: closer has precision 1/4, recall 1, F1 0.4; the two others have 0.
  const Confusion closer = Read(corpus, [](const std::string&) { return size_t{0}; });
  EXPECT_EQ(closer.ReadAs(0), 4);
  EXPECT_NEAR(closer.F1(0), 0.4, 1e-12);
  EXPECT_NEAR(closer.MacroF1(), 0.4 / 3, 1e-12);
  const Confusion shipped = Read(corpus, ShippedReading({}));
  EXPECT_EQ(shipped.MacroF1(), 1);
}

TEST(Corpus, WhatIsWrongInAFileIsToldWithItsLine) {
  const auto told = [](const std::string& text, const std::string& words) {
    EXPECT_THAT([&] { ReadCorpus(text, "mine.tsv"); }, ThrowsMessage<InputError>(HasSubstr(words)));
  };
  told("closer\tHere.\nnearer\tThere.\n", "mine.tsv:2:1: no label \"nearer\"");
  told("closer Here.\n", "mine.tsv:1: expected a label, a tab and a sentence");
  told("none\t\n", "mine.tsv:1: expected");
  told("# nothing\n", "mine.tsv: holds no sentence");
}

TEST(Cues, SentencesOfOnesOwnAndAProgramInTheReadersPlace) {
  Folder folder;
  const std::string corpus = folder.Write("mine.tsv", kCorpus);
  const Ran shipped = RunDryrig({"cues", "--sentences", corpus});
  EXPECT_EQ(shipped.code, kFine) << shipped.err;
  EXPECT_THAT(shipped.out, AllOf(HasSubstr("4 sentences"), HasSubstr("macro-F1 1.000")));
  const std::string program =
      folder.Write("reader.py",
                   "import json, sys\n"
                   "for line in sys.stdin:\n"
                   "    text = json.loads(line)['text']\n"
                   "    print(json.dumps({'label': 'wider' if 'wider' in text else 'none'}), flush=True)\n");
  const Ran own = RunDryrig({"cues", "--sentences", corpus, "--reader", "python3 " + program, "--json"});
  EXPECT_EQ(own.code, kFine) << own.err;
  const auto json = nlohmann::json::parse(own.out);
  EXPECT_EQ(json["confusion"]["closer"]["none"], 1);
  EXPECT_EQ(json["confusion"]["none"]["none"], 2);
  // none: 2 right of 3 read, F1 0.8; wider 1; closer 0.
  EXPECT_NEAR(json["macro_f1"].get<double>(), 1.8 / 3, 1e-12);
  const auto fails = [&](const std::string& reader, const std::string& words) {
    const Ran ran = RunDryrig({"cues", "--sentences", corpus, "--reader", reader, "--patience", "1"});
    EXPECT_EQ(ran.code, kNotDone) << reader;
    EXPECT_THAT(ran.err, HasSubstr(words));
  };
  fails("cat", "expected {\"label\": one of closer");
  fails("true", "ended before it answered \"Come closer, please.\"");
  fails("sleep 9", "no answer to \"Come closer, please.\" within 1 s");
}

TEST(Cues, OnePointingAndOneAddressAreFound) {
  Folder folder;
  const std::string lesson = folder.Write("one.yaml", kShortLesson);
  const Ran ran = RunDryrig({"cues", lesson, "--sensing", "perfect", "--json"});
  ASSERT_EQ(ran.code, kFine) << ran.err;
  const auto cues = nlohmann::json::parse(ran.out)["cues"];
  EXPECT_EQ(cues[0]["cue"], "pointing");
  EXPECT_EQ(cues[0]["shown"], 1);
  EXPECT_EQ(cues[0]["recall"], 1);
  EXPECT_EQ(cues[0]["precision"], 1);
  EXPECT_LT(cues[0]["median_delay_s"].get<double>(), 2);
  EXPECT_EQ(cues[1]["shown"], 0);
  EXPECT_TRUE(cues[1]["recall"].is_null());
  EXPECT_EQ(RunDryrig({"cues"}).code, kBadInput);
  EXPECT_EQ(RunDryrig({"cues", lesson, "--reader", "cat"}).code, kBadInput);
}

TEST(Cues, ATurnedTorsoIsReadAndOneThatStaysIsNot) {
  Folder folder;
  std::string turning = kShortLesson;
  turning += "  - turn: {to_deg: 30, for_s: 4}\n  - turn: {to_deg: 0, for_s: 2}\n";
  const auto cues = [&](const std::string& text) {
    const Ran ran = RunDryrig({"cues", folder.Write("one.yaml", text), "--sensing", "good", "--json"});
    EXPECT_EQ(ran.code, kFine) << ran.err;
    return nlohmann::json::parse(ran.out);
  };
  const auto turned = cues(turning), still = cues(kShortLesson);
  EXPECT_EQ(turned["cues"][4]["cue"], "torso direction");
  EXPECT_GT(turned["cues"][4]["shown"].get<double>(), 2.5);  // 4 s less the second after the approach
  EXPECT_GT(turned["cues"][4]["recall"].get<double>(), 0.95);
  EXPECT_EQ(turned["cues"][4]["precision"], 1);
  EXPECT_EQ(still["cues"][4]["shown"], 0);
  EXPECT_EQ(still["cues"][4]["read"], 0);
  // Shoulders 0.35 m apart, each 1 to 2 cm off under `good`: some 3 degrees.
  EXPECT_LT(turned["torso_direction_off_deg"]["median"].get<double>(), 4);
  int shown = 0;
  for (const auto& one : turned["pointing_by_distance"]) {
    shown += one["shown"].get<int>();
    EXPECT_LE(one["right"].get<int>(), one["readings"].get<int>());
  }
  EXPECT_EQ(shown, 1) << "the one pointing of the lesson stands at one distance";
}

}  // namespace
}  // namespace dryrig
