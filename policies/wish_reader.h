#pragma once

#include <array>
#include <string>
#include <vector>

#include "policies/wordings.h"

namespace dryrig {

/// Tells what a sentence wishes of the camera by the words it has learnt from Wordings(): a logistic model over words, pairs of
/// neighbours and parts of words of four letters. It knows no grammar: what it has not met it takes for nothing asked.
class WishReader {
 public:
  struct Reading {
    Wish wish = Wish::kNothing;
    double chance = 1;  // the model's own, of that wish
  };
  /// Learns; the same bits each time.
  explicit WishReader(std::span<const Wording> wordings);
  /// The likeliest wish.
  Reading Read(const std::string& sentence) const;

 private:
  using Weights = std::array<double, kWishes>;
  std::vector<size_t> Known(const std::vector<std::string>& features) const;
  Weights Chances(const std::vector<size_t>& features, size_t all) const;

  std::vector<std::string> vocabulary_;  // sorted
  std::vector<Weights> weights_;         // one a feature, the last for every sentence
};

/// The sentences of a wording.
std::vector<std::string> SentencesOf(const Wording& wording);
/// Lower-case words of letters and digits; an apostrophe vanishes.
std::vector<std::string> WordsOf(std::string_view text);

}  // namespace dryrig
