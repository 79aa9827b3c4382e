#include <fmt/format.h>

#include "viewer/controls.h"
#include "viewer/paint.h"
#include "viewer/palette.h"
#include "viewer/plot.h"

namespace dryrig {

namespace {

std::string TitleOf(const FilmedTake& filmed) {
  const TakeIdentity& id = filmed.take.id;
  return fmt::format("{} by {}", id.lesson, id.policy);
}

std::string PartsOf(const TakeIdentity& id) {
  return fmt::format("person {}, arm {}, bench {}, camera {}, sensing {}, seed {}", id.person, id.arm, id.bench, id.camera,
                     id.sensing, id.seed);
}

/// What runs in the background, how far it is and what is left; and the button that ends it.
void DrawJobs(Desk& desk) {
  for (const int slot : {kFirst, kSecond}) {
    const auto job = desk.session.job(slot);
    if (!job) continue;
    ImGui::SameLine();
    const std::string left = job->stopping ? "stopping"
                             : job->left_s ? fmt::format("{:.0f} s left", std::ceil(*job->left_s))
                                           : "...";
    const std::string text = fmt::format("{:.0f} %, {}: {}", 100 * job->share, left, job->what);
    ImGui::ProgressBar(static_cast<float>(job->share), {desk.Units(270), 0}, Shortened(text, desk.Units(262)).c_str());
    NotePlace(desk, fmt::format("progress {}", LetterOf(slot)));
  }
  if (!desk.session.busy()) return;
  ImGui::SameLine();
  if (PlacedButton(desk, "Cancel##cancel")) desk.session.Cancel();
  Explain("Stops the filming; what is open stays (Esc)");
}

}  // namespace

void DrawHead(Desk& desk) {
  const Panel panel(desk, "head", desk.layout.head);
  if (PlacedButton(desk, "Open...##open")) desk.front.dialog = Dialog::kOpen;
  Explain("A lesson, a take, results or saved parameters (O); or drop a file on the window");
  const float help = ImGui::CalcTextSize("Keys").x + 2 * ImGui::GetStyle().FramePadding.x;
  const int jobs = (desk.session.job(kFirst) ? 1 : 0) + (desk.session.job(kSecond) ? 1 : 0);
  const float taken = help + desk.Units(16) + (jobs > 0 ? static_cast<float>(jobs) * desk.Units(278) + desk.Units(70) : 0);
  ImGui::SameLine(0, desk.Units(12));
  ImGui::AlignTextToFramePadding();
  const FilmedTake* first = desk.session.filmed(kFirst);
  const FilmedTake* second = desk.session.filmed(kSecond);
  const float room = RestOfLine() - taken;
  if (first == nullptr) {
    ImGui::TextUnformatted("Nothing is open yet");
  } else {
    std::string title = TitleOf(*first);
    if (second != nullptr) title = "A  " + title + "     B  " + TitleOf(*second);
    ImGui::PushFont(desk.fonts.bold);
    title = Shortened(title, room);
    const float width = ImGui::CalcTextSize(title.c_str()).x;
    ImGui::TextUnformatted(title.c_str());
    ImGui::PopFont();
    Explain(first->source + "\n" + PartsOf(first->take.id) + "\n" + first->take.id.params);
    ImGui::PushFont(desk.fonts.small);
    const std::string parts = Shortened(PartsOf(first->take.id), room - width - desk.Units(16));
    if (!parts.empty()) {
      ImGui::SameLine(0, desk.Units(12));
      ImGui::TextDisabled("%s", parts.c_str());
    }
    ImGui::PopFont();
  }
  DrawJobs(desk);
  ImGui::SameLine();
  AlignRight(help);
  if (PlacedButton(desk, "Keys##help")) desk.front.dialog = Dialog::kHelp;
  Explain("All keys and what the mouse does (F1 or ?)");
}

void DrawCaution(Desk& desk) {
  const Panel panel(desk, "caution", desk.layout.caution, false);
  ImDrawList* draw = ImGui::GetWindowDrawList();
  const Rect& rect = desk.layout.caution;
  ImGui::PushFont(desk.fonts.small);
  const std::string caution =
      "A simulation is no risk assessment: before an arm moves near a person, the robot's manual, local codes and a "
      "qualified person decide.";
  const float width = std::min(rect.w, ImGui::CalcTextSize(caution.c_str()).x + desk.Units(20));
  TextIn(draw, {rect.x + desk.Units(4), rect.y, width, rect.h}, caution, palette::kInk);
  const std::string note =
      Shortened(desk.layout.too_small ? "The window is too small for all panels. " + desk.front.note : desk.front.note,
                rect.w - width - desk.Units(20));
  const float note_width = ImGui::CalcTextSize(note.c_str()).x + desk.Units(12);
  if (!note.empty())
    TextIn(draw, {rect.right() - note_width - desk.Units(4), rect.y, note_width, rect.h}, note, palette::kFaintInk);
  ImGui::PopFont();
}

}  // namespace dryrig
