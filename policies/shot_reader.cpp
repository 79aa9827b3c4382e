#include "policies/shot_reader.h"

#include "policies/sentences.h"

namespace dryrig {

void ShotReader::Reset(const Stage& stage) {
  scene_.Reset(stage);
  cues_.Reset(stage);
  chooser_.Reset();
  hands_ = {true, true};
  heard_ = 0;
}

const Shot& ShotReader::Update(const Observation& seen) {
  scene_.Update(seen);
  const Cues& cues = cues_.Update(scene_);
  hands_ = cues.hands;
  std::vector<ShotChooser::Heard> heard;
  for (; heard_ < seen.heard.size(); ++heard_) {
    std::vector<std::string> names;
    for (const TrackedProp& prop : seen.props) names.push_back(prop.name);
    const Ask ask = ReadSentence(seen.heard[heard_].text, names);
    heard.push_back({ask, cues.working && UnderHands(ask.look_at)});
  }
  return chooser_.Update(seen.t_s, cues, heard);
}

// Some landmark of a hand is right over it.
bool ShotReader::UnderHands(const std::string& name) const {
  const int i = scene_.FindProp(name);
  if (i < 0) return false;
  const auto& prop = scene_.props()[static_cast<size_t>(i)];
  for (int point = kHandL; point < kNumBodyPoints; ++point) {
    if ((scene_.p_W(point) - prop.p_WP).head<2>().norm() < 0.4 * prop.extent_m) return true;
  }
  return false;
}

}  // namespace dryrig
