#include "viewer/window.h"

#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>
#include <dlfcn.h>
#include <epoxy/gl.h>
#include <fmt/format.h>
#include <link.h>

#include <algorithm>
#include <cfloat>
#include <cmath>
#include <cstdlib>

#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr const char* kShaderVersion = "#version 330 core";

std::string LastError() {
  const char* text = nullptr;
  glfwGetError(&text);
  return text != nullptr ? text : "no reason given";
}

bool HasDisplay() {
  const char* display = std::getenv("DISPLAY");
  const char* wayland = std::getenv("WAYLAND_DISPLAY");
  return (display != nullptr && *display != '\0') || (wayland != nullptr && *wayland != '\0');
}

/// Keeps the graphics driver's libraries where they are until the program ends. The toolkit would unload them with the window,
/// and what they had allocated (Mesa 22.3: three blocks, 240 bytes) would be taken for our leak, by nobody's name.
void KeepDriverLoaded() {
  std::vector<std::string> names;
  dl_iterate_phdr(
      [](dl_phdr_info* library, size_t, void* out) {
        if (library->dlpi_name != nullptr) static_cast<std::vector<std::string>*>(out)->emplace_back(library->dlpi_name);
        return 0;
      },
      &names);
  for (const std::string& name : names) {
    if (!name.empty()) dlopen(name.c_str(), RTLD_LAZY | RTLD_NOLOAD | RTLD_NODELETE);
  }
}

[[noreturn]] void FailWithoutDisplay() {
  const std::string why = LastError();
  if (!HasDisplay()) {
    throw RunError("no display: DISPLAY is not set; log in to a desktop, or put `xvfb-run -a` before the command");
  }
  const char* display = std::getenv("DISPLAY");
  throw RunError(fmt::format("the display {} does not answer: {}", display != nullptr ? display : "", why));
}

}  // namespace

struct Window::Callbacks {
  static Window* Of(GLFWwindow* window) {
    Window* self = static_cast<Window*>(glfwGetWindowUserPointer(window));
    self->stirred_ = true;
    return self;
  }
  static void Key(GLFWwindow* window, int key, int, int action, int mods) {
    Of(window)->events_.keys.push_back({key, mods, action != GLFW_RELEASE, action == GLFW_REPEAT});
  }
  static void Typed(GLFWwindow* window, unsigned int letter) {
    Of(window)->events_.typed.push_back(static_cast<char32_t>(letter));
  }
  static void Drop(GLFWwindow* window, int count, const char** paths) {
    Window* self = Of(window);
    for (int i = 0; i < count; ++i) self->events_.dropped.emplace_back(paths[i]);
  }
  static void Moved(GLFWwindow* window, double, double) { Of(window); }
  static void Wheel(GLFWwindow* window, double, double) { Of(window); }
  static void Button(GLFWwindow* window, int, int, int) { Of(window); }
  static void Resized(GLFWwindow* window, int, int) { Of(window); }
  static void Refresh(GLFWwindow* window) { Of(window); }
  static void Focus(GLFWwindow* window, int) { Of(window); }
};

Window::Window(const Options& options) : asked_scale_(options.scale) {
  if (glfwInit() != GLFW_TRUE) FailWithoutDisplay();
  glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
  glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
  glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
  glfwWindowHint(GLFW_OPENGL_FORWARD_COMPAT, GLFW_TRUE);
  int width = options.width, height = options.height;
  if (!options.exact) {
    float x = 1, y = 1;
    if (GLFWmonitor* monitor = glfwGetPrimaryMonitor()) glfwGetMonitorContentScale(monitor, &x, &y);
    const double by = options.scale > 0 ? options.scale : std::max(1.0f, x);
    width = static_cast<int>(std::lround(width * by));
    height = static_cast<int>(std::lround(height * by));
  }
  window_ = glfwCreateWindow(width, height, "Dryrig", nullptr, nullptr);
  if (window_ == nullptr) {
    const std::string why = LastError();
    glfwTerminate();
    throw RunError(
        fmt::format("no window with OpenGL 3.3: {}; update the graphics driver, or install libgl1-mesa-dri and set "
                    "LIBGL_ALWAYS_SOFTWARE=1",
                    why));
  }
  glfwMakeContextCurrent(window_);
  glfwSwapInterval(1);
  glfwSetWindowUserPointer(window_, this);
  glfwSetWindowSizeLimits(window_, 480, 320, GLFW_DONT_CARE, GLFW_DONT_CARE);
  // Before ImGui's own, which call these first.
  glfwSetKeyCallback(window_, Callbacks::Key);
  glfwSetCharCallback(window_, Callbacks::Typed);
  glfwSetDropCallback(window_, Callbacks::Drop);
  glfwSetCursorPosCallback(window_, Callbacks::Moved);
  glfwSetScrollCallback(window_, Callbacks::Wheel);
  glfwSetMouseButtonCallback(window_, Callbacks::Button);
  glfwSetFramebufferSizeCallback(window_, Callbacks::Resized);
  glfwSetWindowRefreshCallback(window_, Callbacks::Refresh);
  glfwSetWindowFocusCallback(window_, Callbacks::Focus);
  IMGUI_CHECKVERSION();
  ImGui::CreateContext();
  ImGuiIO& io = ImGui::GetIO();
  io.IniFilename = nullptr;  // the layout is ours; settings have a file of their own
  io.LogFilename = nullptr;
  ImGui_ImplGlfw_InitForOpenGL(window_, true);
  ImGui_ImplOpenGL3_Init(kShaderVersion);
}

Window::~Window() {
  KeepDriverLoaded();
  ImGui_ImplOpenGL3_Shutdown();
  ImGui_ImplGlfw_Shutdown();
  ImGui::DestroyContext();
  glfwDestroyWindow(window_);
  glfwTerminate();
}

bool Window::closing() const {
  return glfwWindowShouldClose(window_) != 0;
}
void Window::Close() {
  glfwSetWindowShouldClose(window_, GLFW_TRUE);
}

WindowEvents Window::Events(double wait_s) {
  stirred_ = false;
  events_ = {};
  if (wait_s > 0) {
    glfwWaitEventsTimeout(wait_s);
  } else {
    glfwPollEvents();
  }
  return std::move(events_);
}

void Window::Begin(bool mouse) {
  ImGui_ImplOpenGL3_NewFrame();
  ImGui_ImplGlfw_NewFrame();
  if (!mouse) ImGui::GetIO().MousePos = {-FLT_MAX, -FLT_MAX};
  ImGui::NewFrame();
}

void Window::Show(ImU32 ground, Picture* picture) {
  ImGui::Render();
  int width = 0, height = 0;
  glfwGetFramebufferSize(window_, &width, &height);
  glBindFramebuffer(GL_FRAMEBUFFER, 0);
  glDisable(GL_SCISSOR_TEST);
  glViewport(0, 0, width, height);
  const ImVec4 colour = ImGui::ColorConvertU32ToFloat4(ground);
  glClearColor(colour.x, colour.y, colour.z, 1);
  glClear(GL_COLOR_BUFFER_BIT);
  ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
  if (picture != nullptr && width > 0 && height > 0) {
    const auto row = static_cast<size_t>(width) * 3;
    std::vector<uint8_t> from_below(row * static_cast<size_t>(height));
    glPixelStorei(GL_PACK_ALIGNMENT, 1);
    glReadBuffer(GL_BACK);
    glReadPixels(0, 0, width, height, GL_RGB, GL_UNSIGNED_BYTE, from_below.data());
    *picture = {width, height, {}};
    picture->rgb.resize(from_below.size());
    for (size_t y = 0; y < static_cast<size_t>(height); ++y) {
      std::copy_n(from_below.data() + (static_cast<size_t>(height) - 1 - y) * row, row, picture->rgb.data() + y * row);
    }
  }
  glfwSwapBuffers(window_);
}

float Window::scale() const {
  if (asked_scale_ > 0) return static_cast<float>(asked_scale_);
  float x = 1, y = 1;
  glfwGetWindowContentScale(window_, &x, &y);
  constexpr float kStep = 0.25f, kMost = 4;  // fonts on whole steps; displays report odd numbers
  return std::clamp(std::round(x / pixels() / kStep) * kStep, 1.0f, kMost);
}

ImVec2 Window::size() const {
  int width = 0, height = 0;
  glfwGetWindowSize(window_, &width, &height);
  return {static_cast<float>(width), static_cast<float>(height)};
}

float Window::pixels() const {
  int width = 0, frame_width = 0, height = 0;
  glfwGetWindowSize(window_, &width, &height);
  glfwGetFramebufferSize(window_, &frame_width, &height);
  return width > 0 && frame_width > 0 ? static_cast<float>(frame_width) / static_cast<float>(width) : 1;
}

void Window::SetTitle(const std::string& title) {
  glfwSetWindowTitle(window_, title.c_str());
}

void Window::FontsChanged() {
  ImGui_ImplOpenGL3_DestroyFontsTexture();  // Begin makes what is missing
  ImGui_ImplOpenGL3_CreateFontsTexture();
}

}  // namespace dryrig
