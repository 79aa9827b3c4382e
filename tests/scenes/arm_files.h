// Files of arms for tests: written to a folder of their own, gone afterwards. All invented.
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <ctime>
#include <filesystem>
#include <fstream>
#include <string>

namespace dryrig {

/// A folder named for the running test.
class TestFolder {
 public:
  TestFolder() {
    const testing::TestInfo* test = testing::UnitTest::GetInstance()->current_test_info();
    path_ = std::filesystem::temp_directory_path() /
            (std::string("dryrig-") + test->test_suite_name() + "-" + test->name() + "-" + std::to_string(getpid()));
    std::filesystem::remove_all(path_);
    std::filesystem::create_directories(path_);
  }
  ~TestFolder() { std::filesystem::remove_all(path_); }
  TestFolder(const TestFolder&) = delete;
  TestFolder& operator=(const TestFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }
  /// Writes a file, folders included; returns its path.
  std::filesystem::path Write(const std::filesystem::path& name, const std::string& bytes) const {
    const std::filesystem::path file = path_ / name;
    std::filesystem::create_directories(file.parent_path());
    std::ofstream(file, std::ios::binary) << bytes;
    return file;
  }

 private:
  std::filesystem::path path_;
};

/// Processor time of this program so far: what other programs do meanwhile does not count.
inline double CpuSeconds() {
  return double(std::clock()) / CLOCKS_PER_SEC;
}
/// How much longer work may take under a sanitizer.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
inline constexpr double kSlowdown = 15;
#else
inline constexpr double kSlowdown = 1;
#endif

inline std::string Replaced(std::string text, const std::string& from, const std::string& to) {
  const size_t at = text.find(from);
  if (at == std::string::npos) throw std::logic_error("the text has no \"" + from + "\"");
  return text.replace(at, from.size(), to);
}

/// Four turning joints in a row along z, 0.2 m apart, complete in every respect. One line a link or joint.
inline const std::string kFourAxes = R"(<?xml version="1.0"?>
<robot name="four">
  <link name="base"><collision><origin xyz="0 0 0.1"/><geometry><box size="0.2 0.2 0.2"/></geometry></collision></link>
  <joint name="a" type="revolute"><parent link="base"/><child link="l1"/><origin xyz="0 0 0.2"/><axis xyz="0 0 1"/><limit lower="-3" upper="3" effort="90" velocity="2"/></joint>
  <link name="l1"><inertial><origin xyz="0 0 0.1"/><mass value="1"/><inertia ixx="0.01" iyy="0.01" izz="0.01" ixy="0" ixz="0" iyz="0"/></inertial><collision><origin xyz="0 0 0.1"/><geometry><cylinder radius="0.04" length="0.2"/></geometry></collision></link>
  <joint name="b" type="revolute"><parent link="l1"/><child link="l2"/><origin xyz="0 0 0.2"/><axis xyz="0 1 0"/><limit lower="-2" upper="2" effort="90" velocity="2"/></joint>
  <link name="l2"><inertial><origin xyz="0 0 0.1"/><mass value="1"/><inertia ixx="0.01" iyy="0.01" izz="0.01" ixy="0" ixz="0" iyz="0"/></inertial><collision><origin xyz="0 0 0.1"/><geometry><cylinder radius="0.04" length="0.2"/></geometry></collision></link>
  <joint name="c" type="revolute"><parent link="l2"/><child link="l3"/><origin xyz="0 0 0.2"/><axis xyz="0 1 0"/><limit lower="-2" upper="2" effort="90" velocity="2"/></joint>
  <link name="l3"><inertial><origin xyz="0 0 0.1"/><mass value="1"/><inertia ixx="0.01" iyy="0.01" izz="0.01" ixy="0" ixz="0" iyz="0"/></inertial><collision><origin xyz="0 0 0.1"/><geometry><cylinder radius="0.04" length="0.2"/></geometry></collision></link>
  <joint name="d" type="revolute"><parent link="l3"/><child link="l4"/><origin xyz="0 0 0.2"/><axis xyz="0 0 1"/><limit lower="-3" upper="3" effort="90" velocity="2"/><dynamics damping="0.5" friction="0.1"/></joint>
  <link name="l4"><inertial><origin xyz="0 0 0.1"/><mass value="1"/><inertia ixx="0.01" iyy="0.01" izz="0.01" ixy="0" ixz="0" iyz="0"/></inertial><collision><origin xyz="0 0 0.1"/><geometry><sphere radius="0.05"/></geometry></collision></link>
  <!-- more -->
</robot>
)";

inline const std::string kFourAxesArm = R"(dryrig: arm/1
title: Four
urdf: four.urdf
tip: l4
camera_mount: {at_mm: [0, 0, 100], rpy_deg: [0, 0, 90]}
home_deg: [10, 20, 30, 40]
limits: {acceleration_deg_per_s2: 300, jerk_deg_per_s3: 3000}
servo: {bandwidth_hz: 5, damping_ratio: 0.9, latency_ms: 10, payload_known: 0.5}
payload_kg: 2
)";

}  // namespace dryrig
