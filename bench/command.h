#pragma once

#include <functional>
#include <string>
#include <vector>

namespace CLI {
class App;
class Option;
}  // namespace CLI

namespace dryrig {

/// An option just added to a command; each call says more of it.
class CommandOption {
 public:
  explicit CommandOption(CLI::Option* option) : option_(option) {}

  CommandOption Required() const;
  /// Help shows the value that the variable holds now.
  CommandOption ShowDefault() const;
  CommandOption Range(int least, int most) const;
  CommandOption Range(double least, double most) const;
  /// `check` answers what is wrong with a text, or nothing.
  CommandOption Check(std::string (*check)(const std::string& text)) const;
  /// Whether the command line, once read, had it.
  bool given() const;

 private:
  CLI::Option* option_;
};

/// One sub-command's options, read by CLI11. Only command.cpp and program.cpp see its headers: they cost each file 10 s.
class Command {
 public:
  Command(CLI::App* app, int* exit_code) : app_(app), exit_code_(exit_code) {}

  /// Reads into `value` what follows one of `names`, "--out,-o", or stands at its place, "lesson". A list takes all that stand
  /// there, or one each time its name is given. T: std::string, int, int64_t, uint64_t, double, and lists of strings and int64_t.
  template <class T>
  CommandOption Add(const std::string& names, T& value, const std::string& meaning) const;
  void Flag(const std::string& names, bool& value, const std::string& meaning) const;
  /// Stands at the end of its help.
  void Footer(const std::string& text) const;
  /// All that follows, --help too, is left unread.
  void LeaveTheRest() const;
  std::vector<std::string> rest() const;
  /// What the command does once its line is read; answers the exit code.
  void Run(std::function<int()> run) const;

 private:
  CLI::App* app_;
  int* exit_code_;
};

/// The program's commands, each added by its own file.
struct CommandTable {
  CLI::App* app;
  int exit_code = 0;

  Command Add(const std::string& name, const std::string& meaning);
};

}  // namespace dryrig
