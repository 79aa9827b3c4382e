#include "bench/command.h"

#include <CLI/CLI.hpp>
#include <type_traits>
#include <utility>

namespace dryrig {

CommandOption CommandOption::Required() const {
  option_->required();
  return *this;
}
CommandOption CommandOption::ShowDefault() const {
  option_->capture_default_str();
  return *this;
}
CommandOption CommandOption::Range(int least, int most) const {
  option_->check(CLI::Range(least, most));
  return *this;
}
CommandOption CommandOption::Range(double least, double most) const {
  option_->check(CLI::Range(least, most));
  return *this;
}
CommandOption CommandOption::Check(std::string (*check)(const std::string& text)) const {
  option_->check(check);
  return *this;
}
bool CommandOption::given() const {
  return option_->count() > 0;
}

template <class T>
CommandOption Command::Add(const std::string& names, T& value, const std::string& meaning) const {
  CLI::Option* option = app_->add_option(names, value, meaning);
  constexpr bool kList = !std::is_arithmetic_v<T> && !std::is_same_v<T, std::string>;
  if (kList && names.starts_with('-')) option->allow_extra_args(false);
  return CommandOption(option);
}
template CommandOption Command::Add(const std::string&, std::string&, const std::string&) const;
template CommandOption Command::Add(const std::string&, int&, const std::string&) const;
template CommandOption Command::Add(const std::string&, int64_t&, const std::string&) const;
template CommandOption Command::Add(const std::string&, uint64_t&, const std::string&) const;
template CommandOption Command::Add(const std::string&, double&, const std::string&) const;
template CommandOption Command::Add(const std::string&, std::vector<std::string>&, const std::string&) const;
template CommandOption Command::Add(const std::string&, std::vector<int64_t>&, const std::string&) const;

void Command::Flag(const std::string& names, bool& value, const std::string& meaning) const {
  app_->add_flag(names, value, meaning);
}

void Command::Footer(const std::string& text) const {
  app_->footer(text);
}

void Command::LeaveTheRest() const {
  app_->prefix_command();
  app_->set_help_flag("");
}

std::vector<std::string> Command::rest() const {
  return app_->remaining();
}

void Command::Run(std::function<int()> run) const {
  app_->callback([run = std::move(run), exit_code = exit_code_] { *exit_code = run(); });
}

Command CommandTable::Add(const std::string& name, const std::string& meaning) {
  return {app->add_subcommand(name, meaning), &exit_code};
}

}  // namespace dryrig
