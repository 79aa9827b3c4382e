#pragma once

#include <string>

namespace dryrig {

/// What of this program a take depends on, as hashes of source text: `libc=2.36 sim=... policy=... metrics=...`. Sim: rooms
/// scenes and sim, compiler and its flags, versions of the libraries. Policy: its source with all it includes and what implements
/// that; of one from outside its library's bytes. Does not see: a library changed without its version, the processor (whose
/// mathematics may differ in last digits).
std::string CodeOf(const std::string& policy);

/// Do two differ in the metrics alone, so that a take kept whole need only be scored again?
bool DifferInMetricsAlone(const std::string& a, const std::string& b);

}  // namespace dryrig
