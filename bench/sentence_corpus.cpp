#include "bench/sentence_corpus.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <nlohmann/json.hpp>
#include <sstream>

#include "policies/sentences.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

std::vector<std::string> Labels() {
  return {kSentenceLabels.begin(), kSentenceLabels.end()};
}

/// kLabels for what is no label.
size_t LabelOf(std::string_view word) {
  return static_cast<size_t>(std::find(kSentenceLabels.begin(), kSentenceLabels.end(), word) - kSentenceLabels.begin());
}

}  // namespace

std::vector<LabelledSentence> ReadCorpus(const std::string& text, const std::string& file_name) {
  std::vector<LabelledSentence> out;
  std::istringstream lines(text);
  int number = 0;
  for (std::string line; std::getline(lines, line);) {
    ++number;
    if (!line.empty() && line.back() == '\r') line.pop_back();
    if (line.empty() || line.front() == '#') continue;
    const size_t tab = line.find('\t');
    if (tab == std::string::npos || tab + 1 == line.size())
      throw InputError({file_name, number, 0}, "expected a label, a tab and a sentence");
    const std::string word = line.substr(0, tab);
    const size_t label = LabelOf(word);
    if (label == kLabels)
      throw InputError({file_name, number, 1}, fmt::format("no label \"{}\"{}", word.substr(0, 64), Suggest(word, Labels())));
    out.push_back({label, line.substr(tab + 1)});
  }
  if (out.empty()) throw InputError({file_name}, "holds no sentence; a line is a label, a tab and a sentence");
  return out;
}

int Confusion::Of(size_t label) const {
  int sum = 0;
  for (const int count : counts[label]) sum += count;
  return sum;
}

int Confusion::ReadAs(size_t label) const {
  int sum = 0;
  for (const auto& row : counts) sum += row[label];
  return sum;
}

double Confusion::F1(size_t label) const {
  const int both = Of(label) + ReadAs(label);
  return both > 0 ? 2.0 * counts[label][label] / both : 0;
}

double Confusion::MacroF1() const {
  double sum = 0;
  int labels = 0;
  for (size_t label = 0; label < kLabels; ++label) {
    if (Of(label) == 0) continue;
    sum += F1(label);
    ++labels;
  }
  return labels > 0 ? sum / labels : 0;
}

Confusion Read(const std::vector<LabelledSentence>& corpus, const SentenceReader& reader) {
  Confusion out;
  for (const LabelledSentence& sentence : corpus) ++out.counts[sentence.label][reader(sentence.text)];
  return out;
}

SentenceReader ShippedReading(std::vector<std::string> prop_names) {
  return [names = std::move(prop_names)](const std::string& text) {
    const Ask ask = ReadSentence(text, names);
    if (ask.back_to_normal) return LabelOf("normal");
    if (ask.closer != 0) return LabelOf(ask.closer > 0 ? "closer" : "wider");
    if (ask.angle) return LabelOf(*ask.angle == ShotAngle::kOverhead ? "above" : "level");
    return LabelOf(ask.look_at.empty() ? "none" : "look-at");
  };
}

SentenceProgram::SentenceProgram(const std::string& command, double patience_s) : command_(command), patience_s_(patience_s) {
  signal(SIGPIPE, SIG_IGN);
  int in[2], out[2];
  if (pipe2(in, O_CLOEXEC) != 0 || pipe2(out, O_CLOEXEC) != 0)
    throw RunError(fmt::format("no pipe for {}: {}", command, std::strerror(errno)));
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, in[0], STDIN_FILENO);
  posix_spawn_file_actions_adddup2(&actions, out[1], STDOUT_FILENO);
  std::string shell = "sh", option = "-c", text = "exec " + command;
  char* argv[] = {shell.data(), option.data(), text.data(), nullptr};
  const int error = posix_spawnp(&pid_, "sh", &actions, nullptr, argv, environ);
  posix_spawn_file_actions_destroy(&actions);
  close(in[0]), close(out[1]);
  to_ = in[1], from_ = out[0];
  if (error != 0) {
    pid_ = 0;
    throw RunError(fmt::format("{} does not start: {}", command, std::strerror(error)));
  }
}

SentenceProgram::~SentenceProgram() {
  close(to_), close(from_);
  if (pid_ > 0) kill(pid_, SIGTERM), waitpid(pid_, nullptr, 0);
}

size_t SentenceProgram::Read(const std::string& text) {
  const std::string line = nlohmann::json{{"text", text}}.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace) + "\n";
  for (size_t sent = 0; sent < line.size();) {
    const ssize_t n = write(to_, line.data() + sent, line.size() - sent);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) throw RunError(fmt::format("{}: ended before it answered \"{}\"", command_, text));
    sent += static_cast<size_t>(n);
  }
  size_t end;
  while ((end = pending_.find('\n')) == std::string::npos) {
    pollfd file{from_, POLLIN, 0};
    const int ready = poll(&file, 1, static_cast<int>(patience_s_ * 1e3));
    if (ready < 0 && errno == EINTR) continue;
    if (ready == 0) throw RunError(fmt::format("{}: no answer to \"{}\" within {:g} s", command_, text, patience_s_));
    char bytes[4096];
    const ssize_t n = read(from_, bytes, sizeof bytes);
    if (n <= 0) throw RunError(fmt::format("{}: ended before it answered \"{}\"", command_, text));
    pending_.append(bytes, static_cast<size_t>(n));
  }
  const std::string answer = pending_.substr(0, end);
  pending_.erase(0, end + 1);
  const auto json = nlohmann::json::parse(answer, nullptr, false);
  const std::string word =
      json.is_object() && json.contains("label") && json["label"].is_string() ? json["label"].get<std::string>() : "";
  const size_t label = LabelOf(word);
  if (label == kLabels) {
    throw RunError(fmt::format("{}: answered {} to \"{}\"; expected {{\"label\": one of {}}}", command_, answer.substr(0, 200),
                               text, fmt::join(kSentenceLabels, ", ")));
  }
  return label;
}

}  // namespace dryrig
