#include "viewer/app.h"

#include <fmt/format.h>
#include <imgui.h>

#include <algorithm>
#include <chrono>
#include <utility>

#include "scenes/error.h"
#include "viewer/keys.h"
#include "viewer/overlay.h"
#include "viewer/palette.h"
#include "viewer/time_line.h"

namespace dryrig {

namespace {

constexpr int kLively = 3;
constexpr double kFrame_s = 1.0 / 60;  // no more often: a software renderer has no vertical retrace to wait for

double Now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

Settings LoadFor(const ViewOptions& options, const std::filesystem::path& file, std::string* note) {
  if (!options.settings) return {};
  LoadedSettings loaded = LoadSettings(file);
  *note = loaded.note;
  return loaded.settings;
}

Window::Options WindowFor(const ViewOptions& options, const Settings& settings) {
  if (options.width > 0) return {options.width, options.height, true, options.scale};
  if (!options.screenshot.empty()) return {1280, 720, true, options.scale};
  return {settings.width, settings.height, false, options.scale};
}

bool IsDefault(const Orbit& orbit) {
  const Orbit first;
  return orbit.p_WTarget == first.p_WTarget && orbit.azimuth_rad == first.azimuth_rad &&
         orbit.elevation_rad == first.elevation_rad && orbit.distance_m == first.distance_m;
}

void ToggleSetting(bool* setting) {
  *setting = !*setting;
}

}  // namespace

App::App(const ViewOptions& options)
    : options_(options),
      settings_file_(options.settings ? SettingsFile() : std::filesystem::path()),
      window_([&] {
        std::string note;
        return WindowFor(options, LoadFor(options, settings_file_, &note));
      }()),
      desk_(std::make_unique<Desk>()) {
  Desk& desk = *desk_;
  desk.settings = LoadFor(options, settings_file_, &desk.front.note);
  desk.front.turned = !IsDefault(desk.settings.orbit);
  desk.session.transport.t_s = options.at_s;
  if (options.what.empty()) {
    desk.front.dialog = Dialog::kOpen;
  } else {
    desk.session.Open(options.what, kFirst, options.policy.value_or(PolicyChoice{}), options.captions);
    if (options.compare) desk.session.Compare(*options.compare);
  }
  last_s_ = Now_s();
}

App::~App() {
  if (!options_.settings || settings_file_.empty() || !options_.screenshot.empty()) return;
  const ImVec2 size = window_.size();
  const float scale = window_.scale();
  if (size.x > 0 && size.y > 0) {
    desk_->settings.width = static_cast<int>(size.x / scale);
    desk_->settings.height = static_cast<int>(size.y / scale);
  }
  if (!desk_->front.turned) desk_->settings.orbit = Orbit{};
  const std::string failed = SaveSettings(desk_->settings, settings_file_);
  if (!failed.empty()) fmt::print(stderr, "dryrig-view: {}\n", failed);
}

void App::FitFonts() {
  Desk& desk = *desk_;
  desk.pixels = window_.pixels();
  desk.scale = window_.scale() * static_cast<float>(desk.settings.text_scale);
  if (desk.scale == fonts_scale_) return;
  fonts_scale_ = desk.scale;
  desk.fonts = LoadFonts(desk.scale);
  SetStyle(desk.scale);
  window_.FontsChanged();
}

bool App::moving() const {
  return desk_->session.transport.speed != 0 || desk_->front.scrubbing;
}

void App::Do(int number) {
  Desk& desk = *desk_;
  Front& front = desk.front;
  Settings& settings = desk.settings;
  constexpr double kTextStep = 1.125, kLeastText = 0.75, kMostText = 3;
  switch (static_cast<Command>(number)) {
    case Command::kOpen:
      front.dialog = Dialog::kOpen;
      return;
    case Command::kBackToOne:
      return desk.session.Rerun(front.params_slot);
    case Command::kCancel:
      if (front.dialog == Dialog::kProblem) {
        desk.session.DismissProblems();
      } else if (front.dialog == Dialog::kOpen) {
        desk.session.CloseList();
      } else if (front.dialog == Dialog::kNone) {
        if (desk.session.busy()) return desk.session.Cancel();
        front.body = -1;
      }
      front.dialog = Dialog::kNone;
      return;
    case Command::kKeepAsSecond:
      return desk.session.comparing() ? desk.session.CloseSecond() : desk.session.KeepAsSecond();
    case Command::kWorst:
      if (!settings.plotted.empty()) JumpToWorst(desk, settings.plotted[front.next_worst++ % settings.plotted.size()]);
      return;
    case Command::kThirds:
      return ToggleSetting(&settings.thirds);
    case Command::kSafeArea:
      return ToggleSetting(&settings.safe_area);
    case Command::kSightLines:
      return ToggleSetting(&settings.sight_lines);
    case Command::kClearance:
      return ToggleSetting(&settings.clearance);
    case Command::kResetView:
      front.turned = false;
      return;
    case Command::kLargerText:
      settings.text_scale = std::min(settings.text_scale * kTextStep, kMostText);
      return;
    case Command::kSmallerText:
      settings.text_scale = std::max(settings.text_scale / kTextStep, kLeastText);
      return;
    case Command::kHelp:
      front.dialog = front.dialog == Dialog::kHelp ? Dialog::kNone : Dialog::kHelp;
      return;
    case Command::kQuit:
      return window_.Close();
  }
}

/// While the picture moves and three frames in a row come late, shadows are left out; they come back when it stands.
void App::Hurry(double frame_s) {
  constexpr double kLate_s = 1.0 / 30;
  constexpr int kMostLate = 3;
  const double t_s = desk_->session.transport.t_s;
  const bool moved = std::exchange(shown_t_s_, t_s) != t_s;
  late_ = !moved ? 0 : frame_s > kLate_s ? late_ + 1 : late_;
  const bool before = desk_->front.hurried;
  desk_->front.hurried = late_ >= kMostLate;
  if (before && !desk_->front.hurried) lively_ = kLively;
}

void App::TakeIn(const WindowEvents& events, double dt_s) {
  Desk& desk = *desk_;
  const bool typing = ImGui::GetIO().WantTextInput;
  std::vector<TransportEvent> transport;
  const auto take = [&](const KeyBinding* binding, bool down, bool repeat) {
    if (binding == nullptr) return;
    if (const auto* key = std::get_if<TransportKey>(&binding->does)) {
      // A key that was let go is let go, whatever is in front by now.
      if (down && (typing || desk.front.dialog != Dialog::kNone)) return;
      transport.push_back({*key, down, repeat});
      return;
    }
    const Command command = std::get<Command>(binding->does);
    const bool always = command == Command::kCancel || command == Command::kHelp || command == Command::kQuit;
    if (!down || (repeat && command != Command::kLargerText && command != Command::kSmallerText)) return;
    if (typing && command != Command::kCancel && command != Command::kQuit) return;
    if (desk.front.dialog != Dialog::kNone && !always) return;
    Do(static_cast<int>(command));
  };
  for (const WindowEvents::Key& key : events.keys) take(FindKey(key.key, key.mods), key.down, key.repeat);
  for (const char32_t typed : events.typed) take(FindTyped(typed), true, false);
  for (const std::string& file : events.dropped) OpenNamed(desk, file);
  if (desk.session.filmed(kFirst) != nullptr) {
    desk.session.transport = Advance(desk.session.transport, transport, dt_s, desk.session.reel());
  }
}

void App::Remember() {
  Desk& desk = *desk_;
  if (desk.session.opened() != remembered_) {
    remembered_ = desk.session.opened();
    dryrig::Remember(&desk.settings, remembered_);
  }
  const FilmedTake* first = desk.session.filmed(kFirst);
  if (!desk.front.turned) desk.settings.orbit = first != nullptr ? FirstOrbit(first->take) : Orbit{};
  const std::string title = first != nullptr ? first->source + " - Dryrig" : "Dryrig";
  if (title != title_) window_.SetTitle(title_ = title);
}

void App::DrawPanels() {
  Desk& desk = *desk_;
  desk.places.Clear();
  const ImVec2 size = ImGui::GetIO().DisplaySize;
  const FilmedTake* first = desk.session.filmed(kFirst);
  const double aspect = first != nullptr ? first->take.camera.aspect() : 16.0 / 9;
  desk.layout = Arrange(size.x, size.y, desk.scale, LanesFor(desk), desk.session.comparing() ? 2 : 1, aspect);
  DrawHead(desk);
  DrawWeak(desk);
  DrawLenses(desk);
  DrawMoment(desk);
  DrawRoom(desk);
  DrawNext(desk);
  DrawTransport(desk);
  DrawTimeLine(desk);
  DrawCaution(desk);
  DrawDialogs(desk);
}

void App::Frame(double wait_s, Picture* picture) {
  Desk& desk = *desk_;
  const bool busy = desk.session.busy();
  const bool now = lively_ > 0 || moving();
  WindowEvents events = window_.Events(now ? 0 : busy ? std::min(wait_s, 0.05) : wait_s);
  const double t_s = Now_s();
  const double dt_s = std::exchange(last_s_, t_s);
  lively_ = window_.stirred() ? kLively : std::max(0, lively_ - 1);
  FitFonts();
  TakeIn(events, t_s - dt_s);
  if (desk.session.Poll()) lively_ = kLively;
  if (desk.session.list() && desk.front.dialog == Dialog::kNone) desk.front.dialog = Dialog::kOpen;
  Remember();
  window_.Begin(picture == nullptr);
  DrawPanels();
  window_.Show(palette::kPaper, picture);
  Hurry(Now_s() - t_s);
}

void App::Run() {
  constexpr double kIdle_s = 0.5;
  while (!closing()) {
    const double start_s = Now_s();
    Frame(kIdle_s);
    const double spare_s = kFrame_s - (Now_s() - start_s);
    if (spare_s > 0) std::this_thread::sleep_for(std::chrono::duration<double>(spare_s));
  }
}

Picture App::Screenshot() {
  while (desk_->session.busy()) Frame(0.01);
  if (!desk_->session.problems().empty()) {
    const Problem& problem = desk_->session.problems().back();
    if (problem.bad_input) throw InputError(problem.message);
    throw RunError(problem.message);
  }
  Picture picture;
  for (int i = 0; i < kLively; ++i) Frame(0, &picture);
  return picture;
}

}  // namespace dryrig
