# Writes dryrig/version.h: the version, and a hash of the headers that a policy of someone else's is compiled against. The header is
# touched only when it changed.
cmake_minimum_required(VERSION 3.25)
file(GLOB headers RELATIVE ${SOURCE} ${SOURCE}/scenes/*.h ${SOURCE}/sim/*.h ${SOURCE}/policies/*.h ${SOURCE}/policies/outside/*.h)
list(SORT headers)
set(all "")
foreach(header ${headers})
  file(SHA256 ${SOURCE}/${header} hash)
  string(APPEND all "${header} ${hash}\n")
endforeach()
string(SHA256 hash "${all}")
string(SUBSTRING ${hash} 0 12 hash)
file(CONFIGURE OUTPUT ${HEADER} CONTENT "#pragma once

#define DRYRIG_INTERFACE_VERSION \"@VERSION@\"
#define DRYRIG_INTERFACE_HASH \"@hash@\"
" @ONLY)
