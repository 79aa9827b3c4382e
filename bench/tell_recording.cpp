#include "bench/tell_recording.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace dryrig {

namespace {

constexpr size_t kLineWidth = 118;

/// Items on lines of a width that a terminal shows, under a heading.
std::string Wrapped(const std::string& heading, const std::vector<std::string>& items) {
  if (items.empty()) return fmt::format("  {}: none\n", heading);
  const std::string indent = "\n    ";
  std::string out = fmt::format("  {}:", heading);
  size_t width = kLineWidth;  // the first item begins a line
  for (size_t i = 0; i < items.size(); ++i) {
    const std::string item = items[i] + (i + 1 < items.size() ? "," : "");
    const bool fits = width + 1 + item.size() <= kLineWidth;
    out += fits ? " " : indent;
    out += item;
    width = (fits ? width + 1 : indent.size() - 1) + item.size();
  }
  return out + '\n';
}

/// Gaps of each point: how many were filled, and each that was lost.
std::vector<std::string> GapWords(const Recording& recording) {
  struct Sum {
    int filled = 0;
    double filled_s = 0;
    std::vector<std::string> lost;
  };
  std::map<TrackPoint, Sum> sums;
  for (const RecordedGap& gap : recording.facts.gaps) {
    Sum& sum = sums[gap.point];
    if (gap.filled) {
      ++sum.filled;
      sum.filled_s += gap.to_s - gap.from_s;
    } else {
      sum.lost.push_back(fmt::format("{:.2f} to {:.2f} s", gap.from_s, gap.to_s));
    }
  }
  std::vector<std::string> out;
  constexpr size_t kTold = 5;
  for (const auto& [point, sum] : sums) {
    if (sum.filled > 0) out.push_back(fmt::format("{} {} filled ({:.2f} s)", ToString(point), sum.filled, sum.filled_s));
    for (size_t i = 0; i < std::min(sum.lost.size(), kTold); ++i)
      out.push_back(fmt::format("{} lost from {}", ToString(point), sum.lost[i]));
    if (sum.lost.size() > kTold) out.push_back(fmt::format("{} lost {} times more", ToString(point), sum.lost.size() - kTold));
  }
  return out;
}

}  // namespace

std::string TellRecording(const Recording& recording) {
  const RecordingFacts& facts = recording.facts;
  std::string out = fmt::format("recording {}: {}\n  {} frames at {:.4g} Hz, {:.2f} s from {:.3f} s on\n", recording.name,
                                recording.format, recording.frames, recording.rate_hz, recording.duration_s(), recording.start_s);
  out += fmt::format("  unit: {} (1 is {:.6g} m); up: {}; stature about {:.2f} m\n", facts.unit, facts.metres_per_unit, facts.up,
                     recording.stature_m);
  std::vector<std::string> mapped, segments;
  for (const auto& [name, point] : facts.mapped) mapped.push_back(ToString(point) + " = " + name);
  for (const RecordedSegment& segment : facts.segments) {
    const std::string varies = segment.spread < 5e-5 ? "" : fmt::format(" (varies by {:.2g} %)", segment.spread * 100);
    segments.push_back(fmt::format("{} {:.0f} mm{}", segment.name, segment.length_m * 1000, varies));
  }
  out += Wrapped(fmt::format("{} points known", mapped.size()), mapped);
  out += Wrapped("joints not used", facts.unmapped);
  out += Wrapped("bones", segments);
  out += Wrapped("gaps", GapWords(recording));
  for (const std::string& note : facts.notes) out += fmt::format("  note: {}\n", note);
  return out;
}

std::string TellCaptions(const Captions& captions, const std::string& name) {
  std::string out = fmt::format("captions {}: {}, {} sentences\n", name, captions.format, captions.cues.size());
  for (const CaptionCue& cue : captions.cues)
    out += fmt::format("  {:8.3f} to {:8.3f} s  {}\n", cue.start_s, cue.end_s, cue.text);
  for (const std::string& note : captions.notes) out += fmt::format("  note: {}\n", note);
  return out;
}

std::string TellRecorded(const RecordedLesson& recorded, const Performance& performance) {
  std::string out = TellRecording(recorded.motion);
  out += fmt::format("  played: {:.3f} to {:.3f} s\n", recorded.start_s, recorded.start_s + recorded.length_s);
  for (const std::string& note : performance.notes()) out += fmt::format("  note: {}\n", note);
  if (recorded.intents.empty()) out += "  note: no intents, so framing is not scored; a lesson file gives them\n";
  for (const RecordedFile& file : recorded.files) {
    if (file.kind == "captions") out += TellCaptions(recorded.captions, file.name);
  }
  return out;
}

}  // namespace dryrig
