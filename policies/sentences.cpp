#include "policies/sentences.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <span>
#include <string_view>

namespace dryrig {

namespace {

using Tokens = std::vector<std::string>;

// Lower-case words; whatever is no letter or digit parts them, but an apostrophe vanishes ("don't" is "dont").
Tokens Tokenize(std::string_view text) {
  Tokens tokens;
  std::string word;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (std::isalnum(byte) != 0) {
      word += static_cast<char>(std::tolower(byte));
    } else if (c != '\'') {
      if (!word.empty()) tokens.push_back(std::move(word));
      word.clear();
    }
  }
  if (!word.empty()) tokens.push_back(std::move(word));
  return tokens;
}

using Words = std::span<const std::string_view>;

bool IsOneOf(const std::string& token, Words words) {
  return std::find(words.begin(), words.end(), token) != words.end();
}

// Where the phrase begins, at or after `from`; -1 if it does not occur.
int FindPhrase(const Tokens& tokens, std::string_view phrase, int from = 0) {
  const Tokens wanted = Tokenize(phrase);
  const auto it = std::search(tokens.begin() + from, tokens.end(), wanted.begin(), wanted.end());
  return it == tokens.end() ? -1 : static_cast<int>(it - tokens.begin());
}

bool AnyNear(const Tokens& tokens, int at, int before, int after, Words words) {
  const int n = static_cast<int>(tokens.size());
  for (int i = std::max(0, at - before); i <= std::min(n - 1, at + after); ++i) {
    if (i != at && IsOneOf(tokens[static_cast<size_t>(i)], words)) return true;
  }
  return false;
}

constexpr std::array<std::string_view, 10> kDenials{"not",     "dont",   "never", "no",     "neednt",
                                                    "without", "doesnt", "isnt",  "cannot", "cant"};

bool Denied(const Tokens& tokens, int at) {
  return AnyNear(tokens, at, 4, 0, kDenials);
}

bool Says(const Tokens& tokens, std::span<const std::string_view> phrases) {
  return std::any_of(phrases.begin(), phrases.end(), [&](std::string_view phrase) {
    const int at = FindPhrase(tokens, phrase);
    return at >= 0 && !Denied(tokens, at);
  });
}

// Wishes that mean the camera whatever stands around them.
constexpr std::array<std::string_view, 22> kCloserPhrases{
    "closer look",    "look closer",   "look closely",  "close look",  "up close",     "close up",
    "come closer",    "come in close", "zoom in",       "move in",     "get in close", "go in closer",
    "closer view",    "closer in",     "nearer view",   "come nearer", "come in here", "in more detail",
    "see the detail", "fine detail",   "watch closely", "tight on"};
constexpr std::array<std::string_view, 24> kWiderPhrases{
    "zoom out",          "wider view",        "wide view",    "wider shot",  "wide shot",          "step back",
    "pull back",         "move back",         "back out",     "go wider",    "a bit wider",        "whole bench",
    "whole table",       "entire bench",      "entire table", "big picture", "everything at once", "all of the bench",
    "from further away", "from farther away", "see it all",   "whole setup", "whole layout",       "further back"};
constexpr std::array<std::string_view, 13> kAbovePhrases{
    "from above",       "from overhead",       "overhead view", "overhead shot", "top down",
    "from the top",     "birds eye",           "straight down", "look down on",  "looking down on",
    "from right above", "from directly above", "top view"};
constexpr std::array<std::string_view, 16> kLevelPhrases{"eye level",
                                                         "at bench level",
                                                         "at table level",
                                                         "level with the bench",
                                                         "level with the table",
                                                         "level with my hands",
                                                         "level view",
                                                         "from the front at level",
                                                         "down at the level",
                                                         "on the level of",
                                                         "from bench height",
                                                         "from table height",
                                                         "camera level",
                                                         "level shot",
                                                         "level with it",
                                                         "come down level"};
constexpr std::array<std::string_view, 9> kBackPhrases{"back to normal", "as before please",   "usual view",
                                                       "normal view",    "back to the normal", "back as before",
                                                       "usual shot",     "as you were",        "back to the usual"};

// A lone "closer" is the camera's when the speaker sends the camera or the eye, and the hands' when it names where to.
constexpr std::array<std::string_view, 10> kViewers{"camera", "look",  "see",     "view", "zoom",
                                                    "show",   "watch", "picture", "shot", "us"};
constexpr std::array<std::string_view, 4> kTies{"together", "than", "they", "fit"};

bool LoneCloser(const Tokens& tokens) {
  for (const std::string_view word : {"closer", "closely"}) {
    const int at = FindPhrase(tokens, word);
    if (at < 0 || Denied(tokens, at)) continue;
    if (AnyNear(tokens, at, 0, 2, kTies)) continue;
    if (AnyNear(tokens, at, 4, 3, kViewers)) return true;
  }
  return false;
}

bool LoneWider(const Tokens& tokens) {
  const int at = FindPhrase(tokens, "wider");
  return at >= 0 && !Denied(tokens, at) && AnyNear(tokens, at, 4, 3, kViewers) && !AnyNear(tokens, at, 0, 1, kTies);
}

constexpr std::array<std::string_view, 9> kPointers{"look", "see",   "notice",  "watch", "show",
                                                    "here", "focus", "observe", "camera"};

// "look at the bone folder": a pointer word at most five words before a prop's name, nothing denied between.
std::string LookAt(const Tokens& tokens, const std::vector<std::string>& prop_names) {
  std::string found;
  size_t longest = 0;
  for (const std::string& name : prop_names) {
    const size_t words = Tokenize(name).size();
    for (int at = FindPhrase(tokens, name); at >= 0; at = FindPhrase(tokens, name, at + 1)) {
      if (!AnyNear(tokens, at, 5, 0, kPointers) || AnyNear(tokens, at, 7, 0, kDenials)) continue;
      if (words > longest) found = name, longest = words;
    }
  }
  return found;
}

}  // namespace

Ask ReadSentence(const std::string& text, const std::vector<std::string>& prop_names) {
  const Tokens tokens = Tokenize(text);
  Ask ask;
  if (tokens.empty()) return ask;
  const bool wider = Says(tokens, kWiderPhrases) || LoneWider(tokens);
  const bool closer = Says(tokens, kCloserPhrases) || LoneCloser(tokens);
  // Both at once is no wish that could be followed.
  if (closer != wider) ask.closer = closer ? 1 : -1;
  if (Says(tokens, kAbovePhrases))
    ask.angle = ShotAngle::kOverhead;
  else if (Says(tokens, kLevelPhrases))
    ask.angle = ShotAngle::kEyeLevel;
  ask.look_at = LookAt(tokens, prop_names);
  ask.back_to_normal = ask.closer == 0 && !ask.angle && Says(tokens, kBackPhrases);
  return ask;
}

}  // namespace dryrig
