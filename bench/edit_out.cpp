#include "bench/edit_out.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "scenes/error.h"

namespace dryrig {

namespace {

using Json = nlohmann::ordered_json;

constexpr double kStill_mps = 0.03, kStill_rad_s = 3 * M_PI / 180;

/// Does the camera travel between frame i and the next?
bool Travels(const Take& take, size_t i) {
  if (i + 1 >= take.frames.size()) return false;
  const Eigen::Isometry3d &a = take.frames[i].X_WC, &b = take.frames[i + 1].X_WC;
  const double hz = take.id.frame_hz;
  const double turn = Eigen::AngleAxisd(a.linear().transpose() * b.linear()).angle();
  return (b.translation() - a.translation()).norm() * hz > kStill_mps || std::abs(turn) * hz > kStill_rad_s;
}

std::string NameOf(const EditClip& clip) {
  return (clip.moving ? "move to " : "") + ToString(clip.shot);
}

/// Reels of this form have eight characters, letters and digits.
std::string ReelOf(const std::string& media) {
  std::string out;
  for (const char c : media.substr(media.find_last_of('/') + 1)) {
    if (c == '.') break;
    if (std::isalnum(static_cast<unsigned char>(c)) && out.size() < 8) out += static_cast<char>(std::toupper(c));
  }
  return out.empty() ? "AX" : out;
}

Json Rational(int64_t frames, const FrameRate& rate) {
  return {{"OTIO_SCHEMA", "RationalTime.1"}, {"rate", rate.Hz()}, {"value", static_cast<double>(frames)}};
}
Json Range(int64_t begin, int64_t end, const FrameRate& rate) {
  return {{"OTIO_SCHEMA", "TimeRange.1"}, {"start_time", Rational(begin, rate)}, {"duration", Rational(end - begin, rate)}};
}

std::string VttTime(double t_s) {
  const auto ms = static_cast<int64_t>(std::llround(t_s * 1000));
  return fmt::format("{:02}:{:02}:{:02}.{:03}", ms / 3'600'000, ms / 60'000 % 60, ms / 1000 % 60, ms % 1000);
}

std::string VttText(const std::string& text) {
  std::string out;
  for (const char c : text) out += c == '&' ? "&amp;" : c == '<' ? "&lt;" : c == '>' ? "&gt;" : std::string(1, c);
  return out;
}

/// A clip's frames in the film at this rate; short ones may have none.
struct ClipFrames {
  const EditClip* clip;
  int64_t begin, end;
};
std::vector<ClipFrames> FramesOf(const std::vector<EditClip>& clips, const EditSource& source, const FrameRate& rate) {
  std::vector<ClipFrames> out;
  for (const EditClip& clip : clips) {
    const int64_t begin = source.first_frame + FrameAt(clip.start_s, rate), end = source.first_frame + FrameAt(clip.end_s, rate);
    if (end > begin) out.push_back({&clip, begin, end});
  }
  return out;
}

}  // namespace

std::vector<EditClip> ClipsOf(const Take& take) {
  std::vector<EditClip> out;
  const double hz = take.id.frame_hz;
  for (size_t first = 0; first < take.frames.size();) {
    size_t end = first + 1;
    while (end < take.frames.size() && take.frames[end].chosen == take.frames[first].chosen) ++end;
    size_t settled = first;
    while (settled < end && Travels(take, settled)) ++settled;
    const Shot& shot = take.frames[first].chosen;
    const auto at = [hz](size_t frame) { return static_cast<double>(frame) / hz; };
    if (settled > first) out.push_back({at(first), at(settled), true, shot});
    if (end > settled) out.push_back({at(settled), at(end), false, shot});
    first = end;
  }
  return out;
}

std::vector<MissedCue> MissedCues(const Take& take) {
  std::vector<MissedCue> out;
  for (const TimedIntent& intent : take.intents) {
    size_t frames = 0, chosen = 0;
    for (size_t i = 0; i < take.frames.size(); ++i) {
      const double t_s = static_cast<double>(i) / take.id.frame_hz;
      if (t_s < intent.start_s || t_s >= intent.end_s) continue;
      ++frames;
      chosen += take.frames[i].chosen.subjects == intent.shot.subjects;
    }
    if (frames > 0 && 2 * chosen < frames) out.push_back({intent.start_s, intent.end_s, ToString(intent.shot)});
  }
  return out;
}

std::string EditList(const Take& take, const EditSource& source, const FrameRate& rate) {
  if (rate.nominal > 30) {
    throw InputError(
        fmt::format("a CMX 3600 edit list counts 30 frames a second at most, not {}; export the OpenTimelineIO form", rate.name));
  }
  std::string out = fmt::format("TITLE: {}\nFCM: {}\n\n", source.title, rate.drop ? "DROP FRAME" : "NON-DROP FRAME");
  int event = 0;
  const std::vector<EditClip> clips = ClipsOf(take);
  for (const ClipFrames& frames : FramesOf(clips, source, rate)) {
    if (++event > 999) throw InputError("a CMX 3600 edit list holds 999 events at most; export the OpenTimelineIO form");
    const std::string in = ToTimeCode(frames.begin, rate), end = ToTimeCode(frames.end, rate);
    out += fmt::format("{:03}  {:<8} V     C        {} {} {} {}\n* FROM CLIP NAME: {}\n", event, ReelOf(source.media), in, end,
                       in, end, NameOf(*frames.clip));
  }
  for (const MissedCue& cue : MissedCues(take)) {
    out += fmt::format("* LOC: {} RED     MISSED CUE: {}\n", ToTimeCode(source.first_frame + FrameAt(cue.start_s, rate), rate),
                       cue.what);
  }
  return out;
}

std::string EditTimeline(const Take& take, const EditSource& source, const FrameRate& rate) {
  const int64_t whole = FrameAt(static_cast<double>(take.frames.size()) / take.id.frame_hz, rate);
  const Json media{{"OTIO_SCHEMA", "ExternalReference.1"},
                   {"name", ""},
                   {"metadata", Json::object()},
                   {"target_url", source.media},
                   {"available_range", Range(source.first_frame, source.first_frame + whole, rate)}};
  const std::vector<EditClip> edit = ClipsOf(take);
  Json clips = Json::array();
  for (const ClipFrames& frames : FramesOf(edit, source, rate)) {
    clips.push_back({{"OTIO_SCHEMA", "Clip.1"},
                     {"name", NameOf(*frames.clip)},
                     {"metadata", {{"dryrig", {{"move", frames.clip->moving}, {"shot", ToString(frames.clip->shot)}}}}},
                     {"source_range", Range(frames.begin, frames.end, rate)},
                     {"effects", Json::array()},
                     {"markers", Json::array()},
                     {"media_reference", media}});
  }
  Json markers = Json::array();
  for (const MissedCue& cue : MissedCues(take)) {
    markers.push_back({{"OTIO_SCHEMA", "Marker.2"},
                       {"name", "missed cue: " + cue.what},
                       {"metadata", Json::object()},
                       {"color", "RED"},
                       {"marked_range", Range(FrameAt(cue.start_s, rate), FrameAt(cue.end_s, rate), rate)}});
  }
  const Json track{{"OTIO_SCHEMA", "Track.1"}, {"name", "camera"},         {"kind", "Video"},    {"metadata", Json::object()},
                   {"source_range", nullptr},  {"effects", Json::array()}, {"markers", markers}, {"children", clips}};
  const Json stack{{"OTIO_SCHEMA", "Stack.1"},        {"name", "tracks"},         {"metadata", Json::object()},
                   {"source_range", nullptr},         {"effects", Json::array()}, {"markers", Json::array()},
                   {"children", Json::array({track})}};
  const Json timeline{
      {"OTIO_SCHEMA", "Timeline.1"},
      {"name", source.title},
      {"metadata",
       {{"dryrig",
         {{"lesson", take.id.lesson}, {"policy", take.id.policy}, {"person", take.id.person}, {"seed", take.id.seed}}}}},
      {"global_start_time", Rational(source.first_frame, rate)},
      {"tracks", stack}};
  return timeline.dump(1) + "\n";
}

std::string SpokenWebVtt(const Take& take) {
  std::string out = "WEBVTT\n";
  for (const Sentence& sentence : take.sentences) {
    out += fmt::format("\n{} --> {}\n{}\n", VttTime(sentence.start_s), VttTime(sentence.end_s), VttText(sentence.text));
  }
  return out;
}

}  // namespace dryrig
