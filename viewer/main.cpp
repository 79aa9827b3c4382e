#include <fmt/format.h>

#include <new>

#include "scenes/error.h"
#include "viewer/app.h"
#include "viewer/render/picture.h"

namespace {

int Fail(int code, const char* message) {
  fmt::print(stderr, "dryrig-view: {}\n", message);
  return code;
}

}  // namespace

int main(int argc, char** argv) {
  constexpr int kFine = 0, kBadInput = 2, kNotDone = 3;
  try {
    const dryrig::ParsedView parsed = dryrig::ParseView(argc, argv);
    if (parsed.exit_code) {
      fmt::print("{}", parsed.text);
      return *parsed.exit_code;
    }
    dryrig::App app(parsed.options);
    if (parsed.options.screenshot.empty()) {
      app.Run();
    } else {
      WritePng(app.Screenshot(), parsed.options.screenshot);
    }
    return kFine;
  } catch (const dryrig::InputError& error) {
    return Fail(kBadInput, error.what());
  } catch (const std::bad_alloc&) {
    return Fail(kNotDone, "out of memory");
  } catch (const std::exception& error) {
    return Fail(kNotDone, error.what());
  }
}
