#include "sim/store.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <limits>

#include "scenes/error.h"
#include "sim/rng.h"
#include "sim/take_json.h"
#include "sim/take_series.h"
#include "tests/sim/random_take.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;
using testing::Difference;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using testing::MakeTake;
using testing::SameIdentity;
using ::testing::Property;
using ::testing::Throws;

/// A folder of its own, gone at the end.
class Folder {
 public:
  Folder() {
    std::string name = (fs::temp_directory_path() / "dryrig-store-XXXXXX").string();
    path_ = mkdtemp(name.data());
  }
  ~Folder() { fs::remove_all(path_); }
  fs::path operator/(const char* name) const { return path_ / name; }
  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

auto Says(const std::string& text) {
  return Throws<InputError>(Property(&InputError::what, HasSubstr(text)));
}

TEST(Store, ATakeComesBackBitForBit) {
  const Folder folder;
  const Take take = MakeTake();
  Store(folder / "results.db", Store::Mode::kCreate).WriteTake(take, true);
  const Take back = Store(folder / "results.db", Store::Mode::kRead).ReadTake(1);
  EXPECT_EQ(Difference(take, back), "");
  EXPECT_EQ(Difference(back, take), "");
}

TEST(Store, TheComparisonSeesOneChangedBitInEveryPart) {
  const Take take = MakeTake();
  const auto differs = [&take](auto&& change) {
    Take other = take;
    change(other);
    return Difference(take, other);
  };
  const auto flip = [](double& value) { value = std::bit_cast<double>(std::bit_cast<uint64_t>(value) ^ 1); };
  EXPECT_EQ(differs([](Take&) {}), "");
  EXPECT_EQ(differs([](Take& t) { t.id.params += " "; }), "id");
  EXPECT_EQ(differs([&](Take& t) { flip(t.duration_s); }), "duration");
  EXPECT_EQ(differs([&](Take& t) { flip(t.beats[1].ready_s); }), "beats");
  EXPECT_EQ(differs([](Take& t) { t.intents[0].shot.composition = Composition::kCentre; }), "intents");
  EXPECT_EQ(differs([](Take& t) { t.camera.text += "\n"; }), "camera");
  EXPECT_EQ(differs([&](Take& t) { flip(t.arm_bodies[0].body.shape.points[2].y()); }), "arm bodies");
  EXPECT_EQ(differs([](Take& t) { t.joints[0].prismatic = true; }), "joints");
  EXPECT_EQ(differs([&](Take& t) { flip(t.startles[1].away_W.z()); }), "startles");
  EXPECT_EQ(differs([&](Take& t) { flip(t.frames[4].X_WP[1](2, 3)); }), "frames");
  EXPECT_EQ(differs([&](Take& t) { flip(t.frames[4].person.q_WHd.y()); }), "frames");
  EXPECT_EQ(differs([&](Take& t) { flip(t.ticks[39].torque[5]); }), "ticks");
  EXPECT_EQ(differs([](Take& t) { t.ticks.pop_back(); }), "ticks");
}

TEST(Store, TakesOfAnySizeComeBack) {
  const Folder folder;
  Store store(folder / "results.db", Store::Mode::kCreate);
  int64_t id = 0;
  for (const auto& [frames, dof, props] : {std::array{0, 6, 2}, std::array{1, 0, 0}, std::array{3, 8, 0}, std::array{2, 4, 5}}) {
    SCOPED_TRACE(fmt::format("{} frames, {} joints, {} props", frames, dof, props));
    Take take = MakeTake(frames, dof, props);
    take.id.seed = static_cast<uint64_t>(++id);
    EXPECT_EQ(store.WriteTake(take, true), id);
    EXPECT_EQ(Difference(take, store.ReadTake(id)), "");
  }
}

TEST(Store, ATakeOfUnevenFramesIsRefusedWhole) {
  const Folder folder;
  Store store(folder / "results.db", Store::Mode::kCreate);
  Take take = MakeTake();
  take.frames[3].X_WP.pop_back();
  EXPECT_THROW(store.WriteTake(take, true), RunError);
  EXPECT_THAT(store.TakeIds(), ElementsAre());
}

TEST(Store, ScoresInputsAndContextComeBackInOrder) {
  const Folder folder;
  {
    Store store(folder / "results.db", Store::Mode::kCreate);
    const int64_t id = store.WriteTake(MakeTake(), false);
    store.WriteScores(id, {{"zeta", "m", 0.1, 1.0 / 3, "tip – camera"}, {"alpha", "1", std::nullopt, std::nullopt, ""}});
    store.WriteInputs(id, {{"aa", "lesson", "one", "text\n"}, {"bb", "arm", "two", ""}});
    store.WriteContext("{\"a\": 1}");
  }
  const Store store(folder / "results.db", Store::Mode::kRead);
  const std::vector<StoredScore> scores = store.ReadScores(1);
  ASSERT_EQ(scores.size(), 2u);
  EXPECT_EQ(scores[0].metric, "zeta");
  EXPECT_EQ(scores[0].value, 0.1);
  EXPECT_EQ(scores[0].worst_t_s, 1.0 / 3);
  EXPECT_EQ(scores[0].worst_what, "tip – camera");
  EXPECT_EQ(scores[1].metric, "alpha");
  EXPECT_FALSE(scores[1].value.has_value());
  EXPECT_FALSE(scores[1].worst_t_s.has_value());
  const std::vector<StoredInput> inputs = store.ReadInputs(1);
  ASSERT_EQ(inputs.size(), 2u);
  EXPECT_EQ(inputs[0].kind, "arm");
  EXPECT_EQ(inputs[1].text, "text\n");
  EXPECT_EQ(store.ReadContext(), "{\"a\": 1}");
}

TEST(Store, WithoutSeriesATakeIsListedAndFoundButNotRead) {
  const Folder folder;
  Store store(folder / "results.db", Store::Mode::kCreate);
  const Take take = MakeTake();
  store.WriteTake(take, false);
  EXPECT_FALSE(store.HasSeries(1));
  EXPECT_TRUE(SameIdentity(store.ReadIdentity(1), take.id));
  EXPECT_EQ(store.FindTake(take.id), 1);
  TakeIdentity other = take.id;
  other.seed -= 1;
  EXPECT_EQ(store.FindTake(other), std::nullopt);
  EXPECT_THAT([&] { store.ReadTake(1); }, Says("were not kept"));
  EXPECT_THAT([&] { store.ReadTake(2); }, Says("no take 2"));
}

TEST(Store, TheSameTakeIsNotWrittenTwice) {
  const Folder folder;
  Store store(folder / "results.db", Store::Mode::kCreate);
  store.WriteTake(MakeTake(), false);
  EXPECT_THROW(store.WriteTake(MakeTake(), false), RunError);
  EXPECT_THAT(store.TakeIds(), ElementsAre(1));
}

TEST(Store, WhatIsWrittenTogetherIsKeptWholeOrNotAtAll) {
  const Folder folder;
  Store store(folder / "results.db", Store::Mode::kCreate);
  EXPECT_THROW(store.Together([&] {
    store.WriteTake(MakeTake(), true);
    throw RunError("power cut");
  }),
               RunError);
  EXPECT_THAT(store.TakeIds(), ElementsAre());
  store.Together([&] { store.WriteScores(store.WriteTake(MakeTake(), true), {}); });
  EXPECT_THAT(store.TakeIds(), ElementsAre(1));
}

TEST(Store, TheOrderOfWritingLeavesNoTrace) {
  const Folder folder;
  Take first = MakeTake(), second = MakeTake();
  first.id.seed = 1;
  second.id.seed = 2;
  const std::vector<StoredScore> scores{{"a", "m", 1.5, 2.0, "x"}};
  const auto write = [&](const char* name, bool backwards) {
    Store store(folder / name, Store::Mode::kCreate);
    for (const int turn : {0, 1}) {
      const bool is_first = (turn == 0) != backwards;
      store.WriteScores(store.WriteTake(is_first ? first : second, true, is_first ? 1 : 2), scores);
    }
    store.Compact();
  };
  const auto bytes = [&](const char* name) {
    std::ifstream file(folder / name, std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(file), {});
  };
  write("forwards.db", false);
  write("backwards.db", true);
  EXPECT_TRUE(bytes("forwards.db") == bytes("backwards.db"));
}

TEST(Store, WhatIsNoStoreOfOursIsRefusedByName) {
  const Folder folder;
  EXPECT_THAT([&] { Store(folder / "none.db", Store::Mode::kRead); }, Says("none.db: no such file"));
  EXPECT_THAT([&] { Store(folder / "none.db", Store::Mode::kAppend); }, Says("none.db: no such file"));
  EXPECT_FALSE(fs::exists(folder / "none.db"));
  std::ofstream(folder / "text.db") << "this is a text of more than a few bytes, and no database at all\n";
  EXPECT_THAT([&] { Store(folder / "text.db", Store::Mode::kRead); }, Says("not a database"));
  std::ofstream(folder / "empty.db");
  EXPECT_THAT([&] { Store(folder / "empty.db", Store::Mode::kRead); }, Says("no results of dryrig"));
  EXPECT_THAT([&] { Store(folder / "empty.db", Store::Mode::kCreate); }, Says("is there already"));
}

TEST(Store, ANewerVersionIsRefusedNotMisread) {
  const Folder folder;
  { Store store(folder / "results.db", Store::Mode::kCreate); }
  {
    std::fstream file(folder / "results.db", std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(60);  // user_version in the database header, big-endian (SQLite's file format, section 1.3)
    file.write("\0\0\0\3", 4);
  }
  EXPECT_THAT([&] { Store(folder / "results.db", Store::Mode::kRead); }, Says("newer dryrig (schema 3"));
}

TEST(Store, KeepsCodeAndVariantsOfATakeAndTakesThemAwayWithIt) {
  const Folder folder;
  Store store(folder / "results.db", Store::Mode::kCreate);
  Take take = MakeTake(), other = MakeTake();
  other.id.seed = take.id.seed + 1;
  const int64_t id = store.WriteTake(take, true), kept = store.WriteTake(other, false);
  store.WriteInputs(id, {{"aa", "lesson", "l", "text of one"}, {"bb", "bench", "b", "text of both"}});
  store.WriteInputs(kept, {{"bb", "bench", "b", "text of both"}});
  EXPECT_EQ(store.ReadCode(id), "");
  store.WriteCode(id, "sim=1 policy=2");
  store.WriteVariants(id, {{"later", "framing_error", "tolerances", 1.5},
                           {"later", "occlusion", "", std::nullopt},
                           {"closer", "framing_error", "tolerances", 2.5}});
  store.WriteVariants(id, {{"later", "framing_error", "tolerances", 1.25}});  // in place of what that variant had
  EXPECT_EQ(store.ReadCode(id), "sim=1 policy=2");
  EXPECT_EQ(store.ReadCode(kept), "");
  const std::vector<VariantScore> variants = store.ReadVariants(id);
  ASSERT_EQ(variants.size(), 2u);
  EXPECT_EQ(variants[0].variant, "closer");
  EXPECT_EQ(variants[0].value, 2.5);
  EXPECT_EQ(variants[1].value, 1.25);
  store.Remove(id);
  EXPECT_EQ(store.TakeIds(), std::vector<int64_t>{kept});
  EXPECT_TRUE(store.ReadVariants(id).empty());
  EXPECT_TRUE(store.ReadScores(id).empty());
  EXPECT_TRUE(store.ReadInputs(id).empty());
  EXPECT_EQ(store.ReadInputs(kept).size(), 1u);
  EXPECT_THAT([&] { store.WriteCode(id, "x"); }, Says("no take"));
}

TEST(Store, FindsATakeWhoseFilesAloneAreOthers) {
  const Folder folder;
  Store store(folder / "results.db", Store::Mode::kCreate);
  Take before = MakeTake(), seed = MakeTake();
  before.id.inputs_hash = "of yesterday";
  seed.id.inputs_hash = "of yesterday";
  seed.id.seed += 1;
  const int64_t id = store.WriteTake(before, false);
  store.WriteTake(seed, false);
  EXPECT_EQ(store.FindOutdated(MakeTake().id), std::vector<int64_t>{id});
  EXPECT_TRUE(store.FindOutdated(before.id).empty());
}

TEST(Store, ATornFileIsRefusedNotCrashedOn) {
  const Folder folder;
  const fs::path db = folder / "results.db";
  Store(db, Store::Mode::kCreate).WriteTake(MakeTake(), true);
  const auto whole = fs::file_size(db);
  fs::resize_file(db, whole / 2);
  EXPECT_ANY_THROW(Store(db, Store::Mode::kRead).ReadTake(1));
}

TEST(TakeRef, NamesAFolderAFileOrOneOfMany) {
  const Folder folder;
  {
    Store store(folder / "results.db", Store::Mode::kCreate);
    store.WriteTake(MakeTake(), false);
  }
  const std::string root = folder.path().string();
  EXPECT_EQ(ParseTakeRef(root).id, 1);
  EXPECT_EQ(ParseTakeRef(root).db, folder / "results.db");
  EXPECT_EQ(ParseTakeRef(root + "/results.db").id, 1);
  EXPECT_EQ(ParseTakeRef(root + "/results.db:1").id, 1);
  EXPECT_EQ(ParseTakeRef(root + ":1").id, 1);
  EXPECT_THAT([&] { ParseTakeRef(root + "/results.db:2"); }, Says("no take 2"));
  EXPECT_THAT([&] { ParseTakeRef(root + "/results.db:x"); }, Says("no take's number"));
  EXPECT_THAT([&] { ParseTakeRef(root + "/other.db"); }, Says("no such file"));
  Take second = MakeTake();
  second.id.seed = 2;
  Store(folder / "results.db", Store::Mode::kAppend).WriteTake(second, false);
  EXPECT_THAT([&] { ParseTakeRef(root); }, Says("holds 2 takes; name one"));
}

TEST(TakeSeries, BodyPointsHaveDistinctNames) {
  std::vector<std::string> names;
  for (int i = 0; i < kNumBodyPoints; ++i) names.push_back(BodyPointName(i));
  EXPECT_EQ(names[kPelvis], "pelvis");
  EXPECT_EQ(names[kToeR], "right toe");
  EXPECT_EQ(names[HandPoint(kRight, 8)], "right index tip");
  EXPECT_EQ(names[HandPoint(kLeft, 0)], "left hand wrist");
  std::sort(names.begin(), names.end());
  EXPECT_EQ(std::adjacent_find(names.begin(), names.end()), names.end());
}

}  // namespace
}  // namespace dryrig
