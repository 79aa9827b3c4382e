// What is open and what happens to it: lessons, takes, folders, broken files, parameters, re-runs, comparing. No window.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <thread>

#include "sim/store.h"
#include "tests/bench/child.h"
#include "tests/scenes/bvh_files.h"
#include "viewer/session.h"

namespace dryrig {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

template <class Until>
bool PollUntil(Session* session, Until until) {
  const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(60);
  while (!until() && std::chrono::steady_clock::now() < give_up) {
    session->Poll();
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  return until();
}
bool Finish(Session* session) {
  return PollUntil(session, [&] { return !session->busy(); });
}

class OpenSession : public testing::Test {
 protected:
  /// Films the short lesson by a policy that is quick.
  void OpenLesson(const PolicyChoice& policy = {"tripod", {}}) {
    session_.Open(folder_.Write("short.yaml", kShortLesson), kFirst, policy);
    ASSERT_TRUE(Finish(&session_));
    ASSERT_THAT(session_.problems(), IsEmpty()) << session_.problems()[0].message;
    ASSERT_NE(session_.filmed(kFirst), nullptr);
  }
  /// Takes with series if `kept`, by ids from 1 on.
  std::string WriteStore(const std::string& name, int takes, bool kept) {
    const std::string lesson = folder_.Write("stored.yaml", kShortLesson);
    const std::filesystem::path db = folder_ / name / "results.db";
    std::filesystem::create_directories(folder_ / name);
    Store store(db, Store::Mode::kCreate);
    for (int i = 0; i < takes; ++i) {
      TakeChoice choice;
      choice.lesson = lesson;
      choice.policy = {"tripod", {{"wide_m", 0.6 + 0.1 * i}}};
      const auto recipe = std::make_shared<const Recipe>(MakeRecipe(choice));
      const FilmedTake filmed = Film(recipe, 0, {});
      const int64_t id = store.WriteTake(filmed.take, kept);
      store.WriteInputs(id, InputsOf(recipe->setup));
    }
    return db.parent_path().string();
  }

  Folder folder_;
  Session session_;
};

TEST_F(OpenSession, ALessonIsFilmedAndScoredAfterItsFirstMomentsAreSeen) {
  session_.Open(folder_.Write("short.yaml", kShortLesson));
  ASSERT_TRUE(PollUntil(&session_, [&] { return session_.filmed(kFirst) != nullptr; }));
  EXPECT_TRUE(session_.filmed(kFirst)->preview());
  EXPECT_LT(session_.filmed(kFirst)->take.frames.size(), 10u);
  const double length_s = session_.reel().length_s;
  EXPECT_GT(length_s, 4) << "the time line is the whole lesson's at once";
  ASSERT_TRUE(Finish(&session_));
  const FilmedTake& whole = *session_.filmed(kFirst);
  EXPECT_FALSE(whole.preview());
  EXPECT_EQ(whole.take.id.policy, kDefaultPolicy);
  EXPECT_EQ(whole.take.frames.size(), static_cast<size_t>(whole.take.duration_s * 30) + 1);
  EXPECT_EQ(whole.card.scores.size(), Metrics().size());
  EXPECT_NEAR(session_.reel().length_s, length_s, 0.04);
  ASSERT_EQ(whole.heard.size(), 2u);
  EXPECT_EQ(whole.take.sentences.size(), 2u);
  EXPECT_GT(whole.heard[0].heard_s, whole.take.sentences[0].end_s) << "a sentence is heard after it was spoken";
}

TEST_F(OpenSession, TheCursorAskedForBeforeTheTakeIsThereStaysWhereItWasPut) {
  session_.transport.t_s = 3.2;
  OpenLesson();
  EXPECT_EQ(session_.transport.t_s, 3.2);
  session_.transport.t_s = 99;
  session_.Rerun(kFirst);
  ASSERT_TRUE(Finish(&session_));
  EXPECT_EQ(session_.transport.t_s, session_.reel().length_s);
}

TEST_F(OpenSession, ABrokenFileIsReportedAndWhatIsOpenStays) {
  OpenLesson();
  const FilmedTake* before = session_.filmed(kFirst);
  const std::string broken = folder_.Write("broken.yaml", "dryrig: lesson/1\ntitle: x\nbeets: []\n");
  session_.Open(broken);
  ASSERT_TRUE(Finish(&session_));
  ASSERT_EQ(session_.problems().size(), 1u);
  EXPECT_THAT(session_.problems()[0].doing, HasSubstr("broken.yaml"));
  EXPECT_THAT(session_.problems()[0].message, HasSubstr("broken.yaml:3:1: "));
  EXPECT_TRUE(session_.problems()[0].bad_input);
  EXPECT_EQ(session_.filmed(kFirst), before);
  EXPECT_THAT(session_.opened(), HasSubstr("short.yaml")) << "what failed is not remembered as opened";
  session_.DismissProblems();
  EXPECT_THAT(session_.problems(), IsEmpty());
}

TEST_F(OpenSession, WhatIsNotThereIsReported) {
  for (const std::string& what : {std::string("bocklet"), (folder_ / "no.db").string(), folder_.path().string(), std::string()}) {
    session_.Open(what);
    ASSERT_TRUE(Finish(&session_));
    ASSERT_EQ(session_.problems().size(), 1u) << what;
    EXPECT_TRUE(session_.problems()[0].bad_input);
    session_.DismissProblems();
  }
  EXPECT_EQ(session_.filmed(kFirst), nullptr);
}

TEST_F(OpenSession, ARecordingIsFilmedWithWhatIsSaidInIt) {
  const std::string motion = folder_.Write("fold.bvh", WriteBvh());
  const std::string captions = folder_.Write("fold.vtt", "WEBVTT\n\n00:00.200 --> 00:00.900\nFold it.\n");
  session_.Open(motion, kFirst, {"tripod", {}}, captions);
  ASSERT_TRUE(Finish(&session_));
  ASSERT_THAT(session_.problems(), IsEmpty()) << session_.problems()[0].message;
  const FilmedTake& shown = *session_.filmed(kFirst);
  ASSERT_EQ(shown.take.sentences.size(), 1u);
  EXPECT_EQ(shown.take.sentences[0].text, "Fold it.");
  EXPECT_NE(shown.recipe, nullptr) << shown.why_not;
  session_.Open(WriteStore("one", 1, true), kFirst, {}, captions);
  ASSERT_TRUE(Finish(&session_));
  ASSERT_EQ(session_.problems().size(), 1u);
  EXPECT_THAT(session_.problems()[0].message, HasSubstr("goes with a recording"));
}

TEST_F(OpenSession, AStoredTakeIsShownAsItWasRecordedAndKnowsItsRecipe) {
  const std::string folder = WriteStore("one", 1, true);
  session_.Open(folder);
  ASSERT_TRUE(Finish(&session_));
  ASSERT_THAT(session_.problems(), IsEmpty()) << session_.problems()[0].message;
  const FilmedTake& shown = *session_.filmed(kFirst);
  const Take stored = Store(folder + "/results.db", Store::Mode::kRead).ReadTake(1);
  EXPECT_EQ(shown.take.frames.size(), stored.frames.size());
  EXPECT_EQ(shown.take.ticks.back().p_WC, stored.ticks.back().p_WC);
  EXPECT_FALSE(shown.preview());
  ASSERT_NE(shown.recipe, nullptr) << shown.why_not;
  EXPECT_EQ(session_.slot(kFirst).wish.values.at("wide_m"), 0.6);
  EXPECT_FALSE(session_.Changed(kFirst));
  EXPECT_EQ(shown.heard.size(), 2u);
  session_.Rerun(kFirst);
  ASSERT_TRUE(Finish(&session_));
  EXPECT_EQ(session_.filmed(kFirst)->take.ticks.back().p_WC, stored.ticks.back().p_WC)
      << "filmed again it is the same, bit for bit";
}

TEST_F(OpenSession, AResultsFolderOffersItsTakesAndFilmsAgainThoseKeptAsNumbers) {
  const std::string folder = WriteStore("many", 3, false);
  session_.Open(folder);
  ASSERT_TRUE(Finish(&session_));
  ASSERT_TRUE(session_.list());
  ASSERT_EQ(session_.list()->takes.size(), 3u);
  EXPECT_FALSE(session_.list()->takes[1].has_series);
  EXPECT_EQ(session_.filmed(kFirst), nullptr);
  session_.OpenListed(1);
  ASSERT_TRUE(Finish(&session_));
  ASSERT_THAT(session_.problems(), IsEmpty()) << session_.problems()[0].message;
  EXPECT_FALSE(session_.list());
  EXPECT_THAT(session_.filmed(kFirst)->source, HasSubstr("filmed again"));
  EXPECT_THAT(session_.filmed(kFirst)->take.id.params, HasSubstr("wide_m=0.7"));
}

TEST_F(OpenSession, AFolderOfResultFoldersOffersThemAll) {
  WriteStore("grid/a", 1, false);
  WriteStore("grid/b", 2, false);
  session_.Open((folder_ / "grid").string());
  ASSERT_TRUE(Finish(&session_));
  ASSERT_TRUE(session_.list());
  EXPECT_EQ(session_.list()->takes.size(), 3u);
}

// Inputs that no longer give the take that was stored must not pass for it.
TEST_F(OpenSession, ATakeWhoseInputsWereChangedIsNotFilmedAgain) {
  const std::string folder = WriteStore("one", 1, false);
  {
    Store store(folder + "/results.db", Store::Mode::kAppend);
    std::vector<StoredInput> inputs = store.ReadInputs(1);
    for (StoredInput& input : inputs) {
      if (input.kind == "person") input.text += "# changed\n", input.hash = "0";
    }
    store.WriteTake(store.HasSeries(1) ? store.ReadTake(1) : [&] {
      TakeChoice choice;
      choice.lesson = (folder_ / "stored.yaml").string();
      choice.policy = {"topdown", {}};
      return Film(std::make_shared<const Recipe>(MakeRecipe(choice)), 0, {}).take;
    }(), false, 2);
    store.WriteInputs(2, inputs);
  }
  session_.Open(folder + "/results.db:2");
  ASSERT_TRUE(Finish(&session_));
  ASSERT_EQ(session_.problems().size(), 1u);
  EXPECT_THAT(session_.problems()[0].message, HasSubstr("do not add up"));
}

TEST_F(OpenSession, ParametersStayInRangeAndARerunUsesThem) {
  OpenLesson();
  EXPECT_FALSE(session_.Changed(kFirst));
  session_.SetParam(kFirst, "wide_m", 99);
  EXPECT_EQ(session_.slot(kFirst).wish.values.at("wide_m"), 3) << "its highest";
  session_.SetParam(kFirst, "wide_m", 0.5);
  session_.SetParam(kFirst, "wide_m", std::nan(""));
  session_.SetParam(kFirst, "no_such", 1);
  EXPECT_TRUE(session_.Changed(kFirst));
  EXPECT_EQ(session_.WishedPolicy(kFirst).values, (ParamValues{{"wide_m", 0.5}}));
  const Eigen::Vector3d before = session_.filmed(kFirst)->take.ticks.back().p_WC;
  session_.Rerun(kFirst);
  ASSERT_TRUE(Finish(&session_));
  EXPECT_FALSE(session_.Changed(kFirst));
  EXPECT_THAT(session_.filmed(kFirst)->take.id.params, HasSubstr("wide_m=0.5"));
  EXPECT_GT((session_.filmed(kFirst)->take.ticks.back().p_WC - before).norm(), 0.02) << "a tighter view stands nearer";
  session_.ResetParams(kFirst);
  EXPECT_TRUE(session_.Changed(kFirst));
  EXPECT_THAT(session_.WishedPolicy(kFirst).values, IsEmpty());
}

TEST_F(OpenSession, SlidersMovedWhileTheTakeIsFilmedStay) {
  OpenLesson();
  session_.SetParam(kFirst, "wide_m", 0.5);
  session_.Rerun(kFirst);
  session_.SetParam(kFirst, "wide_m", 0.9);
  ASSERT_TRUE(Finish(&session_));
  EXPECT_THAT(session_.filmed(kFirst)->take.id.params, HasSubstr("wide_m=0.5"));
  EXPECT_EQ(session_.slot(kFirst).wish.values.at("wide_m"), 0.9);
  EXPECT_TRUE(session_.Changed(kFirst));
}

TEST_F(OpenSession, CancelKeepsTheTakeAndTheSession) {
  OpenLesson();
  const FilmedTake* before = session_.filmed(kFirst);
  session_.SetPolicy(kFirst, "planner");
  session_.Rerun(kFirst);
  ASSERT_TRUE(session_.busy());
  EXPECT_THAT(session_.job(kFirst)->what, HasSubstr("planner"));
  session_.Cancel();
  ASSERT_TRUE(Finish(&session_));
  EXPECT_EQ(session_.filmed(kFirst), before);
  EXPECT_EQ(session_.slot(kFirst).wish.name, "planner") << "what was set by hand stays set";
  EXPECT_THAT(session_.problems(), IsEmpty()) << "cancelling is no error";
}

TEST_F(OpenSession, ComparingFilmsTheSamePerformanceWithAnotherPolicy) {
  session_.Open(folder_.Write("short.yaml", kShortLesson), kFirst, {"tripod", {}});
  session_.Compare({"topdown", {}});  // asked for before the first take is there
  ASSERT_TRUE(PollUntil(&session_, [&] {
    return !session_.busy() && session_.comparing() && !session_.filmed(kSecond)->preview() &&
           !session_.filmed(kFirst)->preview();
  }));
  const Take &a = session_.filmed(kFirst)->take, &b = session_.filmed(kSecond)->take;
  EXPECT_EQ(a.id.policy, "tripod");
  EXPECT_EQ(b.id.policy, "topdown");
  ASSERT_EQ(a.frames.size(), b.frames.size());
  EXPECT_EQ(a.frames.back().person.p_W, b.frames.back().person.p_W) << "in step: the instructor does the same";
  EXPECT_GT((a.frames.back().X_WC.translation() - b.frames.back().X_WC.translation()).norm(), 0.1);
  session_.CloseSecond();
  EXPECT_FALSE(session_.comparing());
  session_.Compare({"nobody", {}});
  ASSERT_EQ(session_.problems().size(), 1u);
}

TEST_F(OpenSession, AKeptTakeStaysWhileTheFirstIsTuned) {
  OpenLesson();
  session_.KeepAsSecond();
  ASSERT_TRUE(session_.comparing());
  session_.SetParam(kFirst, "wide_m", 0.5);
  session_.Rerun(kFirst);
  ASSERT_TRUE(Finish(&session_));
  EXPECT_THAT(session_.filmed(kFirst)->take.id.params, HasSubstr("wide_m=0.5"));
  EXPECT_THAT(session_.filmed(kSecond)->take.id.params, HasSubstr("wide_m=0.75"));
  OpenLesson();
  EXPECT_FALSE(session_.comparing()) << "another take opened is compared with nothing";
}

TEST_F(OpenSession, SavedParametersAreSetNotFilmed) {
  OpenLesson();
  const FilmedTake* before = session_.filmed(kFirst);
  session_.Open(folder_.Write("tuned.policy", "tripod:wide_m=0.5\n"));
  EXPECT_FALSE(session_.busy());
  EXPECT_EQ(session_.filmed(kFirst), before);
  EXPECT_EQ(session_.slot(kFirst).wish.values.at("wide_m"), 0.5);
  session_.Open(folder_.Write("bad.policy", "tripod:wide_m=oops\n"));
  ASSERT_EQ(session_.problems().size(), 1u);
  EXPECT_THAT(session_.problems()[0].message, HasSubstr("bad.policy:1"));
}

}  // namespace
}  // namespace dryrig
