// The example pipelines of bench/ci, run as written: every step but fetching, installing and building, which these tests' own build
// has done. A pipeline's program stands where its build step leaves it.
#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <functional>

#include "tests/bench/child.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;

struct Step {
  std::string command;
  bool always = false;  // runs after a failure too
};

std::vector<Step> GitHubSteps() {
  std::vector<Step> out;
  for (const YAML::Node& step : YAML::LoadFile(DRYRIG_SOURCE_DIR "/bench/ci/github-actions.yml")["jobs"]["smoke"]["steps"]) {
    if (!step["run"] || !step["name"] || step["name"].as<std::string>() == "Build") continue;
    out.push_back({step["run"].as<std::string>(), step["if"] && step["if"].as<std::string>() == "always()"});
  }
  return out;
}

std::vector<Step> GitLabSteps() {
  std::vector<Step> out;
  const YAML::Node job = YAML::LoadFile(DRYRIG_SOURCE_DIR "/bench/ci/gitlab-ci.yml")["smoke"];
  for (const YAML::Node& line : job["script"]) out.push_back({line.as<std::string>()});
  for (const YAML::Node& line : job["after_script"]) out.push_back({line.as<std::string>(), true});
  return out;
}

int Shell(const Folder& in, const std::string& command) {
  const int status = std::system(fmt::format("cd {} && export GITHUB_STEP_SUMMARY={}/summary.md && bash -e -c '{}' >>log 2>&1",
                                             in.path().string(), in.path().string(), command)
                                     .c_str());
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128;
}

/// The exit code of the first step that fails, as the pipeline's own.
int RunPipeline(const std::vector<Step>& steps, const Folder& in) {
  int code = 0;
  for (const Step& step : steps) {
    if (code != 0 && !step.always) continue;
    const int now = Shell(in, step.command);
    if (code == 0) code = now;
  }
  return code;
}

TEST(PipelineLong, TheExamplesPassOnUnchangedCodeAndFailWhereFootageBecameWorse) {
  const Folder repository;
  fs::create_directories(repository / "dryrig/build/release/bench");
  fs::create_symlink(DRYRIG_PROGRAM, repository / "dryrig/build/release/bench/dryrig");
  ASSERT_EQ(Shell(repository, "dryrig/build/release/bench/dryrig compare smoke --quiet --out out/smoke"), 0);
  ASSERT_EQ(Shell(repository, "dryrig/build/release/bench/dryrig gate smoke.baseline out/smoke --accept --reason first"), 0);
  const std::string honest = ReadText(repository / "smoke.baseline");

  for (const auto& steps : {GitHubSteps(), GitLabSteps()}) {
    ASSERT_GE(steps.size(), 3u);
    repository.Write("smoke.baseline", honest);
    fs::remove(repository / "out/gate.xml");
    EXPECT_EQ(RunPipeline(steps, repository), 0) << ReadText(repository / "log");
    EXPECT_NE(ReadText(repository / "out/gate.xml").find("failures=\"0\""), std::string::npos);
    EXPECT_NE(ReadText(repository / "out/smoke/report.html").find("<html"), std::string::npos);

    // As if what was accepted had filmed much better: every error of framing a hundred times smaller.
    ASSERT_EQ(Shell(repository, "python3 - <<\"END\"\n"
                                "import json\n"
                                "b = json.load(open(\"smoke.baseline\"))\n"
                                "at = b[\"metrics\"].index(\"framing_error\")\n"
                                "for take in b[\"takes\"]: take[\"values\"][at] /= 100\n"
                                "json.dump(b, open(\"smoke.baseline\", \"w\"))\n"
                                "END"),
              0);
    fs::remove(repository / "out/gate.md");
    EXPECT_EQ(RunPipeline(steps, repository), 1) << "the gate's own exit code is the pipeline's";
    EXPECT_NE(ReadText(repository / "out/gate.md").find("framing_error"), std::string::npos);
  }
  EXPECT_NE(ReadText(repository / "summary.md").find("WORSE"), std::string::npos) << "the summary is written after a failure too";
}

}  // namespace
}  // namespace dryrig
