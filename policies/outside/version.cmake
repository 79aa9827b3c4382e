# Writes dryrig/version.h: the version, and a hash of the headers that a policy of someone else's is compiled against. The header is
# touched only when it changed.
cmake_minimum_required(VERSION 3.25)
file(GLOB headers RELATIVE ${SOURCE} ${SOURCE}/scenes/*.h ${SOURCE}/sim/*.h ${SOURCE}/policies/*.h ${SOURCE}/policies/outside/*.h)
include(${SOURCE}/policies/outside/hash_files.cmake)
hash_files(hash ${headers})
file(CONFIGURE OUTPUT ${HEADER} CONTENT "#pragma once

#define DRYRIG_INTERFACE_VERSION \"@VERSION@\"
#define DRYRIG_INTERFACE_HASH \"@hash@\"
" @ONLY)
