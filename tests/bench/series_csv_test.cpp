#include "bench/series_csv.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "bench/csv.h"
#include "bench/text_table.h"
#include "scenes/error.h"

namespace dryrig {
namespace {

using ::testing::HasSubstr;
using ::testing::Property;
using ::testing::Throws;

TEST(SeriesCsv, ASlowerSeriesFillsTheRowsItsSamplesFallOn) {
  const TakeSeries fast{"clearance", "m", 4, {"distance"}, {1, 2, 3, 4, 5}};
  const TakeSeries slow{"gaze", "1", 2, {"x", "y"}, {0.1, -0.5, NAN, 7}};
  EXPECT_EQ(SeriesCsv({fast, slow}),
            "t_s,clearance [m],gaze: x,gaze: y\n"
            "0,1,0.1,-0.5\n"
            "0.25,2,,\n"
            "0.5,3,,7\n"
            "0.75,4,,\n"
            "1,5,,\n");
}

TEST(SeriesCsv, RatesThatDoNotDivideAreRefused) {
  EXPECT_THAT(
      [] {
        SeriesCsv({{"a", "m", 30, {"a"}, {1}}, {"b", "m", 50, {"b"}, {1}}});
      },
      Throws<InputError>(Property(&InputError::what, HasSubstr("series a at 30 Hz does not fit into rows at 50 Hz"))));
}

TEST(SeriesCsv, NothingIsAHeaderAlone) {
  EXPECT_EQ(SeriesCsv({{"a", "", 30, {"a"}, {}}}), "t_s,a\n");
}

TEST(CsvLine, QuotesAndKeepsBits) {
  CsvLine line;
  line.Text("plain");
  line.Text("with, comma");
  line.Text("with \"quote\"");
  line.Number(1.0 / 3);
  line.Number(std::nullopt);
  line.Number(NAN);
  line.Number(-0.0);
  EXPECT_EQ(line.Done(), "plain,\"with, comma\",\"with \"\"quote\"\"\",0.3333333333333333,,,0\n");
}

TEST(TextTable, AlignsByCodePoints) {
  TextTable table({TextTable::Align::kLeft, TextTable::Align::kRight});
  table.Row({"m/s³", "value"});
  table.Rule();
  table.Row({"metres", "1.5"});
  EXPECT_EQ(table.ToString(),
            "m/s³    value\n"
            "------  -----\n"
            "metres    1.5\n");
}

TEST(ForPeople, GivesAboutFourDigitsAndADashForNothing) {
  EXPECT_EQ(ForPeople(std::nullopt), "-");
  EXPECT_EQ(ForPeople(0), "0");
  EXPECT_EQ(ForPeople(-0.0), "0");
  EXPECT_EQ(ForPeople(5), "5");
  EXPECT_EQ(ForPeople(0.81234), "0.812");
  EXPECT_EQ(ForPeople(-12.3456), "-12.35");
  EXPECT_EQ(ForPeople(123.456), "123.5");
  EXPECT_EQ(ForPeople(12345.6), "12346");
  EXPECT_EQ(ForPeople(0.000123), "1.2e-04");
}

TEST(Wrap, BreaksAtBlanksAndIndents) {
  EXPECT_EQ(Wrap("one two three", 8, 2), "one two\n  three");
}

}  // namespace
}  // namespace dryrig
