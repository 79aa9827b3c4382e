#pragma once

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace dryrig {

/// A folder of its own, gone at the end.
class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "dryrig-bench-XXXXXX").string();
    if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
    path_ = name;
  }
  ~Folder() { std::filesystem::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
  const std::filesystem::path& path() const { return path_; }
  std::string Write(const std::string& name, const std::string& text) const {
    std::ofstream(path_ / name, std::ios::binary) << text;
    return (path_ / name).string();
  }

 private:
  std::filesystem::path path_;
};

inline std::string ReadText(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return in ? text.str() : "(no file " + file.string() + ")";
}

/// The program as a user runs it, in a process of its own.
class Child {
 public:
  explicit Child(std::vector<std::string> arguments) {
    std::string program = DRYRIG_PROGRAM;
    std::vector<char*> argv{program.data()};
    for (std::string& argument : arguments) argv.push_back(argument.data());
    argv.push_back(nullptr);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, (texts_ / "out").c_str(), O_WRONLY | O_CREAT, 0600);
    posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, (texts_ / "err").c_str(), O_WRONLY | O_CREAT, 0600);
    const int error = posix_spawn(&pid_, DRYRIG_PROGRAM, &actions, nullptr, argv.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    if (error != 0) throw std::runtime_error("the program does not start");
  }
  ~Child() {
    if (pid_ > 0) Kill();
  }
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;

  /// Waits; the exit code, or 128 + signal.
  int Wait() {
    int status = 0;
    waitpid(pid_, &status, 0);
    pid_ = 0;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }
  int Kill() {
    kill(pid_, SIGKILL);
    return Wait();
  }
  std::string out() const { return ReadText(texts_ / "out"); }
  std::string err() const { return ReadText(texts_ / "err"); }

 private:
  Folder texts_;
  pid_t pid_ = 0;
};

struct Ran {
  int code;
  std::string out, err;
};
inline Ran RunDryrig(const std::vector<std::string>& arguments) {
  Child child(arguments);
  const int code = child.Wait();
  return {code, child.out(), child.err()};
}

/// Five seconds with hands, a face and a thing on the bench.
inline constexpr const char* kShortLesson = R"(dryrig: lesson/1
title: A short lesson for tests
craft: testing
hard_for: nothing, it is short
bench: study-table
person: avery
props:
  - {name: cup, cylinder: {diameter_mm: 60, height_mm: 80}, at_mm: [80, 230], mass_g: 100, colour: [0.5, 0.5, 0.5]}
beats:
  - address: {for_s: 1.5, say: "Hello."}
  - point: {at: cup, for_s: 2, say: "Look at this cup."}
)";

}  // namespace dryrig
