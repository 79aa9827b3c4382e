// The window's program as a command line runs it, through `dryrig view`; on displays good and bad.
#include "tests/viewer/window_hand.h"

namespace dryrig {
namespace {

using testing::AllOf;
using testing::HasSubstr;

class WindowProgram : public testing::Test {
 protected:
  WindowProgram() { setenv("XDG_CONFIG_HOME", (folder_ / "config").c_str(), 1); }
  Ran View(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), "view");
    return RunDryrig(arguments);
  }
  /// Width and height as a PNG file's head has them.
  static std::pair<int, int> SizeOf(const std::string& png) {
    const auto number = [&](size_t at) {
      int value = 0;
      for (size_t i = at; i < at + 4; ++i) value = value * 256 + static_cast<unsigned char>(png[i]);
      return value;
    };
    return {number(16), number(20)};
  }

  Folder folder_;
};

TEST_F(WindowProgram, WritesAPictureOfTheWholeWindowAndEnds) {
  const OwnDisplay display;
  const std::string lesson = folder_.Write("short.yaml", kShortLesson);
  const Ran ran =
      View({lesson, "--policy", "tripod", "--compare", "topdown", "--at", "3", "--screenshot", (folder_ / "view.png").string()});
  EXPECT_EQ(ran.code, 0) << ran.err;
  const std::string png = ReadText(folder_ / "view.png");
  ASSERT_GT(png.size(), 20000u) << "more than an empty window";
  EXPECT_EQ(SizeOf(png), std::pair(1280, 720));
  EXPECT_FALSE(std::filesystem::exists(folder_ / "config")) << "a picture leaves no settings behind";
}

TEST_F(WindowProgram, SaysWhatIsWrongWithTheInputAndEndsWith2) {
  const OwnDisplay display;
  const std::string broken = folder_.Write("broken.yaml", "dryrig: lesson/1\ntitle: x\nbeets: []\n");
  const Ran ran = View({broken, "--screenshot", (folder_ / "view.png").string()});
  EXPECT_EQ(ran.code, 2);
  EXPECT_THAT(ran.err, AllOf(HasSubstr("dryrig-view: "), HasSubstr("broken.yaml:3:1: ")));
  EXPECT_FALSE(std::filesystem::exists(folder_ / "view.png"));
  EXPECT_EQ(View({"--nonsense"}).code, 2);
  EXPECT_EQ(View({"booklet", "--policy", "nobody"}).code, 2);
}

TEST_F(WindowProgram, WithoutADisplayItSaysSoAndEndsWith3) {
  unsetenv("DISPLAY");
  unsetenv("WAYLAND_DISPLAY");
  const Ran none = View({"booklet"});
  EXPECT_EQ(none.code, 3);
  EXPECT_THAT(none.err, AllOf(HasSubstr("no display"), HasSubstr("xvfb-run")));
  setenv("DISPLAY", ":64999", 1);
  const Ran dead = View({"booklet"});
  EXPECT_EQ(dead.code, 3);
  EXPECT_THAT(dead.err, HasSubstr("the display :64999 does not answer"));
  unsetenv("DISPLAY");
  const Ran help = View({"--help"});
  EXPECT_EQ(help.code, 0) << "help needs no display";
  EXPECT_THAT(help.out, HasSubstr("--screenshot"));
}

TEST_F(WindowProgram, WithoutOpenGlItSaysSoAndEndsWith3) {
  const OwnDisplay display({"-extension", "GLX"});
  const Ran ran = View({"booklet"});
  EXPECT_EQ(ran.code, 3);
  EXPECT_THAT(ran.err, HasSubstr("no window with OpenGL 3.3"));
}

TEST_F(WindowProgram, ADenseDisplayGivesLargerTextInALargerWindow) {
  const OwnDisplay display;
  // As desktops tell it: a resource of the root window. The server forgets it when its last client leaves.
  Display* desktop = XOpenDisplay(nullptr);
  ASSERT_NE(desktop, nullptr);
  const std::string resource = "Xft.dpi:\t192\n";
  XChangeProperty(desktop, DefaultRootWindow(desktop), XA_RESOURCE_MANAGER, XA_STRING, 8, PropModeReplace,
                  reinterpret_cast<const unsigned char*>(resource.data()), static_cast<int>(resource.size()));
  XSync(desktop, False);
  ViewOptions options;
  options.what = folder_.Write("short.yaml", kShortLesson);
  options.policy = PolicyChoice{"tripod", {}};
  options.settings = false;
  {
    App app(options);
    app.Frame();
    EXPECT_EQ(app.window().scale(), 2);
    EXPECT_EQ(app.desk().fonts.text->FontSize, 28);
    EXPECT_EQ(app.window().size().x, 2560);
    EXPECT_EQ(app.window().size().y, 1440);
  }
  XCloseDisplay(desktop);
}

}  // namespace
}  // namespace dryrig
