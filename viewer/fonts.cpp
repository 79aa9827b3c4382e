#include "viewer/fonts.h"

#include <cmath>
#include <filesystem>
#include <string>

#include "viewer/palette.h"

namespace dryrig {

namespace {

// Latin, Greek, Cyrillic, punctuation, super- and subscripts, arrows, operators, shapes.
constexpr ImWchar kRanges[] = {0x0020, 0x024F, 0x0370, 0x03FF, 0x0400, 0x045F, 0x2010, 0x2027, 0x2030, 0x203A,
                               0x2070, 0x209F, 0x2190, 0x2194, 0x2200, 0x2265, 0x25A0, 0x25CF, 0};
constexpr float kText = 14, kSmall = 12;

ImFont* Load(ImFontAtlas* atlas, const char* name, float pixels) {
  const std::string file = std::string("/usr/share/fonts/truetype/dejavu/") + name;
  std::error_code error;
  if (std::filesystem::exists(file, error)) {
    ImFontConfig config;
    config.OversampleH = 1;  // whole pixels: crisp at small sizes, and a small atlas
    config.PixelSnapH = true;
    if (ImFont* font = atlas->AddFontFromFileTTF(file.c_str(), pixels, &config, kRanges)) return font;
  }
  ImFontConfig config;
  config.SizePixels = pixels;
  ImFont* font = atlas->AddFontDefault(&config);
  font->FallbackChar = '?';
  return font;
}

ImVec4 Colour(ImU32 colour) {
  return ImGui::ColorConvertU32ToFloat4(colour);
}

}  // namespace

Fonts LoadFonts(float scale) {
  ImFontAtlas* atlas = ImGui::GetIO().Fonts;
  atlas->Clear();
  atlas->TexDesiredWidth = 1024;
  Fonts fonts;
  fonts.text = Load(atlas, "DejaVuSans.ttf", std::round(kText * scale));
  fonts.bold = Load(atlas, "DejaVuSans-Bold.ttf", std::round(kText * scale));
  fonts.small = Load(atlas, "DejaVuSans.ttf", std::round(kSmall * scale));
  fonts.mono = Load(atlas, "DejaVuSansMono.ttf", std::round(kText * scale));
  return fonts;
}

void SetStyle(float scale) {
  ImGuiStyle style;
  ImGui::StyleColorsLight(&style);
  style.WindowPadding = {8, 6};
  style.FramePadding = {6, 3};
  style.ItemSpacing = {6, 4};
  style.CellPadding = {3, 1};
  style.ScrollbarSize = 12;
  style.GrabMinSize = 8;
  style.WindowRounding = style.ChildRounding = style.ScrollbarRounding = 0;
  style.FrameRounding = style.GrabRounding = style.PopupRounding = 2;
  style.ScaleAllSizes(scale);
  style.WindowBorderSize = style.FrameBorderSize = 1;
  using namespace palette;
  const auto set = [&](ImGuiCol which, ImU32 colour) { style.Colors[which] = Colour(colour); };
  set(ImGuiCol_Text, kInk);
  set(ImGuiCol_TextDisabled, kFaintInk);
  set(ImGuiCol_WindowBg, kPaper);
  set(ImGuiCol_PopupBg, kPaper);
  set(ImGuiCol_Border, kLine);
  set(ImGuiCol_FrameBg, kWhite);
  set(ImGuiCol_FrameBgHovered, IM_COL32(236, 243, 248, 255));
  set(ImGuiCol_FrameBgActive, kChosenRow);
  set(ImGuiCol_TitleBg, kDesk);
  set(ImGuiCol_TitleBgActive, kDesk);
  set(ImGuiCol_Button, IM_COL32(236, 235, 231, 255));
  set(ImGuiCol_ButtonHovered, IM_COL32(219, 231, 240, 255));
  set(ImGuiCol_ButtonActive, kChosenRow);
  set(ImGuiCol_Header, kChosenRow);
  set(ImGuiCol_HeaderHovered, IM_COL32(219, 231, 240, 255));
  set(ImGuiCol_HeaderActive, kChosenRow);
  set(ImGuiCol_SliderGrab, IM_COL32(140, 190, 222, 255));  // the value stands over it
  set(ImGuiCol_SliderGrabActive, kSky);
  set(ImGuiCol_CheckMark, kBlue);
  set(ImGuiCol_PlotHistogram, IM_COL32(120, 178, 214, 255));
  set(ImGuiCol_ModalWindowDimBg, IM_COL32(30, 30, 30, 90));
  set(ImGuiCol_TextSelectedBg, IM_COL32(160, 204, 232, 255));
  ImGui::GetStyle() = style;
}

}  // namespace dryrig
