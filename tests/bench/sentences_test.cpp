// The reading of sentences against corpora that it has not learnt from.
#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "bench/sentence_corpus.h"
#include "policies/wish_reader.h"
#include "scenes/yaml_node.h"
#include "tests/policies/held_out_wordings.h"

namespace dryrig {
namespace {

enum Label : size_t { kCloser, kWider, kAbove, kLevel, kLookAt, kNormal, kNone };

size_t LabelOf(Wish wish) {
  switch (wish) {
    case Wish::kCloser:
      return kCloser;
    case Wish::kWider:
      return kWider;
    case Wish::kAbove:
      return kAbove;
    case Wish::kLevel:
      return kLevel;
    case Wish::kNormal:
      return kNormal;
    case Wish::kNothing:
      break;
  }
  return kNone;
}

std::vector<LabelledSentence> FromFile(const std::string& name) {
  const std::string file = fmt::format("{}/tests/policies/{}", DRYRIG_SOURCE_DIR, name);
  return ReadCorpus(ReadTextFile(file), file);
}

std::vector<LabelledSentence> FromWordings(std::span<const Wording> wordings) {
  std::vector<LabelledSentence> out;
  for (const Wording& wording : wordings) {
    for (const std::string& text : SentencesOf(wording)) out.push_back({LabelOf(wording.wish), text});
  }
  return out;
}

/// All that is labelled and was not learnt from, but for plain speech alone.
std::vector<LabelledSentence> HeldOut() {
  std::vector<LabelledSentence> out = FromWordings(testing::kHeldOut);
  for (const LabelledSentence& one : FromFile("held_out_wishes.tsv")) out.push_back(one);
  return out;
}

const std::vector<std::string> kProps{"awl",       "needle",        "solder", "scraper", "gouge",    "buckle", "trowel",
                                      "burnisher", "pearl",         "dough",  "pot",     "loupe",    "roller", "tube",
                                      "pin-board", "narrow-chisel", "stone",  "pump",    "seedling", "square", "thread",
                                      "clay",      "glue",          "paper",  "block",   "board"};

/// Upper end of the 95 % score interval of a share, Wilson 1927 (Journal of the American Statistical Association 22).
double WilsonUpper(int hits, int of) {
  constexpr double kZ = 1.959964;
  const double n = of, p = hits / n, z2 = kZ * kZ;
  return (p + z2 / (2 * n) + kZ * std::sqrt(p * (1 - p) / n + z2 / (4 * n * n))) / (1 + z2 / n);
}

TEST(HeldOutSentences, AreHundredsAndNoneWasLearnt) {
  std::set<std::string> learnt;
  for (const LabelledSentence& one : FromWordings(Wordings())) learnt.insert(one.text);
  const std::vector<LabelledSentence> held = HeldOut(), plain = FromFile("held_out_plain.tsv");
  EXPECT_GE(learnt.size() + held.size(), 600u) << "the labelled corpus, learnt and held out";
  EXPECT_GE(plain.size(), 600u);
  std::set<std::string> seen;
  for (const auto* corpus : {&held, &plain}) {
    for (const LabelledSentence& one : *corpus) {
      EXPECT_FALSE(learnt.contains(one.text)) << one.text;
      EXPECT_TRUE(seen.insert(one.text).second) << "twice: " << one.text;
    }
  }
  for (const LabelledSentence& one : plain) EXPECT_EQ(one.label, kNone) << one.text;
}

// Source of the bound: Wilson's interval. Of 619 sentences two false alarms would still be let through, three not.
TEST(HeldOutSentences, PlainSpeechHardlyEverAsksForCloser) {
  const std::vector<LabelledSentence> plain = FromFile("held_out_plain.tsv");
  const Confusion read = Read(plain, ShippedReading(kProps));
  const int closer = read.counts[kNone][kCloser], none = read.counts[kNone][kNone], all = read.Of(kNone);
  printf("%d plain sentences: %d read as closer, Wilson upper bound %.2f %%; %d as anything at all\n", all, closer,
         100 * WilsonUpper(closer, all), all - none);
  EXPECT_LT(WilsonUpper(closer, all), 0.01);
  EXPECT_NEAR(WilsonUpper(0, 600), 0.00636, 1e-5) << "z^2 / (n + z^2)";
  // One that asks for closer wherever "close" is said fails.
  const auto crude = [](const std::string& text) { return size_t{text.find("clos") != std::string::npos ? kCloser : kNone}; };
  EXPECT_GT(WilsonUpper(Read(plain, crude).counts[kNone][kCloser], all), 0.01);
}

// As measured; what is missed leaves the picture as it is. The goal, a macro-F1 of 0.90, is not reached.
TEST(HeldOutSentences, MostWishesInOtherWordsAreRead) {
  const Confusion read = Read(HeldOut(), ShippedReading(kProps));
  printf("held out: macro-F1 %.3f;", read.MacroF1());
  for (size_t i = 0; i < kLabels; ++i) printf(" %s %.3f of %d", kSentenceLabels[i], read.F1(i), read.Of(i));
  printf("\n");
  const Confusion silent = Read(HeldOut(), [](const std::string&) { return size_t{kNone}; });
  EXPECT_GT(read.MacroF1(), 0.75);
  EXPECT_LT(silent.MacroF1(), 0.2);
  // A wish taken for another is worse than one that is missed.
  int taken_for_another = 0, wishes = 0;
  for (size_t i = 0; i < kNone; ++i) {
    wishes += read.Of(i);
    taken_for_another += read.Of(i) - read.counts[i][i] - read.counts[i][kNone];
  }
  EXPECT_LT(taken_for_another, 0.1 * wishes);
}

// Where the reader is sure enough to be followed (0.6), it is right at least as often as it says.
TEST(HeldOutSentences, CertaintyIsNotOverstatedWhereItIsActedOn) {
  const WishReader reader(Wordings());
  std::vector<LabelledSentence> all = HeldOut();
  for (const LabelledSentence& one : FromFile("held_out_plain.tsv")) all.push_back(one);
  std::erase_if(all, [](const LabelledSentence& one) { return one.label == kLookAt; });
  int sure = 0;
  const auto overstated = [&](auto&& certainty) {
    int bad = 0;
    sure = 0;
    for (int bin = 6; bin < 10; ++bin) {
      double said = 0;
      int right = 0, n = 0;
      for (const LabelledSentence& one : all) {
        const WishReader::Reading reading = reader.Read(one.text);
        const double chance = certainty(reading.chance);
        if (std::min(9, static_cast<int>(10 * chance)) != bin) continue;
        said += chance, right += LabelOf(reading.wish) == one.label, ++n;
      }
      sure += n;
      bad += right < said;
    }
    return bad;
  };
  EXPECT_EQ(overstated([](double chance) { return chance; }), 0);
  EXPECT_GT(sure, 400) << "most sentences are read with certainty";
  EXPECT_GT(overstated([](double chance) { return 1 - 0.3 * (1 - chance); }), 0) << "the check sees one that boasts";
}

}  // namespace
}  // namespace dryrig
