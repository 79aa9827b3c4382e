#pragma once

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <stdexcept>
#include <string>
#include <thread>

#include "tests/bench/child.h"
#include "viewer/app.h"

// Last: X11's macros are words of ours.
#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>
#include <X11/Xatom.h>
#include <X11/Xlib.h>
#include <X11/extensions/XTest.h>
#include <X11/keysym.h>
#undef None
#undef Bool
#undef Status
#undef Success

extern "C" unsigned long glfwGetX11Window(GLFWwindow* window);  // its header would want Xrandr's too

namespace dryrig {

/// An X server of the test's own, without a screen to see; DISPLAY names it until the end. So the tests need no display, and
/// disturb none.
class OwnDisplay {
 public:
  explicit OwnDisplay(const std::vector<std::string>& more = {}) {
    std::array<int, 2> pipe{};
    if (::pipe(pipe.data()) != 0) throw std::runtime_error("no pipe");
    std::vector<std::string> words{"Xvfb",      "-displayfd", std::to_string(pipe[1]), "-screen", "0", "2600x1500x24",
                                   "-nolisten", "tcp"};
    words.insert(words.end(), more.begin(), more.end());
    if (more.empty()) words.insert(words.end(), {"-dpi", "96"});
    std::vector<char*> argv;
    for (std::string& word : words) argv.push_back(word.data());
    argv.push_back(nullptr);
    pid_ = fork();
    if (pid_ == 0) {
      prctl(PR_SET_PDEATHSIG, SIGTERM);  // a test that crashes leaves no server behind
      const int nowhere = open("/dev/null", O_RDWR);
      for (const int fd : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) dup2(nowhere, fd);
      execvp("Xvfb", argv.data());
      _exit(127);
    }
    close(pipe[1]);
    if (pid_ < 0) throw std::runtime_error("no process for Xvfb");
    std::string number;
    for (char c = 0; read(pipe[0], &c, 1) == 1 && c != '\n';) number += c;
    close(pipe[0]);
    if (number.empty()) throw std::runtime_error("Xvfb gives no display; install the package xvfb");
    setenv("DISPLAY", (":" + number).c_str(), 1);
  }
  ~OwnDisplay() {
    kill(pid_, SIGTERM);
    waitpid(pid_, nullptr, 0);
    unsetenv("DISPLAY");
  }
  OwnDisplay(const OwnDisplay&) = delete;
  OwnDisplay& operator=(const OwnDisplay&) = delete;

 private:
  pid_t pid_ = 0;
};

/// Pictures that the tests leave to be looked at.
inline std::filesystem::path TestPictures() {
  const std::filesystem::path folder = std::filesystem::path(DRYRIG_PROGRAM).parent_path().parent_path() / "test-pictures";
  std::filesystem::create_directories(folder);
  return folder;
}

/// Share of the pixels in a rectangle that are within 6 steps a channel of this colour.
inline double ShareOf(const Picture& picture, const Rect& rect, ImU32 colour) {
  int same = 0, all = 0;
  for (int y = static_cast<int>(rect.y); y < static_cast<int>(rect.bottom()); ++y) {
    for (int x = static_cast<int>(rect.x); x < static_cast<int>(rect.right()); ++x) {
      const uint8_t* at =
          &picture.rgb[3 * (static_cast<size_t>(y) * static_cast<size_t>(picture.width) + static_cast<size_t>(x))];
      ++all;
      same += std::abs(at[0] - static_cast<int>(colour & 255)) <= 6 &&
              std::abs(at[1] - static_cast<int>(colour >> 8 & 255)) <= 6 &&
              std::abs(at[2] - static_cast<int>(colour >> 16 & 255)) <= 6;
    }
  }
  return all > 0 ? static_cast<double>(same) / all : 0;
}
/// Share of the pixels in a rectangle that differ between two pictures by more than 6 steps in a channel.
inline double ShareChanged(const Picture& a, const Picture& b, const Rect& rect) {
  int changed = 0, all = 0;
  for (int y = static_cast<int>(rect.y); y < static_cast<int>(rect.bottom()); ++y) {
    for (int x = static_cast<int>(rect.x); x < static_cast<int>(rect.right()); ++x) {
      const size_t at = 3 * (static_cast<size_t>(y) * static_cast<size_t>(a.width) + static_cast<size_t>(x));
      ++all;
      changed += std::abs(a.rgb[at] - b.rgb[at]) > 6 || std::abs(a.rgb[at + 1] - b.rgb[at + 1]) > 6 ||
                 std::abs(a.rgb[at + 2] - b.rgb[at + 2]) > 6;
    }
  }
  return all > 0 ? static_cast<double>(changed) / all : 0;
}

/// A window on a display of its own, and a hand at mouse and keyboard: every event goes through the X server.
class WindowTest : public testing::Test {
 protected:
  WindowTest() {
    setenv("XDG_CONFIG_HOME", (folder_ / "config").c_str(), 1);
    hand_ = XOpenDisplay(nullptr);
    if (hand_ == nullptr) throw std::runtime_error("the display does not answer");
  }
  ~WindowTest() override {
    app_.reset();
    XCloseDisplay(hand_);
  }

  /// The short lesson by a policy that is quick.
  ViewOptions ShortLesson() {
    ViewOptions options;
    options.what = folder_.Write("short.yaml", kShortLesson);
    options.policy = PolicyChoice{"tripod", {}};
    options.width = 1280;
    options.height = 720;
    return options;
  }
  void Start(const ViewOptions& options) {
    app_.reset();
    app_ = std::make_unique<App>(options);
    WaitUntil([&] { return !desk().session.busy(); });
    Frames(4);
  }
  Desk& desk() { return app_->desk(); }
  Session& session() { return desk().session; }

  void Frames(int count) {
    for (int i = 0; i < count; ++i) app_->Frame();
  }
  template <class Until>
  bool WaitUntil(Until until) {
    const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(60);
    while (!until() && std::chrono::steady_clock::now() < give_up) app_->Frame();
    Frames(3);
    return until();
  }
  bool Finish() {
    return WaitUntil([&] { return !session().busy(); });
  }
  Rect Place(const std::string& name) {
    const auto rect = desk().places.Find(name);
    if (!rect) ADD_FAILURE() << "no \"" << name << "\" in the window";
    return rect.value_or(Rect{});
  }
  bool Has(const std::string& name) { return desk().places.Find(name).has_value(); }

  void MoveTo(float x, float y) {
    int root_x = 0, root_y = 0;
    ::Window child = 0;
    XTranslateCoordinates(hand_, XWindow(), DefaultRootWindow(hand_), static_cast<int>(x), static_cast<int>(y), &root_x, &root_y,
                          &child);
    XTestFakeMotionEvent(hand_, -1, root_x, root_y, CurrentTime);
    Arrive();
  }
  void Button(unsigned int button, bool down) {
    XTestFakeButtonEvent(hand_, button, down ? True : False, CurrentTime);
    Arrive();
  }
  void ClickAt(float x, float y, unsigned int button = 1) {
    MoveTo(x, y);
    Button(button, true);
    Button(button, false);
    Frames(2);
  }
  void Click(const std::string& name, unsigned int button = 1) {
    const Rect rect = Place(name);
    ClickAt(rect.x + 0.5f * rect.w, rect.y + 0.5f * rect.h, button);
  }
  void Drag(ImVec2 from, ImVec2 to, unsigned int button = 1) {
    MoveTo(from.x, from.y);
    Button(button, true);
    for (int i = 1; i <= 4; ++i)
      MoveTo(from.x + 0.25f * static_cast<float>(i) * (to.x - from.x), from.y + 0.25f * static_cast<float>(i) * (to.y - from.y));
    Button(button, false);
    Frames(2);
  }
  void Wheel(bool up) {
    Button(up ? 4 : 5, true);
    Button(up ? 4 : 5, false);
  }
  void SendKey(KeySym key, bool down) {
    XTestFakeKeyEvent(hand_, XKeysymToKeycode(hand_, key), down ? True : False, CurrentTime);
  }
  void KeyDown(KeySym key, bool down) {
    SendKey(key, down);
    Arrive();
  }
  void Key(KeySym key, KeySym with = 0) {
    if (with != 0) KeyDown(with, true);
    KeyDown(key, true);
    KeyDown(key, false);
    if (with != 0) KeyDown(with, false);
  }
  /// Letters, digits and what stands in paths; as fast as the window takes them.
  void Type(const std::string& text) {
    for (const char c : text) {
      const bool shifted = std::isupper(static_cast<unsigned char>(c)) || c == '_' || c == ':' || c == '?' || c == '+';
      const auto key = static_cast<KeySym>(static_cast<unsigned char>(c));
      if (shifted) SendKey(XK_Shift_L, true);
      SendKey(key, true);
      SendKey(key, false);
      if (shifted) SendKey(XK_Shift_L, false);
    }
    Arrive();
  }
  void ResizeTo(int width, int height) {
    XResizeWindow(hand_, XWindow(), static_cast<unsigned>(width), static_cast<unsigned>(height));
    XSync(hand_, False);
    WaitUntil([&] {
      return app_->window().size().x == static_cast<float>(width) && app_->window().size().y == static_cast<float>(height);
    });
  }

  /// A file dragged from another program and let fall on the window, by the X desktop's protocol for that (XDND).
  void Drop(const std::string& path) {
    const auto atom = [&](const char* name) { return XInternAtom(hand_, name, False); };
    const ::Window root = DefaultRootWindow(hand_), source = XCreateSimpleWindow(hand_, root, 0, 0, 1, 1, 0, 0, 0);
    XSetSelectionOwner(hand_, atom("XdndSelection"), source, CurrentTime);
    const auto send = [&](const char* what, long a, long b, long c, long d) {
      XEvent event{};
      event.xclient.type = ClientMessage;
      event.xclient.window = XWindow();
      event.xclient.message_type = atom(what);
      event.xclient.format = 32;
      const std::array<long, 5> data{static_cast<long>(source), a, b, c, d};
      std::copy(data.begin(), data.end(), event.xclient.data.l);
      XSendEvent(hand_, XWindow(), False, NoEventMask, &event);
      Arrive();
    };
    send("XdndEnter", 5L << 24, static_cast<long>(atom("text/uri-list")), 0, 0);
    send("XdndPosition", 0, 300L << 16 | 300, CurrentTime, static_cast<long>(atom("XdndActionCopy")));
    send("XdndDrop", 0, CurrentTime, 0, 0);
    const std::string uri = "file://" + path + "\r\n";
    bool handed = false;
    WaitUntil([&] {
      while (XPending(hand_) > 0) {
        XEvent event;
        XNextEvent(hand_, &event);
        if (event.type != SelectionRequest) continue;
        const XSelectionRequestEvent& asked = event.xselectionrequest;
        XChangeProperty(hand_, asked.requestor, asked.property, asked.target, 8, PropModeReplace,
                        reinterpret_cast<const unsigned char*>(uri.c_str()), static_cast<int>(uri.size()));
        XEvent answer{};
        answer.xselection.type = SelectionNotify;
        answer.xselection.requestor = asked.requestor;
        answer.xselection.selection = asked.selection;
        answer.xselection.target = asked.target;
        answer.xselection.property = asked.property;
        XSendEvent(hand_, asked.requestor, False, NoEventMask, &answer);
        XSync(hand_, False);
        handed = true;
      }
      return handed;
    });
  }

  /// What the window shows now; kept under `name` to be looked at, if one is given.
  Picture Shot(const std::string& name = "") {
    Picture picture;
    MoveTo(2, 2);
    Frames(3);
    app_->Frame(0, &picture);
    if (!name.empty()) WritePng(picture, TestPictures() / ("window-" + name + ".png"));
    return picture;
  }

  ::Window XWindow() { return glfwGetX11Window(app_->window().handle()); }
  void Arrive() {
    XSync(hand_, False);
    Frames(1);
  }

  Folder folder_;
  OwnDisplay display_;
  std::unique_ptr<App> app_;
  Display* hand_ = nullptr;
};

}  // namespace dryrig
