#include "sim/hearing.h"

#include <algorithm>
#include <string>

#include "sim/rng.h"

namespace dryrig {

namespace {

constexpr double kHeardJitter = 0.2;  // of the recogniser's delay, uniform to both sides

std::vector<std::string> Words(const std::string& text) {
  std::vector<std::string> words;
  size_t at = 0;
  while (at < text.size()) {
    const size_t first = text.find_first_not_of(" \t\r\n", at);
    if (first == std::string::npos) break;
    const size_t last = std::min(text.find_first_of(" \t\r\n", first), text.size());
    words.push_back(text.substr(first, last - first));
    at = last;
  }
  return words;
}

/// Words with the recogniser's errors in them.
class Recogniser {
 public:
  Recogniser(const Sensing& sensing, const std::vector<Sentence>& spoken, uint64_t seed)
      : word_error_rate_(sensing.word_error_rate), errors_(seed, "recogniser errors") {
    for (const Sentence& sentence : spoken) {
      for (std::string& word : Words(sentence.text)) vocabulary_.push_back(std::move(word));
    }
  }
  /// "": lost, or nothing was said.
  std::string Hear(const std::string& word) {
    const double chance = errors_.Uniform();
    const double which = errors_.Uniform();
    if (chance < word_error_rate_ / 2) return "";
    const bool replaced = chance < word_error_rate_;
    return replaced ? vocabulary_[static_cast<size_t>(which * static_cast<double>(vocabulary_.size()))] : word;
  }

 private:
  double word_error_rate_;
  RandomStream errors_;
  std::vector<std::string> vocabulary_;
};

}  // namespace

std::vector<HeardSentence> Hear(const Sensing& sensing, const std::vector<Sentence>& spoken, uint64_t seed) {
  Recogniser recogniser(sensing, spoken, seed);
  RandomStream delays(seed, "recogniser delays"), whole(seed, "recogniser's missed and split sentences");
  std::vector<HeardSentence> heard;
  for (const Sentence& sentence : spoken) {
    const bool missed = whole.Uniform() < sensing.missed_sentence_rate;
    const bool split = whole.Uniform() < sensing.split_sentence_rate;
    const double where = whole.Uniform(0.3, 0.7);  // a pause for breath is taken for the end
    const std::vector<std::string> words = Words(sentence.text);
    const auto first = split ? static_cast<size_t>(where * static_cast<double>(words.size())) : size_t{0};
    const double delay_s = sensing.heard_delay_s * (1 + kHeardJitter * delays.Uniform(-1, 1));
    std::string text;
    const auto deliver = [&](double end_s) {
      if (!missed) heard.push_back({end_s, end_s + delay_s, text});
      text.clear();
    };
    for (size_t i = 0; i < words.size(); ++i) {
      if (i == first && i > 0) {
        deliver(sentence.start_s +
                (sentence.end_s - sentence.start_s) * static_cast<double>(i) / static_cast<double>(words.size()));
      }
      const std::string as = recogniser.Hear(words[i]);
      if (!as.empty()) text += (text.empty() ? "" : " ") + as;
    }
    deliver(sentence.end_s);
  }
  std::stable_sort(heard.begin(), heard.end(), [](const auto& a, const auto& b) { return a.heard_s < b.heard_s; });
  return heard;
}

}  // namespace dryrig
