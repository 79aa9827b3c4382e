#pragma once

#include <string>

namespace dryrig {

/// The shipped lessons with length, beats, craft, set and what each is hard for; each as its own person performs it with seed 1.
std::string ListLessons(bool json);
/// A lesson's shot list: time, beat, subject, size, angle, composition, as its own person performs it with seed 1. @throws
/// InputError for a lesson that is not there.
std::string ListIntents(const std::string& lesson, bool json);

}  // namespace dryrig
