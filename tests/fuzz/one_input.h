#pragma once

#include <cstddef>
#include <cstdint>
#include <string>

#include "scenes/error.h"

namespace dryrig {

/// Gives bytes to a reader. It may refuse them, with an InputError that has words; anything else is a finding.
template <class Read>
int OneInput(const uint8_t* data, size_t size, Read read) {
  try {
    read(std::string(reinterpret_cast<const char*>(data), size));
  } catch (const InputError& error) {
    if (*error.what() == '\0') __builtin_trap();
  }
  return 0;
}

}  // namespace dryrig
