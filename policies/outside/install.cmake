# What `cmake --install` lays down: the programs, the scenes, and for policies of one's own the rooms' libraries and headers.
include(CMakePackageConfigHelpers)
install(TARGETS dryrig dryrig-view RUNTIME DESTINATION bin)
install(DIRECTORY scenes/ DESTINATION share/dryrig/scenes FILES_MATCHING PATTERN "*.yaml" PATTERN "*.urdf" PATTERN "*.stl" PATTERN "*.obj" PATTERN "*.bvh"
        PATTERN "*.csv" PATTERN "*.vtt" PATTERN "*.srt")
foreach(room scenes sim policies metrics)
  install(DIRECTORY ${room}/ DESTINATION include/dryrig/${room} FILES_MATCHING PATTERN "*.h" PATTERN "outside" EXCLUDE)
endforeach()
install(FILES policies/outside/own_policy.h DESTINATION include/dryrig RENAME policy.h)
install(FILES ${CMAKE_BINARY_DIR}/generated/dryrig/version.h DESTINATION include/dryrig)
install(TARGETS dryrig_flags dryrig_scenes dryrig_sim dryrig_policies dryrig_metrics EXPORT DryrigTargets ARCHIVE DESTINATION lib)
install(EXPORT DryrigTargets NAMESPACE Dryrig:: DESTINATION lib/cmake/Dryrig)
configure_package_config_file(policies/outside/DryrigConfig.cmake.in ${CMAKE_BINARY_DIR}/generated/DryrigConfig.cmake
                              INSTALL_DESTINATION lib/cmake/Dryrig)
write_basic_package_version_file(${CMAKE_BINARY_DIR}/generated/DryrigConfigVersion.cmake COMPATIBILITY ExactVersion)
install(FILES ${CMAKE_BINARY_DIR}/generated/DryrigConfig.cmake ${CMAKE_BINARY_DIR}/generated/DryrigConfigVersion.cmake
        DESTINATION lib/cmake/Dryrig)
