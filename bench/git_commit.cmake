cmake_minimum_required(VERSION 3.25)
execute_process(COMMAND git -C ${SOURCE} describe --always --dirty --abbrev=12 --exclude=* OUTPUT_VARIABLE commit OUTPUT_STRIP_TRAILING_WHITESPACE
                ERROR_QUIET)
if(NOT commit)
  set(commit unknown)
endif()
file(CONFIGURE OUTPUT ${HEADER} CONTENT "#define DRYRIG_GIT \"@commit@\"\n" @ONLY)
