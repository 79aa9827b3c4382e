#include "policies/wish_reader.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>

#include "tests/policies/held_out_wordings.h"

namespace dryrig {
namespace {

using testing::kHeldOut;

/// Of a reader over labelled sentences, at a chance of 0.6 and more.
struct Result {
  int right = 0, missed = 0, false_alarms = 0, wrong_wish = 0, wishes = 0, nothings = 0;
};
Result Examine(const WishReader& reader, std::span<const Wording> wordings) {
  Result r;
  for (const Wording& wording : wordings) {
    for (const std::string& sentence : SentencesOf(wording)) {
      const WishReader::Reading reading = reader.Read(sentence);
      const Wish read = reading.chance >= 0.6 ? reading.wish : Wish::kNothing;
      (wording.wish == Wish::kNothing ? r.nothings : r.wishes) += 1;
      if (read == wording.wish) {
        r.right += 1;
      } else if (wording.wish == Wish::kNothing) {
        r.false_alarms += 1;
      } else {
        (read == Wish::kNothing ? r.missed : r.wrong_wish) += 1;
      }
    }
  }
  return r;
}

TEST(WishReader, LearnsFromHundredsOfSentencesAndIsTestedOnOthers) {
  std::vector<std::string> learnt, tested;
  for (const Wording& w : Wordings()) {
    for (const std::string& s : SentencesOf(w)) learnt.push_back(s);
  }
  for (const Wording& w : kHeldOut) {
    for (const std::string& s : SentencesOf(w)) tested.push_back(s);
  }
  EXPECT_GE(learnt.size(), 400u);
  EXPECT_GE(tested.size(), 140u);
  for (const std::string& s : tested) EXPECT_EQ(std::count(learnt.begin(), learnt.end(), s), 0) << s;
}

// What it has not learnt is in other words; a missed wish leaves the picture as it is, an invented one spoils it.
TEST(WishReader, ReadsWordingsThatItHasNotMetAndSeldomInventsAWish) {
  const Result r = Examine(WishReader(Wordings()), kHeldOut);
  RecordProperty("right", r.right);
  printf("held out: %d wishes: %d missed, %d taken for another; %d sentences that ask nothing: %d false alarms\n", r.wishes,
         r.missed, r.wrong_wish, r.nothings, r.false_alarms);
  EXPECT_LT(r.false_alarms, 0.06 * r.nothings);
  EXPECT_LT(r.wrong_wish, 0.1 * r.wishes);
  EXPECT_LT(r.missed, 0.5 * r.wishes);
}

TEST(WishReader, OneThatLearntTheWrongLabelsFailsThatTest) {
  std::vector<Wording> mixed(Wordings().begin(), Wordings().end());
  for (size_t i = 0; i < mixed.size(); ++i) mixed[i].wish = Wordings()[(7 * i + 3) % mixed.size()].wish;
  const Result r = Examine(WishReader(mixed), kHeldOut);
  EXPECT_GT(r.missed + r.wrong_wish, 0.7 * r.wishes);
}

TEST(WishReader, TwoReadersAgreeToTheLastBit) {
  const WishReader a(Wordings()), b(Wordings());
  for (const Wording& wording : kHeldOut) {
    for (const std::string& s : SentencesOf(wording)) EXPECT_EQ(a.Read(s).chance, b.Read(s).chance) << s;
  }
}

TEST(WishReader, WhatHasNoWordsAsksNothing) {
  const WishReader reader(Wordings());
  for (const char* text : {"", " ", "...", "\xff\xfe"}) EXPECT_EQ(reader.Read(text).wish, Wish::kNothing) << text;
}

}  // namespace
}  // namespace dryrig
