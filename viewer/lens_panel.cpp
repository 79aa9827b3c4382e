// What the lens saw, for one take or two in step; beneath one, in words, what was asked, chosen and seen.
#include <fmt/format.h>

#include "viewer/controls.h"
#include "viewer/overlay.h"
#include "viewer/paint.h"
#include "viewer/palette.h"
#include "viewer/plot.h"

namespace dryrig {

namespace {

/// The shot that a frame is looked at for: the one asked for, or where nothing is asked the one chosen.
const Shot& ShotAt(const FilmedTake& filmed, size_t frame, double t_s) {
  const TimedIntent* asked = IntentAt(filmed.take, t_s);
  return asked != nullptr ? asked->shot : filmed.take.frames[frame].chosen;
}

std::string_view WordFor(Match match) {
  switch (match) {
    case Match::kSame:
      return "as asked";
    case Match::kOtherView:
      return "other size or angle";
    case Match::kOtherSubject:
      return "OTHER SUBJECT";
    case Match::kNothingAsked:
      break;
  }
  return "nothing asked";
}

/// A click on a picture, not a drag: where, in the picture's own pixels.
std::optional<ImVec2> ClickedAt(const Desk& desk, const Rect& picture) {
  const ImGuiIO& io = ImGui::GetIO();
  if (!ImGui::IsItemHovered() || !ImGui::IsMouseReleased(ImGuiMouseButton_Left)) return std::nullopt;
  if (io.MouseDragMaxDistanceSqr[ImGuiMouseButton_Left] > desk.Units(4) * desk.Units(4)) return std::nullopt;
  return ImVec2((io.MousePos.x - picture.x) * desk.pixels, (io.MousePos.y - picture.y) * desk.pixels);
}

/// Says what hides the sample point under the mouse.
void ExplainBlocked(Desk& desk, int slot, const Rect& picture, const SightReport& sight) {
  if (!ImGui::IsItemHovered()) return;
  const Take& take = desk.Filmed(slot)->take;
  const TakeFrame& frame = take.frames[desk.Frame(slot)];
  const View view = LensView(take.camera, frame.lens, frame.X_WC);
  const ImVec2 mouse = ImGui::GetIO().MousePos;
  for (const SampleLine& line : sight.lines) {
    if (line.sight != SampleSight::kBlocked) continue;
    const auto at = ToPixel(view, line.p_W, static_cast<int>(picture.w), static_cast<int>(picture.h));
    if (!at) continue;
    const double off = std::hypot(picture.x + at->x() - mouse.x, picture.y + at->y() - mouse.y);
    if (off < desk.Units(6)) return Explain("hidden by " + desk.pictures.NameOf(slot, line.blocker));
  }
}

void DrawPicture(Desk& desk, int slot, const Rect& room) {
  ImDrawList* draw = ImGui::GetWindowDrawList();
  const auto& filmed = desk.Filmed(slot);
  const Take& take = filmed->take;
  const size_t frame = desk.Frame(slot);
  const Rect picture = FitInto(room, take.camera.aspect());
  FillAround(draw, room, picture, palette::kSurround);
  if (picture.w < 16 || picture.h < 9) return;
  Pictures::How how{static_cast<int>(picture.w * desk.pixels), static_cast<int>(picture.h * desk.pixels), -1,
                    desk.settings.shadows && !desk.front.hurried};
  if (desk.front.body_slot == slot) how.highlight = desk.front.body;
  const uint32_t texture = desk.pictures.Lens(slot, filmed, frame, how);
  ImGui::SetCursorScreenPos(TopLeft(picture));
  ImGui::Image(reinterpret_cast<ImTextureID>(static_cast<intptr_t>(texture)), {picture.w, picture.h}, {0, 1}, {1, 0});
  ImGui::SetCursorScreenPos(TopLeft(picture));
  ImGui::InvisibleButton(fmt::format("lens {}", LetterOf(slot)).c_str(), {picture.w, picture.h});
  NotePlace(desk, fmt::format("lens {}", LetterOf(slot)));
  if (const auto at = ClickedAt(desk, picture)) {
    desk.front.body = desk.pictures.BodyInLens(slot, static_cast<int>(at->x), static_cast<int>(at->y));
    desk.front.body_slot = slot;
    desk.front.room_slot = slot;
  }
  if (desk.settings.thirds) DrawThirds(desk, draw, picture);
  if (desk.settings.safe_area) DrawSafeArea(desk, draw, picture);
  const double t_s = desk.session.transport.t_s;
  const Shot& shot = ShotAt(*filmed, frame, t_s);
  if (desk.settings.sight_lines) {
    const SightReport& sight = desk.pictures.Sight(slot, filmed, frame, shot);
    DrawSight(desk, draw, picture, take, take.frames[frame], sight, shot);
    ExplainBlocked(desk, slot, picture, sight);
  }
  ImGui::PushFont(desk.fonts.small);
  const float line = ImGui::GetTextLineHeight() + desk.Units(6);
  if (filmed->preview()) {
    PictureText(draw, {picture.x + desk.Units(6), picture.y + desk.Units(6)}, "the first moments; the take is being filmed");
  }
  if (desk.session.comparing()) {
    const SightReport& sight = desk.pictures.Sight(slot, filmed, frame, shot);
    const Match match = MatchOf(IntentAt(take, t_s), take.frames[frame].chosen);
    const float x = picture.x + desk.Units(4), width = picture.w - desk.Units(16);
    PictureText(draw, {x, picture.bottom() - line},
                Shortened(fmt::format("{}: {}", ShortName(take.frames[frame].chosen), WordFor(match)), width));
    PictureText(draw, {x, picture.bottom() - 2 * line}, fmt::format("{} of {} points clear", sight.clear, sight.lines.size()));
  }
  ImGui::PopFont();
}

void DrawToggles(Desk& desk) {
  Settings& settings = desk.settings;
  ImGui::SameLine(0, desk.Units(10));
  AlignRight(desk.Units(174));
  ImGui::SetCursorPosY(ImGui::GetCursorPosY() + desk.Units(3));  // level with the heading's words
  SmallToggle(desk, "thirds", &settings.thirds, "Lines at the thirds (T)");
  ImGui::SameLine();
  SmallToggle(desk, "safe", &settings.safe_area, "Safe area, 93 % of width and height (A)");
  ImGui::SameLine();
  SmallToggle(desk, "sight", &settings.sight_lines,
              "Sample points of the subject (S). Ring: seen. Cross: hidden. Pointer at the edge: out of the frame. "
              "Diamond: the subject's centre, and the open cross where it ought to be.");
}

}  // namespace

void DrawLenses(Desk& desk) {
  const Rect all = desk.layout.lens;
  const Panel panel(desk, "lens", all);
  if (desk.session.filmed(kFirst) == nullptr) {
    Heading(desk, "What did it see?");
    const float y = ImGui::GetCursorScreenPos().y, pad = desk.Units(6);
    ImGui::GetWindowDrawList()->AddRectFilled({all.x + pad, y}, {all.right() - pad, all.bottom() - pad}, palette::kSurround);
    return;
  }
  const bool two = desk.session.comparing();
  const float part = all.h / (two ? 2.f : 1.f), pad = desk.Units(6);
  for (int slot = kFirst; slot <= (two ? kSecond : kFirst); ++slot) {
    const float top = all.y + static_cast<float>(slot) * part;
    ImGui::SetCursorScreenPos({all.x + desk.Units(8), top + desk.Units(3)});
    const std::string heading =
        two ? fmt::format("{}  {}", LetterOf(slot), desk.Filmed(slot)->take.id.policy) : "What did it see?";
    Heading(desk, heading.c_str());
    if (slot == kFirst) DrawToggles(desk);
    if (slot == kSecond) {
      ImGui::SameLine();
      AlignRight(ImGui::CalcTextSize("Close B").x + desk.Units(12));
      if (PlacedButton(desk, "Close B##close B")) {
        desk.session.CloseSecond();
        return;
      }
    }
    const float y = top + desk.Units(26);
    DrawPicture(desk, slot, {all.x + pad, y, all.w - 2 * pad, top + part - y - (slot == kFirst && two ? 0 : pad)});
  }
}

namespace {

/// A name and what there is to say, on one line or more.
void Fact(Desk& desk, const char* name, const std::string& value, bool wrapped = false) {
  ImGui::TextDisabled("%s", name);
  ImGui::SameLine(4.6f * ImGui::GetFontSize() + desk.Units(8));
  const float rest = RestOfLine();
  if (wrapped) {
    ImGui::PushTextWrapPos(ImGui::GetCursorPosX() + rest);
    ImGui::TextUnformatted(value.c_str());
    ImGui::PopTextWrapPos();
  } else {
    ImGui::TextUnformatted(Shortened(value, rest).c_str());
  }
  Explain(value);
}

std::string SightWords(const SightReport& sight) {
  std::string out = fmt::format("{} of {} points clear", sight.clear, sight.lines.size());
  if (sight.outside > 0) out += fmt::format(", {} out of frame", sight.outside);
  if (sight.blocked > 0) {
    out += fmt::format(", {} hidden by ", sight.blocked);
    for (size_t i = 0; i < sight.blockers.size(); ++i) out += (i > 0 ? ", " : "") + sight.blockers[i].first;
  }
  return out;
}

std::string FramingWords(const FramingParts& framing) {
  if (!framing.in_front) return "the subject is behind the camera";
  return fmt::format("{:.2f} of tolerance: place {:.2f}, size {:+.2f} oct, angle {:.0f}°", framing.error,
                     framing.composition_heights, framing.size_octaves, framing.angle_deg);
}

std::string HeardWords(const FilmedTake& filmed, double t_s) {
  const Sentence* said = SentenceAt(filmed.take, t_s);
  if (said == nullptr) return "";
  for (const HeardSentence& heard : filmed.heard) {
    if (std::abs(heard.end_s - said->end_s) > 1e-6) continue;
    const std::string as = heard.text == said->text ? "so" : "\"" + heard.text + "\"";
    return fmt::format("\"{}\" (heard {} at {} s)", said->text, as, ShownTime(heard.heard_s));
  }
  return "\"" + said->text + "\"";
}

}  // namespace

void DrawMoment(Desk& desk) {
  if (desk.layout.moment.h < desk.Units(20)) return;
  const Panel panel(desk, "moment", desk.layout.moment);
  if (desk.session.filmed(kFirst) == nullptr) return;
  const auto& filmed = desk.Filmed(kFirst);
  const Take& take = filmed->take;
  const double t_s = desk.session.transport.t_s;
  const size_t frame = desk.Frame(kFirst);
  const Shot& shot = ShotAt(*filmed, frame, t_s);
  const SightReport& sight = desk.pictures.Sight(kFirst, filmed, frame, shot);
  const TimedIntent* asked = IntentAt(take, t_s);
  const TimedBeat* beat = BeatAt(take, t_s);
  const Shot& chosen = take.frames[frame].chosen;
  const bool roomy = desk.layout.moment.h > desk.Units(210) && desk.layout.moment.w > desk.Units(480);
  ImGui::PushFont(roomy ? desk.fonts.text : desk.fonts.small);
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, ImVec2(desk.Units(6), desk.Units(roomy ? 5 : 2)));
  Fact(desk, "beat", beat != nullptr ? beat->label : "none");
  Fact(desk, "asked", asked != nullptr ? ShortName(asked->shot) : "nothing; not scored for framing");
  const Match match = MatchOf(asked, chosen);
  const ImVec2 row = ImGui::GetCursorScreenPos();
  if (match == Match::kOtherSubject) {
    Hatch(ImGui::GetWindowDrawList(),
          {row.x + 4.6f * ImGui::GetFontSize(), row.y, RestOfLine() - 4.6f * ImGui::GetFontSize(), ImGui::GetTextLineHeight()},
          IM_COL32(213, 94, 0, 110), desk.Units(6), 1.5f);
  }
  Fact(desk, "chosen", asked != nullptr ? fmt::format("{}: {}", ShortName(chosen), WordFor(match)) : ShortName(chosen));
  Fact(desk, "framing", FramingWords(sight.framing));
  Fact(desk, "sight", SightWords(sight));
  if (const auto near = NearnessAt(take, filmed->card, t_s)) {
    std::string text = fmt::format("{:.0f} mm, {}", near->distance_m * 1000, near->pair);
    Fact(desk, "nearest", text);
  }
  const std::string said = HeardWords(*filmed, t_s);
  Fact(desk, "said", said.empty() ? "nothing" : said, true);
  ImGui::PopStyleVar();
  ImGui::PopFont();
}

}  // namespace dryrig
