#pragma once

#include <string>

#include "scenes/lesson.h"
#include "scenes/recorded_lesson.h"

namespace dryrig {

/// The text of a recorded lesson with the props of `base`, the person where the
/// track has them (`place: measured`), and key, carried props and hands in use
/// of `parts`, whose start_s, length_s and times are on the track's clock.
/// `motion` and `captions` are file names; captions may be empty. @throws
/// InputError where base's text has its props not under a line `props:` of
/// their own.
std::string LoggedLessonText(const Lesson& base, const std::string& bench, const std::string& motion, const std::string& captions,
                             const RecordedLesson& parts);

}  // namespace dryrig
