#include "policies/sentences.h"

#include <algorithm>
#include <array>
#include <span>
#include <string_view>

#include "policies/wish_reader.h"

namespace dryrig {

namespace {

using Tokens = std::vector<std::string>;

using Words = std::span<const std::string_view>;

bool IsOneOf(const std::string& token, Words words) {
  return std::find(words.begin(), words.end(), token) != words.end();
}

// Where the phrase begins, at or after `from`; -1 if it does not occur.
int FindPhrase(const Tokens& tokens, std::string_view phrase, int from = 0) {
  const Tokens wanted = WordsOf(phrase);
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
constexpr std::array<std::string_view, 14> kCloserPhrases{
    "closer look", "close look",   "look closely",  "watch closely",  "up close",       "close up",    "zoom in",
    "move in",     "get in close", "come in close", "in more detail", "see the detail", "fine detail", "nearer view"};
constexpr std::array<std::string_view, 22> kWiderPhrases{
    "zoom out",         "wide view",    "wide shot",   "wide picture",   "step back",   "pull back",          "back out",
    "go wide",          "go wider",     "a bit wider", "whole bench",    "whole table", "entire bench",       "entire table",
    "big picture",      "further back", "see it all",  "see everything", "whole setup", "everything at once", "from further away",
    "from farther away"};
constexpr std::array<std::string_view, 12> kAbovePhrases{"from above",   "from overhead",   "overhead view", "overhead shot",
                                                         "top down",     "from the top",    "birds eye",     "straight down",
                                                         "look down on", "looking down on", "top view",      "from right above"};
constexpr std::array<std::string_view, 9> kLevelPhrases{"eye level",         "bench level",       "table level",
                                                        "level view",        "level shot",        "camera level",
                                                        "from bench height", "from table height", "level picture"};
constexpr std::array<std::string_view, 9> kBackPhrases{"back to normal", "as before please",   "usual view",
                                                       "normal view",    "back to the normal", "back as before",
                                                       "usual shot",     "as you were",        "back to the usual"};

// What sends the camera or the eye somewhere. A lone "closer" is meant for the camera only beside one of these: "it lies closer
// to the edge" is not.
constexpr std::array<std::string_view, 11> kViewers{"camera", "look",    "see",  "view", "zoom", "show",
                                                    "watch",  "picture", "shot", "film", "us"};
constexpr std::array<std::string_view, 6> kMovers{"come", "go", "get", "move", "step", "stay"};
constexpr std::array<std::string_view, 4> kTies{"together", "than", "they", "fit"};

// "come closer", "move in a little closer", "closer, please", "a closer picture".
bool LoneWish(const Tokens& tokens, std::span<const std::string_view> words) {
  constexpr std::array<std::string_view, 2> kPlease{"please", "now"};
  constexpr std::array<std::string_view, 6> kThings{"it", "them", "that", "one", "the", "your"};
  for (const std::string_view word : words) {
    const int at = FindPhrase(tokens, word);
    if (at < 0 || Denied(tokens, at) || AnyNear(tokens, at, 0, 2, kTies)) continue;
    if (AnyNear(tokens, at, 4, 3, kViewers)) return true;
    if (AnyNear(tokens, at, 3, 0, kMovers) && !AnyNear(tokens, at, 2, 0, kThings)) return true;
    if (at == 0 && AnyNear(tokens, at, 0, 1, kPlease)) return true;
  }
  return false;
}

// "stay level with my hand", "look at it level with the bench": but not "keep the board level with the rim".
bool LevelWish(const Tokens& tokens) {
  const int at = FindPhrase(tokens, "level with");
  if (at < 0 || Denied(tokens, at)) return false;
  constexpr std::array<std::string_view, 4> kComers{"come", "go", "get", "stay"};
  return AnyNear(tokens, at, 2, 0, kComers) || AnyNear(tokens, at, 5, 3, kViewers);
}

constexpr std::array<std::string_view, 9> kPointers{"look", "see",   "notice",  "watch", "show",
                                                    "here", "focus", "observe", "camera"};

// "look at the bone folder": a pointer word at most five words before a prop's name, nothing denied between.
std::string LookAt(const Tokens& tokens, const std::vector<std::string>& prop_names) {
  std::string found;
  size_t longest = 0;
  for (const std::string& name : prop_names) {
    const size_t words = WordsOf(name).size();
    for (int at = FindPhrase(tokens, name); at >= 0; at = FindPhrase(tokens, name, at + 1)) {
      if (!AnyNear(tokens, at, 5, 0, kPointers) || AnyNear(tokens, at, 7, 0, kDenials)) continue;
      if (words > longest) found = name, longest = words;
    }
  }
  return found;
}

// "show me the pot above" is "from above" with a word lost; "the mark above the fold" is not, nor is "above all".
bool AboveWish(const Tokens& tokens) {
  const int at = FindPhrase(tokens, "above");
  constexpr std::array<std::string_view, 7> kPlaces{"all", "the", "a", "this", "that", "my", "it"};
  return at > 0 && !Denied(tokens, at) && AnyNear(tokens, at, 5, 0, kViewers) && !AnyNear(tokens, at, 0, 1, kPlaces);
}

// "come in so that you see": "closer" may be lost.
bool ComeInWish(const Tokens& tokens) {
  const int at = FindPhrase(tokens, "come in");
  return at >= 0 && !Denied(tokens, at) && AnyNear(tokens, at, 2, 6, kViewers);
}

// The longest prop name that occurs.
std::string Named(const Tokens& tokens, const std::vector<std::string>& prop_names) {
  std::string found;
  for (const std::string& name : prop_names) {
    if (name.size() > found.size() && FindPhrase(tokens, name) >= 0) found = name;
  }
  return found;
}

/// What phrases do not tell, learnt wordings may. Only where the reader is sure, and nothing is denied.
void ReadByWording(const std::string& text, const Tokens& tokens, const std::vector<std::string>& prop_names, Ask* ask) {
  constexpr double kSure = 0.6;
  static const WishReader reader(Wordings());  // a constant, learnt once
  if (std::any_of(tokens.begin(), tokens.end(), [](const std::string& token) { return IsOneOf(token, kDenials); })) return;
  const WishReader::Reading reading = reader.Read(text);
  if (reading.wish == Wish::kNothing || reading.chance < kSure) return;
  if (reading.wish == Wish::kCloser) ask->closer = 1;
  if (reading.wish == Wish::kWider) ask->closer = -1;
  if (reading.wish == Wish::kAbove) ask->angle = ShotAngle::kOverhead;
  if (reading.wish == Wish::kLevel) ask->angle = ShotAngle::kEyeLevel;
  ask->back_to_normal = reading.wish == Wish::kNormal;
  if (!ask->back_to_normal && ask->look_at.empty()) ask->look_at = Named(tokens, prop_names);
}

}  // namespace

Ask ReadSentence(const std::string& text, const std::vector<std::string>& prop_names) {
  const Tokens tokens = WordsOf(text);
  Ask ask;
  if (tokens.empty()) return ask;
  constexpr std::array<std::string_view, 3> kCloser{"closer", "closely", "nearer"};
  constexpr std::array<std::string_view, 1> kWider{"wider"};
  const bool wider = Says(tokens, kWiderPhrases) || LoneWish(tokens, kWider);
  const bool closer = Says(tokens, kCloserPhrases) || LoneWish(tokens, kCloser) || ComeInWish(tokens);
  // Both at once is no wish that could be followed.
  if (closer != wider) ask.closer = closer ? 1 : -1;
  if (Says(tokens, kAbovePhrases) || AboveWish(tokens))
    ask.angle = ShotAngle::kOverhead;
  else if (Says(tokens, kLevelPhrases) || LevelWish(tokens))
    ask.angle = ShotAngle::kEyeLevel;
  ask.look_at = LookAt(tokens, prop_names);
  ask.back_to_normal = ask.closer == 0 && !ask.angle && Says(tokens, kBackPhrases);
  if (closer == wider && !ask.angle && !ask.back_to_normal && !closer) ReadByWording(text, tokens, prop_names, &ask);
  return ask;
}

}  // namespace dryrig
