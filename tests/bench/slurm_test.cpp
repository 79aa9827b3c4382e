// A suite on Debian's Slurm: one node, an array of four, a task that is killed.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <thread>

#include "bench/program.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::HasSubstr;

/// Runs a shell's words; their output, and the exit code in the last line.
std::string Shell(const Folder& folder, const std::string& words) {
  const std::string file = (folder / "shell.txt").string();
  const int code = std::system(fmt::format("({}) > {} 2>&1", words, file).c_str());
  return fmt::format("{}exit {}", ReadText(file), WEXITSTATUS(code));
}

/// A Slurm of one node of this machine for as long as it lives, that trusts everyone who reaches it. Ports of this process's own.
class Cluster {
 public:
  Cluster() {
    const int port = 20'000 + static_cast<int>(getpid() % 10'000) * 2;
    const std::string text = fmt::format(
        "ClusterName=test\nSlurmctldHost={0}(127.0.0.1)\nSlurmUser={1}\nSlurmdUser={1}\nAuthType=auth/none\nCredType=cred/none\n"
        "SlurmctldPort={2}\nSlurmdPort={3}\nStateSaveLocation={4}/state\nSlurmdSpoolDir={4}/spool\nSlurmctldPidFile={4}/"
        "slurmctld.pid\n"
        "SlurmdPidFile={4}/slurmd.pid\nSlurmctldLogFile={4}/slurmctld.log\nSlurmdLogFile={4}/slurmd.log\nProctrackType=proctrack/"
        "pgid\n"
        "TaskPlugin=task/none\nJobAcctGatherType=jobacct_gather/none\nSwitchType=switch/"
        "none\nMpiDefault=none\nReturnToService=2\n"
        "SelectType=select/cons_tres\nSelectTypeParameters=CR_CPU\nSlurmdParameters=config_overrides\nMinJobAge=600\n"
        "SchedulerParameters=batch_sched_delay=0,sched_interval=2\nNodeName={0} NodeAddr=127.0.0.1 CPUs=4 State=UNKNOWN\n"
        "PartitionName=all Nodes=ALL Default=YES State=UP\n",
        Said("hostname -s"), Said("id -un"), port, port + 1, folder_.path().string());
    std::filesystem::create_directory(folder_ / "state");
    std::filesystem::create_directory(folder_ / "spool");
    setenv("SLURM_CONF", folder_.Write("slurm.conf", text).c_str(), 1);
    started_ = Shell(folder_,
                     "PATH=$PATH:/usr/sbin; slurmctld && slurmd && for i in 1 2 3 4 5 6 7 8 9 10; do sleep 1; "
                     "sinfo --noheader -o %t | grep -q idle && exit 0; done; exit 1");
  }
  ~Cluster() {
    Shell(folder_, "scancel -u $(id -un); sleep 1; scontrol shutdown");
    for (const char* daemon : {"slurmd", "slurmctld"}) {  // shut down as asked, or by force in the end
      const std::string pid = (folder_ / (std::string(daemon) + ".pid")).string();
      Shell(folder_, fmt::format("for i in 1 2 3 4 5 6 7 8 9 10; do [ -s {0} ] && kill -0 $(cat {0}) || exit 0; sleep 1; done; "
                                 "kill -9 $(cat {0})",
                                 pid));
    }
    unsetenv("SLURM_CONF");
  }
  const std::string& started() const { return started_; }
  std::string Logs() const { return ReadText(folder_ / "slurmctld.log") + ReadText(folder_ / "slurmd.log"); }
  std::string Run(const std::string& words) const { return Shell(folder_, words); }

 private:
  std::string Said(const std::string& command) const {
    const std::string said = Shell(folder_, command);
    return said.substr(0, said.find('\n'));
  }
  Folder folder_;
  std::string started_;
};

// Slurm lets a task that was put back into the queue wait for some two minutes.
TEST(SlurmLong, AnArrayOfFourWithATaskKilledGivesTheBytesOfASingleRun) {
  const Cluster cluster;
  ASSERT_THAT(cluster.started(), HasSubstr("exit 0")) << cluster.Logs();
  const Folder folder;
  folder.Write("short.yaml", kShortLesson);
  const std::string suite = folder.Write(
      "suite.yaml",
      fmt::format("dryrig: suite/1\ntitle: T\nlessons: [{}]\npolicies: [tripod, follow, planner]\npeople: [avery, ellis]\n"
                  "seeds: 20\nprimary:\n  - {{metric: jerk, policy: planner, against: tripod}}\n",
                  (folder / "short.yaml").string()));
  const std::string out = (folder / "farm").string();
  const std::string submit =
      fmt::format("DRYRIG={} sh {}/bench/slurm/submit.sh {} {} 4", DRYRIG_PROGRAM, DRYRIG_SOURCE_DIR, suite, out);
  const std::string submitted = cluster.Run(submit);
  ASSERT_THAT(submitted, HasSubstr("exit 0")) << cluster.Logs();
  // Kill the program of shard 3 once it has finished a take.
  EXPECT_THAT(cluster.Run(fmt::format("for i in $(seq 600); do [ $(sqlite3 -readonly {0}/shard-3/results.db 'SELECT count(*) "
                                      "FROM takes' 2>/dev/null || echo 0) "
                                      "-ge 2 ] && break; sleep 0.05; done; kill -9 $(pgrep -f -- '--out {0}/shard-3$')",
                                      out)),
              HasSubstr("exit 0"));
  const std::string wait =
      fmt::format("for i in $(seq 800); do [ -e {0}/whole/results.csv ] && exit 0; sleep 0.5; done; squeue; exit 1", out);
  ASSERT_THAT(cluster.Run(wait), HasSubstr("exit 0")) << cluster.Logs() << cluster.Run(fmt::format("cat {}/logs/*", out));
  EXPECT_THAT(ReadText(out + "/logs/shard-3.txt"), ::testing::AllOf(HasSubstr("into the queue again"), HasSubstr("resuming: ")));
  ASSERT_EQ(RunDryrig({"compare", suite, "--out", (folder / "single").string()}).code, kFine);
  EXPECT_EQ(ReadText(out + "/whole/results.csv"), ReadText(folder / "single/results.csv"));
  EXPECT_EQ(ReadText(out + "/whole/suite.yaml"), ReadText(folder / "single/suite.yaml"));
  const std::string csv = ReadText(folder / "single/results.csv");
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 1 + 3 * 2 * 20);
}

TEST(Slurm, TheSubmittingScriptSaysWhatItWants) {
  const Folder folder;
  EXPECT_THAT(Shell(folder, fmt::format("sh {}/bench/slurm/submit.sh smoke", DRYRIG_SOURCE_DIR)),
              ::testing::AllOf(HasSubstr("SUITE OUT N"), HasSubstr("exit 2")));
}

}  // namespace
}  // namespace dryrig
