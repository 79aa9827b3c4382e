// The gate's JUnit XML against the schema that Apache Ant's JUnit reports follow, "JUnit.xsd" of the windyroad JUnit-Schema project
// (Apache License). The file was not at hand: what it asks for stands below from memory, as a table of elements in their order,
// how often each may come, and the attributes that each must and may have.
#include <gtest/gtest.h>
#include <tinyxml2.h>

#include <algorithm>
#include <map>
#include <regex>
#include <string>
#include <vector>

#include "bench/verdict.h"

namespace dryrig {
namespace {

struct Rule {
  std::vector<std::string> must, may;  // attributes
  std::vector<std::string> children;   // in this order; `?` behind a name: none or one, `*`: any number
};
const std::map<std::string, Rule> kSchema{
    {"testsuites", {{}, {}, {"testsuite*"}}},
    {"testsuite",
     {{"id", "package", "name", "timestamp", "hostname", "tests", "failures", "errors", "time"},
      {"skipped"},
      {"properties", "testcase*", "system-out", "system-err"}}},
    {"properties", {{}, {}, {"property*"}}},
    {"testcase", {{"name", "classname", "time"}, {}, {"skipped?", "error?", "failure?"}}},
    {"failure", {{"type"}, {"message"}, {}}},
    {"system-out", {{}, {}, {}}},
    {"system-err", {{}, {}, {}}},
};

void Check(const tinyxml2::XMLElement& element, std::vector<std::string>* faults) {
  const std::string name = element.Name();
  const auto found = kSchema.find(name);
  if (found == kSchema.end()) return faults->push_back("unknown element " + name);
  const Rule& rule = found->second;
  const auto holds = [](const std::vector<std::string>& list, const std::string& what) {
    return std::find(list.begin(), list.end(), what) != list.end();
  };
  for (const std::string& attribute : rule.must) {
    if (!element.Attribute(attribute.c_str())) faults->push_back(name + " lacks " + attribute);
  }
  for (const auto* at = element.FirstAttribute(); at; at = at->Next()) {
    if (!holds(rule.must, at->Name()) && !holds(rule.may, at->Name())) faults->push_back(name + " has " + at->Name());
  }
  const auto* child = element.FirstChildElement();
  for (std::string wanted : rule.children) {
    const char often = wanted.back();
    if (often == '?' || often == '*') wanted.pop_back();
    int count = 0;
    for (; child && child->Name() == wanted; child = child->NextSiblingElement()) ++count;
    if (often != '*' && count > 1) faults->push_back(name + " has more than one " + wanted);
    if (often != '*' && often != '?' && count == 0) faults->push_back(name + " lacks " + wanted);
  }
  if (child) faults->push_back(name + " has " + child->Name() + " where it may not stand");
  for (child = element.FirstChildElement(); child; child = child->NextSiblingElement()) Check(*child, faults);
}

std::vector<std::string> Faults(const std::string& xml) {
  std::vector<std::string> faults;
  tinyxml2::XMLDocument document;
  if (document.Parse(xml.c_str()) != tinyxml2::XML_SUCCESS) return {"not well formed"};
  if (std::string(document.RootElement()->Name()) != "testsuites") return {"root"};
  Check(*document.RootElement(), &faults);
  return faults;
}

std::string Report(bool failed) {
  Verdict verdict;
  Finding finding;
  finding.policy = "planner", finding.metric = "jerk", finding.text = "12 -> 15 m/s3 <\"&'>", finding.failed = failed;
  verdict.findings = {finding, finding};
  Baseline before;
  before.suite = "a <suite> & more";
  return ToJUnit(verdict, before, HereAndNow());
}

TEST(OutsideJUnit, TheGatesReportIsValidByTheSchema) {
  for (const bool failed : {false, true}) EXPECT_EQ(Faults(Report(failed)), std::vector<std::string>{}) << Report(failed);
}

TEST(OutsideJUnit, TheTimeStampIsAnIsoDateAndTimeWithoutAZone) {
  const std::string utc = HereAndNow().utc;
  EXPECT_TRUE(std::regex_match(utc, std::regex("[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}"))) << utc;
}

TEST(OutsideJUnit, BrokenTwinsAreFound) {
  const std::string good = Report(true);
  const auto with = [&](const std::string& old, const std::string& now) {
    std::string text = good;
    text.replace(text.find(old), old.size(), now);
    return Faults(text).size();
  };
  EXPECT_EQ(with("hostname=", "host="), 2u) << "one attribute gone, one that is not known";
  EXPECT_EQ(with("<failure", "<fault"), 1u) << "no longer well formed";
  EXPECT_EQ(with("<system-err/>", ""), 1u);
  EXPECT_EQ(with("<properties/>", "<properties/><properties/>"), 1u);
  EXPECT_EQ(with(" type=\"worse\"", ""), 1u);
}

}  // namespace
}  // namespace dryrig
