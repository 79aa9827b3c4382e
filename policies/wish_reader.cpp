#include "policies/wish_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>

namespace dryrig {

namespace {

std::vector<std::string> FeaturesOf(std::string_view sentence) {
  const std::vector<std::string> words = WordsOf(sentence);
  std::vector<std::string> features = words;
  for (size_t i = 0; i <= words.size(); ++i) {
    features.push_back(fmt::format("{}_{}", i == 0 ? "<" : words[i - 1], i == words.size() ? ">" : words[i]));
  }
  constexpr size_t kPart = 4;
  for (const std::string& word : words) {
    const std::string whole = fmt::format("^{}$", word);
    for (size_t i = 0; i + kPart <= whole.size(); ++i) features.push_back(fmt::format("#{}", whole.substr(i, kPart)));
  }
  std::sort(features.begin(), features.end());
  features.erase(std::unique(features.begin(), features.end()), features.end());
  return features;
}

}  // namespace

std::vector<std::string> WordsOf(std::string_view text) {
  std::vector<std::string> words;
  std::string word;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (std::isalnum(byte) != 0) {
      word += static_cast<char>(std::tolower(byte));
    } else if (c != '\'') {
      if (!word.empty()) words.push_back(std::move(word));
      word.clear();
    }
  }
  if (!word.empty()) words.push_back(std::move(word));
  return words;
}

std::vector<std::string> SentencesOf(const Wording& wording) {
  std::vector<std::string> out;
  std::string_view rest = wording.sentences;
  while (!rest.empty()) {
    const size_t slash = std::min(rest.find(" / "), rest.size()), line = std::min(rest.find('\n'), rest.size());
    const size_t end = std::min(slash, line);
    if (end > 0) out.emplace_back(rest.substr(0, end));
    rest.remove_prefix(std::min(end + (slash < line ? 3 : 1), rest.size()));
  }
  return out;
}

WishReader::WishReader(std::span<const Wording> wordings) {
  struct Lesson {
    Wish wish;
    size_t all;
    std::vector<size_t> known;
  };
  std::vector<std::pair<Wish, std::vector<std::string>>> read;
  for (const Wording& wording : wordings) {
    for (const std::string& sentence : SentencesOf(wording)) read.emplace_back(wording.wish, FeaturesOf(sentence));
  }
  for (const auto& [wish, features] : read) vocabulary_.insert(vocabulary_.end(), features.begin(), features.end());
  std::sort(vocabulary_.begin(), vocabulary_.end());
  vocabulary_.erase(std::unique(vocabulary_.begin(), vocabulary_.end()), vocabulary_.end());
  std::vector<Lesson> lessons;
  for (const auto& [wish, features] : read) lessons.push_back({wish, features.size(), Known(features)});

  // Gradient descent with momentum on the mean log loss; the weights' squares are held down a little.
  constexpr int kRounds = 200;
  constexpr double kRate = 2, kMomentum = 0.9, kDecay = 1e-4;
  const size_t n = vocabulary_.size() + 1;
  weights_.assign(n, Weights{});
  std::vector<Weights> speed(n, Weights{}), slope(n);
  for (int round = 0; round < kRounds; ++round) {
    for (size_t i = 0; i < n; ++i) {
      for (size_t k = 0; k < kWishes; ++k) slope[i][k] = i + 1 < n ? kDecay * weights_[i][k] : 0;
    }
    for (const Lesson& lesson : lessons) {
      Weights off = Chances(lesson.known, lesson.all);
      off[static_cast<size_t>(lesson.wish)] -= 1;
      const double share = 1 / static_cast<double>(lessons.size()), each = share / std::sqrt(static_cast<double>(lesson.all));
      for (size_t k = 0; k < kWishes; ++k) {
        for (const size_t i : lesson.known) slope[i][k] += each * off[k];
        slope.back()[k] += share * off[k];
      }
    }
    for (size_t i = 0; i < n; ++i) {
      for (size_t k = 0; k < kWishes; ++k) {
        speed[i][k] = kMomentum * speed[i][k] - kRate * slope[i][k];
        weights_[i][k] += speed[i][k];
      }
    }
  }
}

std::vector<size_t> WishReader::Known(const std::vector<std::string>& features) const {
  std::vector<size_t> known;
  for (const std::string& feature : features) {
    const auto it = std::lower_bound(vocabulary_.begin(), vocabulary_.end(), feature);
    if (it != vocabulary_.end() && *it == feature) known.push_back(static_cast<size_t>(it - vocabulary_.begin()));
  }
  return known;
}

WishReader::Weights WishReader::Chances(const std::vector<size_t>& features, size_t all) const {
  Weights sum = weights_.back();
  const double each = 1 / std::sqrt(static_cast<double>(std::max<size_t>(all, 1)));
  for (const size_t i : features) {
    for (size_t k = 0; k < kWishes; ++k) sum[k] += each * weights_[i][k];
  }
  const double most = *std::max_element(sum.begin(), sum.end());
  double total = 0;
  for (double& value : sum) total += value = std::exp(value - most);
  for (double& value : sum) value /= total;
  return sum;
}

WishReader::Reading WishReader::Read(const std::string& sentence) const {
  const std::vector<std::string> features = FeaturesOf(sentence);
  const Weights chances = Chances(Known(features), features.size());
  const auto best = static_cast<size_t>(std::max_element(chances.begin(), chances.end()) - chances.begin());
  return {static_cast<Wish>(best), chances[best]};
}

}  // namespace dryrig
