// Joints by whatever they are called.
#include <gmock/gmock.h>

#include <map>

#include "scenes/bvh.h"
#include "scenes/error.h"
#include "tests/scenes/bvh_files.h"
#include "tests/scenes/same_motion.h"

namespace dryrig {
namespace {

using testing::HasSubstr;

TEST(BvhNames, HabitsOfNamingReadToTheSameMotion) {
  const Recording wanted = ParseBvh(WriteBvh(), "figure.bvh");
  using Names = std::map<std::string, std::string>;
  const auto sided = [](Names names) {
    // A row stands for both sides: `#` is the side.
    return [names](const std::string& name) {
      const bool left = name.starts_with("Left"), right = name.starts_with("Right");
      const auto row = names.find(left ? name.substr(4) : right ? name.substr(5) : name);
      std::string out = row->second;
      for (const auto& [mark, l, r] :
           {std::tuple("#w", "left", "right"), {"#W", "Left", "Right"}, {"#L", "L", "R"}, {"#l", "l", "r"}}) {
        const size_t at = out.find(mark);
        if (at != std::string::npos) out.replace(at, 2, left ? l : r);
      }
      return out;
    };
  };
  const std::map<std::string, std::function<std::string(const std::string&)>> habits{
      {"a name space", [](const std::string& n) { return "rig:" + n; }},
      {"two name spaces", [](const std::string& n) { return "scene:hero:" + n; }},
      {"small letters",
       [](const std::string& n) {
         std::string out = n;
         for (char& c : out) c = static_cast<char>(std::tolower(c));
         return out;
       }},
      {"joints named by their places", sided({{"Hips", "Hips"},
                                              {"Spine", "Chest"},
                                              {"Spine1", "Chest2"},
                                              {"Neck", "Neck"},
                                              {"Head", "Head"},
                                              {"Shoulder", "#WCollar"},
                                              {"Arm", "#WShoulder"},
                                              {"ForeArm", "#WElbow"},
                                              {"Hand", "#WWrist"},
                                              {"UpLeg", "#WHip"},
                                              {"Leg", "#WKnee"},
                                              {"Foot", "#WAnkle"},
                                              {"ToeBase", "#WToe"}})},
      {"a prefix and blanks", sided({{"Hips", "Fig01 Pelvis"},
                                     {"Spine", "Fig01 Spine"},
                                     {"Spine1", "Fig01 Spine1"},
                                     {"Neck", "Fig01 Neck"},
                                     {"Head", "Fig01 Head"},
                                     {"Shoulder", "Fig01 #L Clavicle"},
                                     {"Arm", "Fig01 #L UpperArm"},
                                     {"ForeArm", "Fig01 #L Forearm"},
                                     {"Hand", "Fig01 #L Hand"},
                                     {"UpLeg", "Fig01 #L Thigh"},
                                     {"Leg", "Fig01 #L Calf"},
                                     {"Foot", "Fig01 #L Foot"},
                                     {"ToeBase", "Fig01 #L Toe0"}})},
      {"a side behind an underscore", sided({{"Hips", "pelvis"},
                                             {"Spine", "spine_01"},
                                             {"Spine1", "spine_02"},
                                             {"Neck", "neck_01"},
                                             {"Head", "head"},
                                             {"Shoulder", "clavicle_#l"},
                                             {"Arm", "upperarm_#l"},
                                             {"ForeArm", "lowerarm_#l"},
                                             {"Hand", "hand_#l"},
                                             {"UpLeg", "thigh_#l"},
                                             {"Leg", "calf_#l"},
                                             {"Foot", "foot_#l"},
                                             {"ToeBase", "ball_#l"}})},
      {"a side behind a point", sided({{"Hips", "hips"},
                                       {"Spine", "spine.001"},
                                       {"Spine1", "chest"},
                                       {"Neck", "neck"},
                                       {"Head", "head"},
                                       {"Shoulder", "shoulder.#L"},
                                       {"Arm", "upper_arm.#L"},
                                       {"ForeArm", "forearm.#L"},
                                       {"Hand", "hand.#L"},
                                       {"UpLeg", "thigh.#L"},
                                       {"Leg", "shin.#L"},
                                       {"Foot", "foot.#L"},
                                       {"ToeBase", "toe.#L"}})},
      {"a small letter before", sided({{"Hips", "hip"},
                                       {"Spine", "abdomen"},
                                       {"Spine1", "chest"},
                                       {"Neck", "neck"},
                                       {"Head", "head"},
                                       {"Shoulder", "#lCollar"},
                                       {"Arm", "#lShldr"},
                                       {"ForeArm", "#lForeArm"},
                                       {"Hand", "#lHand"},
                                       {"UpLeg", "#lThigh"},
                                       {"Leg", "#lShin"},
                                       {"Foot", "#lFoot"},
                                       {"ToeBase", "#lToe"}})},
      {"a side behind the word", sided({{"Hips", "SpineBase"},
                                        {"Spine", "SpineMid"},
                                        {"Spine1", "SpineUpper"},
                                        {"Neck", "Neck"},
                                        {"Head", "Head"},
                                        {"Shoulder", "Clavicle#W"},
                                        {"Arm", "Shoulder#W"},
                                        {"ForeArm", "Elbow#W"},
                                        {"Hand", "Wrist#W"},
                                        {"UpLeg", "Hip#W"},
                                        {"Leg", "Knee#W"},
                                        {"Foot", "Ankle#W"},
                                        {"ToeBase", "Foot#W"}})},
      {"a body model's", sided({{"Hips", "Pelvis"},
                                {"Spine", "Spine1"},
                                {"Spine1", "Spine2"},
                                {"Neck", "Neck"},
                                {"Head", "Head"},
                                {"Shoulder", "#L_Collar"},
                                {"Arm", "#L_Shoulder"},
                                {"ForeArm", "#L_Elbow"},
                                {"Hand", "#L_Wrist"},
                                {"UpLeg", "#L_Hip"},
                                {"Leg", "#L_Knee"},
                                {"Foot", "#L_Ankle"},
                                {"ToeBase", "#L_Foot"}})},
      {"upper and lower limbs", sided({{"Hips", "Hips"},
                                       {"Spine", "L3"},
                                       {"Spine1", "T8"},
                                       {"Neck", "Neck"},
                                       {"Head", "Head"},
                                       {"Shoulder", "#WShoulder"},
                                       {"Arm", "#WUpperArm"},
                                       {"ForeArm", "#WLowerArm"},
                                       {"Hand", "#WHand"},
                                       {"UpLeg", "#WUpperLeg"},
                                       {"Leg", "#WLowerLeg"},
                                       {"Foot", "#WFoot"},
                                       {"ToeBase", "#WToe"}})},
      {"bones of anatomy", sided({{"Hips", "root"},
                                  {"Spine", "lowerback"},
                                  {"Spine1", "thorax"},
                                  {"Neck", "lowerneck"},
                                  {"Head", "head"},
                                  {"Shoulder", "#lclavicle"},
                                  {"Arm", "#lhumerus"},
                                  {"ForeArm", "#lradius"},
                                  {"Hand", "#lwrist"},
                                  {"UpLeg", "#lfemur"},
                                  {"Leg", "#ltibia"},
                                  {"Foot", "#lfoot"},
                                  {"ToeBase", "#ltoes"}})},
      {"side and limb behind underscores", sided({{"Hips", "Hips"},
                                                  {"Spine", "Spine"},
                                                  {"Spine1", "Chest"},
                                                  {"Neck", "Neck"},
                                                  {"Head", "Head"},
                                                  {"Shoulder", "Shoulder_#L"},
                                                  {"Arm", "UpperArm_#L"},
                                                  {"ForeArm", "LowerArm_#L"},
                                                  {"Hand", "Hand_#L"},
                                                  {"UpLeg", "UpperLeg_#L"},
                                                  {"Leg", "LowerLeg_#L"},
                                                  {"Foot", "Foot_#L"},
                                                  {"ToeBase", "Toes_#L"}})},
      {"numbers and prefixes of a rig", sided({{"Hips", "JNT_Hips_00"},
                                               {"Spine", "JNT_Spine_00"},
                                               {"Spine1", "JNT_Spine_01"},
                                               {"Neck", "JNT_Neck_00"},
                                               {"Head", "JNT_Head_00"},
                                               {"Shoulder", "JNT_#L_Clavicle_00"},
                                               {"Arm", "JNT_#L_UpArm_00"},
                                               {"ForeArm", "JNT_#L_LowArm_00"},
                                               {"Hand", "JNT_#L_Hand_00"},
                                               {"UpLeg", "JNT_#L_UpLeg_00"},
                                               {"Leg", "JNT_#L_LowLeg_00"},
                                               {"Foot", "JNT_#L_Foot_00"},
                                               {"ToeBase", "JNT_#L_Toe_00"}})},
  };
  for (const auto& [habit, name] : habits) {
    SCOPED_TRACE(habit);
    BvhStyle style;
    style.name = name;
    ExpectSameMotion(ParseBvh(WriteBvh(style), "figure.bvh"), wanted);
  }
}

TEST(BvhNames, TheTreeTellsWhatOneNameOfALimbDoesNot) {
  const Recording wanted = ParseBvh(WriteBvh(), "figure.bvh");
  for (const std::string odd : {"LeftArm", "LeftForeArm", "RightLeg", "LeftFoot", "RightUpLeg", "Spine1", "Hips"}) {
    SCOPED_TRACE(odd);
    BvhStyle style;
    style.name = [&](const std::string& n) { return n == odd ? (n.starts_with("Right") ? "Right Gelenk" : "Gelenk") : n; };
    ExpectSameMotion(ParseBvh(WriteBvh(style), "figure.bvh"), wanted);
  }
  BvhStyle style;  // neither neck nor head by name
  style.name = [](const std::string& n) { return n == "Neck" ? "Spine2" : n == "Head" ? "Spine3" : n; };
  ExpectSameMotion(ParseBvh(WriteBvh(style), "figure.bvh"), wanted);
}

TEST(BvhNames, AMappingFileNamesWhatGuessingCannot) {
  BvhStyle style;
  style.name = [](const std::string& n) {
    return n == "LeftForeArm" ? std::string("Gelenk 7") : n == "LeftHand" ? std::string("Gelenk 8") : n;
  };
  const std::string text = WriteBvh(style);
  const auto refused = [&](const JointMapping& mapping) {
    try {
      ParseBvh(text, "figure.bvh", mapping);
    } catch (const InputError& e) {
      return std::string(e.what());
    }
    return std::string("read without a word");
  };
  EXPECT_THAT(refused({}), testing::AllOf(HasSubstr("figure.bvh: nothing in it is known as left_elbow"), HasSubstr("Gelenk 7"),
                                          HasSubstr("name them in a mapping file")));
  const JointMapping mapping =
      ParseJointMapping("dryrig: mapping/1\njoints: {left_elbow: Gelenk 7, left_wrist: Gelenk 8}\n", "own.yaml");
  ExpectSameMotion(ParseBvh(text, "figure.bvh", mapping), ParseBvh(WriteBvh(), "figure.bvh"));
  EXPECT_THAT(refused(ParseJointMapping("dryrig: mapping/1\njoints: {left_elbow: Gelenk 9}\n", "own.yaml")),
              testing::AllOf(HasSubstr("own.yaml: left_elbow: the file has no joint \"Gelenk 9\""),
                             HasSubstr("did you mean \"Gelenk 7\"?")));
}

}  // namespace
}  // namespace dryrig
