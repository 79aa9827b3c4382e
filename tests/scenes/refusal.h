#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "scenes/bench.h"
#include "scenes/camera.h"
#include "scenes/error.h"
#include "scenes/lesson.h"
#include "scenes/person.h"
#include "scenes/sensing.h"

namespace dryrig {

using Words = std::vector<std::string>;

// The first line of a text below is line 1 of its file.
inline constexpr const char* kLesson = R"(dryrig: lesson/1
title: Holes
craft: bookbinding
hard_for: nothing
bench: study-table
person: avery
props:
  - {name: awl, box: {size_mm: [120, 20, 18]}, at_mm: [200, 240], mass_g: 40}
  - {name: sheets, box: {size_mm: [210, 148, 6]}, at_mm: [0, 220], mass_g: 30}
beats:
  - address: {for_s: 4, say: "Welcome."}
  - reach: {hand: dominant, to: awl}
  - work: {on: sheets, with: awl, motion: press, for_s: 5, rate_hz: 1, span_mm: 20}
  - put_down: {hand: dominant, at_mm: [200, 240]}
  - say: "Look from above."
    intent: {subject: prop:sheets, size: close-up, angle: overhead}
)";
inline constexpr const char* kBench = R"(dryrig: bench/1
title: Table
width_mm: 1400
depth_mm: 700
height_mm: 740
mount:
  at_mm: [420, 720, 890]
  rpy_deg: [0, 0, -120]
keep_out:
  - {name: post, cylinder: {diameter_mm: 40, height_mm: 600}, at_mm: [600, 600, 1040]}
)";
inline constexpr const char* kCamera = R"(dryrig: camera/1
title: Zoom
sensor_mm: [13.2, 7.4]
resolution_px: [1920, 1080]
focal_mm: [8.8, 26]
zoom_octaves_per_s: 0.6
focus_nearest_mm: 150
f_number: 4
frame_rate_hz: 30
mass_kg: 0.9
housing: {size_mm: [110, 90, 150], centre_mm: [0, 0, -60]}
)";
inline constexpr const char* kPerson = R"(dryrig: person/1
title: Somebody
stature_mm: 1700
mass_kg: 70
handed: right
seated: true
seat_height_mm: 450
pace: 1
)";
inline constexpr const char* kSensing = R"(dryrig: sensing/1
title: Good
rate_hz: 30
latency_ms: 80
noise_mm: 8
dropout_per_s: 0.01
dropout_for_s: 0.3
hidden_is_lost: true
word_error_rate: 0.05
)";

struct Reader {
  const char* valid;
  std::function<void(const std::string& text, const std::string& file_name)> parse;
  std::function<void(const std::filesystem::path& file)> read;
};

inline const std::map<std::string, Reader>& Readers() {
  static const std::map<std::string, Reader> readers{
      {"lesson", {kLesson, [](auto& t, auto& f) { ParseLesson(t, f); }, [](auto& f) { ReadLesson(f); }}},
      {"bench", {kBench, [](auto& t, auto& f) { ParseBench(t, f); }, [](auto& f) { ReadBench(f); }}},
      {"camera", {kCamera, [](auto& t, auto& f) { ParseCamera(t, f); }, [](auto& f) { ReadCamera(f); }}},
      {"person", {kPerson, [](auto& t, auto& f) { ParsePerson(t, f); }, [](auto& f) { ReadPerson(f); }}},
      {"sensing", {kSensing, [](auto& t, auto& f) { ParseSensing(t, f); }, [](auto& f) { ReadSensing(f); }}},
  };
  return readers;
}

/// The message of the InputError that `work` throws within a second; a test failure otherwise.
inline std::string Refusal(const std::function<void()>& work) {
  const auto start = std::chrono::steady_clock::now();
  std::string message;
  try {
    work();
    ADD_FAILURE() << "was read without a word";
  } catch (const InputError& e) {
    message = e.what();
  } catch (const std::exception& e) {
    ADD_FAILURE() << "threw something else: " << e.what();
  }
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
  EXPECT_LT(took.count(), 1.0) << "seconds";
  EXPECT_LT(message.size(), 600u) << "a message is to be read";
  return message;
}

inline void ExpectWords(const std::string& message, const Words& words) {
  for (const std::string& word : words) EXPECT_THAT(message, testing::HasSubstr(word));
}

inline std::string Repeat(const std::string& piece, size_t times) {
  std::string text;
  text.reserve(piece.size() * times);
  for (size_t i = 0; i < times; ++i) text += piece;
  return text;
}

}  // namespace dryrig
