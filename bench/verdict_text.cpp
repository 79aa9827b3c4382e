// A verdict as text, as Markdown and as JUnit XML (the elements and attributes of the Apache Ant JUnit schema).
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <tinyxml2.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <ctime>

#include "bench/context.h"
#include "bench/verdict.h"

namespace dryrig {

namespace {

size_t Failures(const Verdict& verdict) {
  return static_cast<size_t>(
      std::count_if(verdict.findings.begin(), verdict.findings.end(), [](const Finding& finding) { return finding.failed; }));
}

std::string Headline(const Verdict& verdict, const Baseline& before) {
  const size_t failures = Failures(verdict);
  std::string out = verdict.failed() ? fmt::format("WORSE: {} of {} checks failed", failures, verdict.findings.size())
                                     : fmt::format("No worse: all {} checks passed", verdict.findings.size());
  out += fmt::format(", {} takes of suite {} against the baseline", verdict.pairs, before.suite);
  if (verdict.added > 0) out += fmt::format("; {} takes are new to it", verdict.added);
  return out;
}

std::string Name(const Finding& finding) {
  switch (finding.kind) {
    case Finding::Kind::kChange:
      return fmt::format("{}: {}", finding.policy, finding.metric);
    case Finding::Kind::kWorst:
      return fmt::format("{}: {}, worst take", finding.policy, finding.metric);
    case Finding::Kind::kLimit:
      return fmt::format("limit of {}, {}", finding.metric, finding.policy);
    case Finding::Kind::kMissing:
      return fmt::format("{}: take is there", finding.policy);
  }
  return {};
}

const char* ClassOf(const Finding& finding) {
  switch (finding.kind) {
    case Finding::Kind::kLimit:
      return "dryrig.gate.limits";
    case Finding::Kind::kMissing:
      return "dryrig.gate.takes";
    default:
      return "dryrig.gate.metrics";
  }
}

}  // namespace

std::string ToText(const Verdict& verdict, const Baseline& before) {
  std::string out = Headline(verdict, before) + "\n";
  for (const Finding& finding : verdict.findings) {
    if (!finding.failed) continue;
    out += fmt::format("  {}: {}\n", Name(finding), finding.text);
    for (const std::string& take : finding.takes) out += fmt::format("      see {}\n", take);
  }
  return out;
}

std::string ToMarkdown(const Verdict& verdict, const Baseline& before) {
  std::string out = fmt::format("### {}\n\nBaseline: {}\n\n", Headline(verdict, before), before.reason);
  if (verdict.failed()) {
    out += "| check | finding | takes that explain it |\n| --- | --- | --- |\n";
    for (const Finding& finding : verdict.findings) {
      if (finding.failed) out += fmt::format("| {} | {} | {} |\n", Name(finding), finding.text, fmt::join(finding.takes, "<br>"));
    }
    out += "\n";
  }
  std::string caution(kCaution);
  std::replace(caution.begin(), caution.end(), '\n', ' ');  // a quotation of one line
  return out + "> " + caution + "\n";
}

Occasion HereAndNow() {
  std::array<char, 256> host{};
  const bool named = gethostname(host.data(), host.size() - 1) == 0 && host[0] != 0;
  return {fmt::format("{:%Y-%m-%dT%H:%M:%S}", fmt::gmtime(std::time(nullptr))), named ? host.data() : "localhost"};
}

std::string ToJUnit(const Verdict& verdict, const Baseline& before, const Occasion& occasion) {
  tinyxml2::XMLDocument document;
  document.InsertEndChild(document.NewDeclaration());
  tinyxml2::XMLElement* suites = document.NewElement("testsuites");
  document.InsertEndChild(suites);
  tinyxml2::XMLElement* suite = suites->InsertNewChildElement("testsuite");
  suite->SetAttribute("id", 0);
  suite->SetAttribute("package", "dryrig.gate");
  suite->SetAttribute("name", ("dryrig gate " + before.suite).c_str());
  suite->SetAttribute("timestamp", occasion.utc.c_str());
  suite->SetAttribute("hostname", occasion.host.c_str());
  suite->SetAttribute("tests", static_cast<unsigned>(verdict.findings.size()));
  suite->SetAttribute("failures", static_cast<unsigned>(Failures(verdict)));
  suite->SetAttribute("errors", 0);
  suite->SetAttribute("time", "0");  // a gate only reads
  suite->InsertNewChildElement("properties");
  for (const Finding& finding : verdict.findings) {
    tinyxml2::XMLElement* test = suite->InsertNewChildElement("testcase");
    test->SetAttribute("name", finding.kind == Finding::Kind::kMissing ? finding.text.c_str() : Name(finding).c_str());
    test->SetAttribute("classname", ClassOf(finding));
    test->SetAttribute("time", "0");
    if (!finding.failed) continue;
    tinyxml2::XMLElement* failure = test->InsertNewChildElement("failure");
    failure->SetAttribute("message", finding.text.c_str());
    failure->SetAttribute("type", "worse");
    std::string details = finding.text;
    for (const std::string& take : finding.takes) details += "\nsee " + take;
    failure->SetText(details.c_str());
  }
  suite->InsertNewChildElement("system-out")->SetText(kCaution);
  suite->InsertNewChildElement("system-err");
  tinyxml2::XMLPrinter printer;
  document.Print(&printer);
  return printer.CStr();
}

}  // namespace dryrig
