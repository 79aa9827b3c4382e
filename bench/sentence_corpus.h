#pragma once

#include <array>
#include <functional>
#include <string>
#include <vector>

namespace dryrig {

inline constexpr std::array kSentenceLabels{"closer", "wider", "above", "level", "look-at", "normal", "none"};
inline constexpr size_t kLabels = kSentenceLabels.size();

/// A sentence with what it asks, an index in kSentenceLabels.
struct LabelledSentence {
  size_t label = 0;
  std::string text;
};
/// A line each: label, tab, sentence; empty lines and those that begin with # are left out. @throws InputError (file:line) for a
/// label that there is not, a line without a tab, or no sentence at all.
std::vector<LabelledSentence> ReadCorpus(const std::string& text, const std::string& file_name);

/// counts[label][read as].
struct Confusion {
  std::array<std::array<int, kLabels>, kLabels> counts{};

  int Of(size_t label) const;
  int ReadAs(size_t label) const;
  double F1(size_t label) const;  // 0 where the label was never right
  /// Mean of F1 over the labels that the corpus has.
  double MacroF1() const;
};
/// Answers a label's index for a sentence.
using SentenceReader = std::function<size_t(const std::string& text)>;
Confusion Read(const std::vector<LabelledSentence>& corpus, const SentenceReader& reader);

/// The shipped reading, which knows props by name. A sentence that asks for several things counts as the first of them.
SentenceReader ShippedReading(std::vector<std::string> prop_names);

/// A program of the user's own. It gets a line `{"text": "..."}` on standard input a sentence, and answers each with a line
/// `{"label": "closer"}`. @throws RunError where it does not start, ends early, is silent for `patience_s`, or answers otherwise.
class SentenceProgram {
 public:
  SentenceProgram(const std::string& command, double patience_s);
  ~SentenceProgram();
  SentenceProgram(const SentenceProgram&) = delete;
  SentenceProgram& operator=(const SentenceProgram&) = delete;
  size_t Read(const std::string& text);

 private:
  std::string command_, pending_;
  double patience_s_;
  int pid_ = 0, to_ = -1, from_ = -1;
};

}  // namespace dryrig
