// When it happened: everything of the takes over one time, under one cursor.
#include "viewer/controls.h"
#include "viewer/paint.h"
#include "viewer/palette.h"
#include "viewer/plot.h"
#include "viewer/time_line.h"

namespace dryrig {

namespace {

constexpr float kGutter = 106, kMargin = 10;

TimeView ViewOf(Desk& desk) {
  Front& front = desk.front;
  const double length_s = std::max(desk.session.reel().length_s, 0.1);
  TimeView view;
  view.x = desk.layout.time_line.x + desk.Units(kGutter);
  view.w = std::max(1.f, desk.layout.time_line.w - desk.Units(kGutter + kMargin));
  if (front.to_s <= front.from_s || front.to_s > length_s + 1e-6) front.from_s = front.to_s = 0;
  view.from_s = front.from_s;
  view.to_s = front.to_s > 0 ? front.to_s : length_s;
  // While it plays, the view follows the cursor out of sight.
  const double t_s = desk.session.transport.t_s, span_s = view.to_s - view.from_s;
  if (front.to_s > 0 && !front.scrubbing && desk.session.transport.speed != 0 && (t_s < view.from_s || t_s > view.to_s)) {
    view.from_s = std::clamp(t_s - 0.1 * span_s, 0.0, length_s - span_s);
    view.to_s = view.from_s + span_s;
    front.from_s = view.from_s;
    front.to_s = view.to_s;
  }
  return view;
}

/// The wheel shows less or more of the time about the mouse; the middle button draws it along.
void ZoomWithMouse(Desk& desk, const TimeView& view) {
  const ImGuiIO& io = ImGui::GetIO();
  Front& front = desk.front;
  const double length_s = desk.session.reel().length_s;
  if (io.MouseWheel != 0) {
    constexpr double kLeast_s = 1;
    const double at_s = view.Time(io.MousePos.x);
    const double span_s = std::clamp((view.to_s - view.from_s) * std::pow(0.8, static_cast<double>(io.MouseWheel)),
                                     std::min(kLeast_s, length_s), length_s);
    const double share = (at_s - view.from_s) / (view.to_s - view.from_s);
    front.from_s = std::clamp(at_s - share * span_s, 0.0, length_s - span_s);
    front.to_s = span_s >= length_s ? 0 : front.from_s + span_s;
    if (front.to_s == 0) front.from_s = 0;
  }
  if (io.MouseDown[ImGuiMouseButton_Middle] && io.MouseDelta.x != 0 && front.to_s > 0) {
    const double span_s = front.to_s - front.from_s;
    front.from_s = std::clamp(front.from_s - span_s * static_cast<double>(io.MouseDelta.x / view.w), 0.0, length_s - span_s);
    front.to_s = front.from_s + span_s;
  }
}

void DrawRuler(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane) {
  const double step_s = TickStep_s(view.to_s - view.from_s, static_cast<int>(view.w / desk.Units(64)));
  for (double t_s = std::ceil(view.from_s / step_s - 1e-9) * step_s; t_s <= view.to_s + 1e-9; t_s += step_s) {
    const float x = std::round(view.X(t_s));
    draw->AddLine({x, lane.bottom() - desk.Units(5)}, {x, lane.bottom()}, palette::kInk);
    std::string text = ShownTime(t_s);
    if (step_s >= 1 && text.ends_with(".00")) text.resize(text.size() - 3);
    const float width = ImGui::CalcTextSize(text.c_str()).x;
    draw->AddText({std::clamp(x - 0.5f * width, view.x, view.x + view.w - width), lane.y + desk.Units(1)}, palette::kFaintInk,
                  text.c_str());
  }
}

void DrawCursor(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& all) {
  const double t_s = desk.session.transport.t_s;
  if (t_s < view.from_s - 1e-9 || t_s > view.to_s + 1e-9) return;
  const float x = std::round(view.X(t_s));
  draw->AddLine({x, all.y + desk.Units(4)}, {x, all.bottom() - desk.Units(3)}, palette::kPaper, 4 * desk.scale);
  draw->AddLine({x, all.y + desk.Units(4)}, {x, all.bottom() - desk.Units(3)}, palette::kInk, 2 * desk.scale);
  Pointer(draw, {x, all.y + desk.Units(14)}, desk.Units(12), true, palette::kInk);
}

}  // namespace

LaneCount LanesFor(const Desk& desk) {
  LaneCount count;
  count.lanes = desk.session.comparing() ? 5 : 4;
  count.plots = static_cast<int>(std::min<size_t>(desk.settings.plotted.size(), 4));
  return count;
}

void DrawTimeLine(Desk& desk) {
  const Rect all = desk.layout.time_line;
  const Panel panel(desk, "time line", all, false);
  if (desk.session.filmed(kFirst) == nullptr) return;
  const TimeView view = ViewOf(desk);
  ImDrawList* draw = ImGui::GetWindowDrawList();
  ImGui::PushFont(desk.fonts.small);
  float y = all.y + desk.Units(2);
  const auto lane = [&](float height) {
    const Rect rect{view.x, y, view.w, desk.Units(height)};
    y += desk.Units(height);
    return rect;
  };
  // One control under all of it: press anywhere and draw to scrub.
  ImGui::SetCursorScreenPos({view.x - desk.Units(4), all.y});
  ImGui::InvisibleButton("scrub", {view.w + desk.Units(8), all.h},
                         ImGuiButtonFlags_MouseButtonLeft | ImGuiButtonFlags_MouseButtonMiddle);
  desk.places.Put("scrub", {view.x, all.y, view.w, all.h});
  const ImGuiIO& io = ImGui::GetIO();
  desk.front.scrubbing = ImGui::IsItemActive() && io.MouseDown[ImGuiMouseButton_Left];
  if (desk.front.scrubbing) desk.JumpTo(view.Time(io.MousePos.x));
  if (ImGui::IsItemHovered()) ZoomWithMouse(desk, view);
  DrawRuler(desk, draw, view, lane(kRulerHeight));
  DrawBeats(desk, draw, view, lane(kLaneHeight));
  DrawSpeech(desk, draw, view, lane(kLaneHeight));
  DrawAsked(desk, draw, view, lane(kLaneHeight));
  DrawChosen(desk, draw, view, lane(kLaneHeight), kFirst);
  if (desk.session.comparing()) DrawChosen(desk, draw, view, lane(kLaneHeight), kSecond);
  // A plot may take itself off the list while it is drawn.
  const std::vector<std::string> plotted = desk.settings.plotted;
  const auto shown = static_cast<float>(LanesFor(desk).plots);
  const float height = std::max(kPlotHeight, (all.bottom() - y - desk.Units(6)) / std::max(1.f, shown) / desk.scale);
  for (const std::string& metric : plotted) {
    if (y + desk.Units(height) > all.bottom() + 1) break;
    DrawPlot(desk, draw, view, lane(height), metric);
  }
  DrawCursor(desk, draw, view, all);
  ImGui::PopFont();
}

}  // namespace dryrig
