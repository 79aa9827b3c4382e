# Writes a header with a hash of the source of each part of the program whose change makes stored takes stale: the simulator (rooms
# scenes and sim, the compiler, its flags, the libraries' versions), each policy (its source, what that includes and what implements
# it) and the metrics. A source of policies/ that belongs to no policy alone counts for all of them. The header is touched only when
# it changed.
cmake_minimum_required(VERSION 3.25)

include(${CMAKE_CURRENT_LIST_DIR}/../policies/outside/hash_files.cmake)

function(sources_of out)
  set(all "")
  foreach(room ${ARGN})
    file(GLOB found RELATIVE ${SOURCE} ${SOURCE}/${room}/*.h ${SOURCE}/${room}/*.cpp)
    list(APPEND all ${found})
  endforeach()
  set(${out} ${all} PARENT_SCOPE)
endfunction()

# The headers of policies/ that a file includes, in its order.
function(includes_of out file)
  file(STRINGS ${SOURCE}/${file} lines REGEX "^#include \"policies/")
  list(TRANSFORM lines REPLACE "^#include \"([^\"]+)\".*" "\\1")
  set(${out} ${lines} PARENT_SCOPE)
endfunction()

sources_of(world scenes sim)
hash_files(sim ${world} CMakeLists.txt)
string(SHA256 sim "${sim} ${BUILT_BY}")
string(SUBSTRING ${sim} 0 16 sim)
sources_of(measures metrics)
hash_files(metrics ${measures})

sources_of(room policies)
file(STRINGS ${SOURCE}/policies/table.cpp names REGEX "PolicyEntry{\"")
list(TRANSFORM names REPLACE ".*PolicyEntry{\"([a-z0-9_-]+)\".*" "\\1")
set(glue policies/makers.h policies/table.h policies/choice.h)
# A source implements the header that it includes first.
foreach(file ${room})
  string(REGEX REPLACE "^policies/(.*)\\.cpp$" "\\1" stem ${file})
  if(file MATCHES "\\.cpp$" AND NOT stem IN_LIST names)
    includes_of(headers ${file})
    list(POP_FRONT headers first)
    if(first AND NOT first IN_LIST glue)
      list(APPEND implements_${first} ${file})
    endif()
  endif()
endforeach()

set(owned "")
foreach(name ${names})
  set(open policies/${name}.cpp)
  set(reached_${name} "")
  if(NOT EXISTS ${SOURCE}/policies/${name}.cpp)
    set(open ${room})
  endif()
  while(open)
    list(POP_FRONT open file)
    if(file IN_LIST reached_${name} OR file IN_LIST glue)
      continue()
    endif()
    list(APPEND reached_${name} ${file})
    includes_of(headers ${file})
    list(APPEND open ${headers} ${implements_${file}})
  endwhile()
  list(APPEND owned ${reached_${name}})
endforeach()

set(lines "")
foreach(name ${names})
  set(counted ${reached_${name}})
  foreach(file ${room})
    if(NOT file IN_LIST owned)
      list(APPEND counted ${file})
    endif()
  endforeach()
  list(REMOVE_DUPLICATES counted)
  hash_files(hash ${counted})
  string(APPEND lines "    {\"${name}\", \"${hash}\"},\n")
endforeach()
file(CONFIGURE OUTPUT ${HEADER} CONTENT "#pragma once

#include <string_view>
#include <utility>

namespace dryrig {

inline constexpr std::string_view kSimCode = \"@sim@\", kMetricsCode = \"@metrics@\";
inline constexpr std::pair<std::string_view, std::string_view> kPolicyCode[] = {
@lines@};

}  // namespace dryrig
" @ONLY)
