#include "bench/mount_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "bench/csv.h"
#include "bench/text_table.h"
#include "bench/time_canvas.h"

namespace dryrig {

namespace {

using Align = TextTable::Align;

double ShareOf(const MountScore& score, ViewFate fate) {
  return score.views() == 0 ? 0 : static_cast<double>(score.by_fate[static_cast<size_t>(fate)]) / score.views();
}

}  // namespace

void Rank(std::vector<RankedMount>* mounts) {
  std::stable_sort(mounts->begin(), mounts->end(), [](const RankedMount& a, const RankedMount& b) {
    if (a.score.seen() != b.score.seen()) return a.score.seen() > b.score.seen();
    return ShareOf(a.score, ViewFate::kTooNear) < ShareOf(b.score, ViewFate::kTooNear);
  });
}

std::string RankingTable(const std::vector<RankedMount>& mounts, size_t rows) {
  TextTable table(
      {Align::kRight, Align::kLeft, Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kRight});
  table.Row({"rank", "mount", "camera", "seen", "out of reach", "strikes", "too near", "hidden"});
  table.Rule();
  for (size_t i = 0; i < std::min(rows, mounts.size()); ++i) {
    const MountScore& score = mounts[i].score;
    std::vector<std::string> row{std::to_string(i + 1), mounts[i].place.Text(), mounts[i].camera};
    for (size_t fate = 0; fate < kFateWords.size(); ++fate)
      row.push_back(fmt::format("{:.0f} %", 100 * ShareOf(score, static_cast<ViewFate>(fate))));
    table.Row(row);
  }
  return table.ToString();
}

std::string MountSvg(const Bench& bench, const std::vector<RankedMount>& mounts, const std::string& title) {
  constexpr double kScale = 150, kMargin_m = 0.35, kTop = 56, kCell = 28;  // pixels a metre, pixels
  std::map<int, std::vector<const RankedMount*>> panels;                   // by height over the top, mm
  for (const RankedMount& mount : mounts)
    panels[static_cast<int>(std::lround((mount.place.at_m.z() - bench.height_m) * 1000))].push_back(&mount);
  const double width = kScale * (bench.width_m + 2 * kMargin_m), height = kScale * (bench.depth_m + 2 * kMargin_m) + 26;
  const int across = panels.size() > 4 ? 3 : 2;
  const int down = (static_cast<int>(panels.size()) + across - 1) / across;
  std::string out = fmt::format(
      R"(<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0:.0f} {1:.0f}" font-family="sans-serif" font-size="12">
<rect width="{0:.0f}" height="{1:.0f}" fill="#fff"/><text x="14" y="22" font-size="16">{2}</text>
<text x="14" y="42" fill="#555">Seen from above, the instructor below the bench. Numbers: per cent of the intended views. A simulation is no risk assessment.</text>
)",
      across * width, kTop + down * height, Escaped(title));
  int index = 0;
  for (const auto& [over_mm, panel] : panels) {
    const double left = (index % across) * width, top = kTop + (index / across) * height;
    ++index;
    const auto x = [&](double x_m) { return left + kScale * (kMargin_m + bench.width_m / 2 + x_m); };
    const auto y = [&](double y_m) { return top + 20 + kScale * (kMargin_m + bench.depth_m - y_m); };
    out += fmt::format("<text x=\"{:.0f}\" y=\"{:.0f}\">{} mm over the top{}</text>\n", left + 14, top + 14, over_mm,
                       panel.front()->place.hangs() ? ", hanging" : "");
    out += fmt::format(
        "<rect x=\"{:.0f}\" y=\"{:.0f}\" width=\"{:.0f}\" height=\"{:.0f}\" fill=\"#f2eee6\" stroke=\"#777\"/>\n"
        "<circle cx=\"{:.0f}\" cy=\"{:.0f}\" r=\"14\" fill=\"#d9c6a9\" stroke=\"#777\"/>\n",
        x(-bench.width_m / 2), y(bench.depth_m), kScale * bench.width_m, kScale * bench.depth_m, x(0), y(-0.2));
    std::map<std::pair<double, double>, const RankedMount*> best;
    for (const RankedMount* mount : panel) {
      const auto [at, fresh] = best.try_emplace({mount->place.at_m.x(), mount->place.at_m.y()}, mount);
      if (!fresh && mount->score.seen() > at->second->score.seen()) at->second = mount;
    }
    for (const auto& [at, mount] : best) {
      const double share = mount->score.seen();
      // White to dark blue; black letters on light, white on dark.
      const auto channel = [&](double dark) { return static_cast<int>(std::lround(255 + share * (dark - 255))); };
      out += fmt::format(
          "<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{}\" height=\"{}\" fill=\"rgb({},{},{})\" "
          "stroke=\"#333\"><title>{}</title></rect>\n"
          "<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"middle\" font-size=\"11\" fill=\"{}\">{:.0f}</text>\n",
          x(at.first) - kCell / 2, y(at.second) - kCell / 2, kCell, kCell, channel(18), channel(62), channel(107),
          Escaped(mount->place.Text() + ", " + mount->camera), x(at.first), y(at.second) + 4, share > 0.55 ? "#fff" : "#000",
          100 * share);
    }
  }
  return out + "</svg>\n";
}

std::string MountCsv(const std::vector<RankedMount>& mounts) {
  std::string out = "rank,side,x_mm,y_mm,z_mm,yaw_deg,camera,views";
  for (const std::string_view word : kFateWords) {
    out += ',';
    for (const char c : word) out += c == ' ' ? '_' : c;
  }
  out += '\n';
  for (size_t i = 0; i < mounts.size(); ++i) {
    const MountPlace& place = mounts[i].place;
    out += fmt::format("{},{},{:.0f},{:.0f},{:.0f},{:.3f},{},{}", i + 1, place.side, place.at_m.x() * 1000, place.at_m.y() * 1000,
                       place.at_m.z() * 1000, place.yaw_rad * 180 / M_PI, mounts[i].camera, mounts[i].score.views());
    for (const int count : mounts[i].score.by_fate) out += fmt::format(",{}", count);
    out += '\n';
  }
  return out;
}

}  // namespace dryrig
