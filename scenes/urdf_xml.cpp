#include "scenes/urdf_xml.h"

#include <console_bridge/console.h>
#include <fmt/format.h>
#include <tinyxml.h>
#include <urdf_parser/urdf_parser.h>

#include <algorithm>
#include <cmath>
#include <locale>
#include <mutex>
#include <set>
#include <sstream>
#include <string_view>
#include <vector>

namespace dryrig {

namespace {

constexpr int kMostDepth = 60;  // elements within elements; TinyXML descends by recursion
constexpr int kMostLinks = 2000;
constexpr size_t kMostAttribute = 1000;  // bytes

/// A number that URDF knows, and what it may be.
struct NumberRule {
  std::string_view element, attribute;
  int count;
  double lo, hi;
};
constexpr NumberRule kNumberRules[] = {
    {"origin", "xyz", 3, -1e3, 1e3},     {"origin", "rpy", 3, -1e3, 1e3},       {"axis", "xyz", 3, -1e6, 1e6},
    {"mass", "value", 1, 0, 1e4},        {"inertia", "ixx", 1, -1e6, 1e6},      {"inertia", "ixy", 1, -1e6, 1e6},
    {"inertia", "ixz", 1, -1e6, 1e6},    {"inertia", "iyy", 1, -1e6, 1e6},      {"inertia", "iyz", 1, -1e6, 1e6},
    {"inertia", "izz", 1, -1e6, 1e6},    {"limit", "lower", 1, -1e6, 1e6},      {"limit", "upper", 1, -1e6, 1e6},
    {"limit", "effort", 1, 0, 1e6},      {"limit", "velocity", 1, 0, 1e6},      {"dynamics", "damping", 1, 0, 1e6},
    {"dynamics", "friction", 1, 0, 1e6}, {"mimic", "multiplier", 1, -1e6, 1e6}, {"mimic", "offset", 1, -1e6, 1e6},
    {"box", "size", 3, 0, 100},          {"sphere", "radius", 1, 0, 100},       {"cylinder", "radius", 1, 0, 100},
    {"cylinder", "length", 1, 0, 100},   {"mesh", "scale", 3, -1e6, 1e6},
};
const std::set<std::string> kLinkParts{"inertial", "visual", "collision"};
const std::set<std::string> kJointParts{"origin", "parent", "child", "axis", "limit", "dynamics", "mimic"};
const std::vector<std::string> kGeometries{"box", "sphere", "cylinder", "mesh"};

/// Line of `at`, 1-based.
int LineOf(std::string_view text, size_t at) {
  return 1 + int(std::count(text.begin(), text.begin() + long(at), '\n'));
}

/// Length of the UTF-8 character at text[i], 0 if it is none.
size_t Utf8Length(std::string_view text, size_t i) {
  const auto byte = [&](size_t k) { return i + k < text.size() ? static_cast<unsigned char>(text[i + k]) : 0u; };
  const unsigned first = byte(0);
  if (first < 0x80) return 1;
  const size_t length = first >= 0xC2 && first < 0xE0   ? 2
                        : first >= 0xE0 && first < 0xF0 ? 3
                        : first >= 0xF0 && first < 0xF5 ? 4
                                                        : 0;
  for (size_t k = 1; k < length; ++k) {
    if ((byte(k) & 0xC0u) != 0x80u) return 0;
  }
  return length;
}

/// Where `what` ends from `from` on; the end of the text if it never comes.
size_t After(std::string_view text, std::string_view what, size_t from) {
  const size_t at = text.find(what, from);
  return at == std::string_view::npos ? text.size() : at + what.size();
}

/// What must hold before a parser that works by recursion sees the text.
void RequireSoundText(std::string_view text, const std::string& file) {
  for (size_t i = 0; i < text.size();) {
    const size_t length = text[i] == '\0' ? 0 : Utf8Length(text, i);
    if (length == 0) {
      throw InputError({file, LineOf(text, i), 0}, fmt::format("byte 0x{:02X} is not UTF-8 text; save the URDF as UTF-8",
                                                               static_cast<unsigned char>(text[i])));
    }
    i += length;
  }
  int depth = 0;
  for (size_t i = text.find('<'); i < text.size(); i = text.find('<', i)) {
    if (text.substr(i, 4) == "<!--") {
      i = After(text, "-->", i + 4);
    } else if (text.substr(i, 9) == "<![CDATA[") {
      i = After(text, "]]>", i + 9);
    } else if (text.substr(i, 2) == "<?" || text.substr(i, 2) == "<!") {
      i = After(text, ">", i + 2);
    } else {
      const bool closes = text.substr(i, 2) == "</";
      const size_t start = i++;
      while (i < text.size() && text[i] != '>') {
        i = text[i] == '"' || text[i] == '\'' ? After(text, text.substr(i, 1), i + 1) : i + 1;
      }
      const bool empty = i < text.size() && text[i - 1] == '/';
      if (!empty) depth += closes ? -1 : 1;
      if (depth > kMostDepth) {
        throw InputError({file, LineOf(text, start), 0},
                         fmt::format("elements stand more than {} deep in each other; a URDF needs no more than 5", kMostDepth));
      }
    }
  }
}

/// For messages: one short line.
std::string Shown(std::string_view value) {
  std::string shown(value.substr(0, 60));
  for (char& c : shown) {
    if (static_cast<unsigned char>(c) < 0x20) c = ' ';
  }
  while (!shown.empty() && value.size() > 60 && (static_cast<unsigned char>(shown.back()) & 0x80u) != 0) shown.pop_back();
  return value.size() > 60 ? shown + "..." : shown;
}

/// Reads, checks and rewrites numbers with single spaces, which is all that urdfdom can split.
void CheckNumbers(TiXmlElement* element, const NumberRule& rule, const std::string& file, const std::string& who) {
  const std::string attribute(rule.attribute);
  const char* value = element->Attribute(attribute.c_str());
  if (value == nullptr) return;
  const auto fail = [&](const std::string& what) {
    throw InputError({file, element->Row(), 0},
                     fmt::format("{}: {} {} \"{}\" {}", who, rule.element, attribute, Shown(value), what));
  };
  std::istringstream words(value);
  words.imbue(std::locale::classic());
  std::string joined, word;
  int count = 0;
  while (words >> word) {
    std::istringstream in(word);
    in.imbue(std::locale::classic());
    double number = 0;
    if (!(in >> number) || in.peek() != std::istringstream::traits_type::eof() || !std::isfinite(number)) {
      fail(fmt::format("is not {}", rule.count == 1 ? "a finite number" : fmt::format("{} finite numbers", rule.count)));
    }
    if (number < rule.lo || number > rule.hi) fail(fmt::format("is outside [{}, {}]", rule.lo, rule.hi));
    joined += (count++ == 0 ? "" : " ") + word;
  }
  if (count != rule.count) fail(fmt::format("holds {} numbers, not {}", count, rule.count));
  element->SetAttribute(attribute, joined);
}

void CheckElement(TiXmlElement* element, const std::string& file, const std::string& who) {
  const std::string name = element->Value();
  const auto fail = [&](const std::string& what) {
    throw InputError({file, element->Row(), 0}, fmt::format("{}: {}", who, what));
  };
  for (const TiXmlAttribute* a = element->FirstAttribute(); a != nullptr; a = a->Next()) {
    const std::string_view value = a->Value();
    if (value.size() > kMostAttribute)
      fail(fmt::format("{} {} is {} bytes long; at most {}", name, Shown(a->Name()), value.size(), kMostAttribute));
    if (value.find("${") != std::string_view::npos || value.find("$(") != std::string_view::npos) {
      fail(fmt::format("{} {} \"{}\" is a xacro expression; expand the file first: xacro FILE > arm.urdf", name, a->Name(),
                       Shown(value)));
    }
  }
  for (const NumberRule& rule : kNumberRules) {
    if (rule.element == name) CheckNumbers(element, rule, file, who);
  }
  for (const char* moment : {"ixx", "iyy", "izz"}) {
    if (name == "inertia" && element->Attribute(moment) == nullptr) fail(fmt::format("its inertia has no {}", moment));
  }
  if (name == "geometry") {
    const TiXmlElement* shape = element->FirstChildElement();
    if (shape == nullptr) fail("its geometry is empty; give it a box, sphere, cylinder or mesh");
    if (std::find(kGeometries.begin(), kGeometries.end(), shape->ValueStr()) == kGeometries.end()) {
      fail(fmt::format("URDF knows no geometry \"{}\"{}", Shown(shape->ValueStr()), Suggest(shape->ValueStr(), kGeometries)));
    }
  }
  for (TiXmlElement* child = element->FirstChildElement(); child != nullptr; child = child->NextSiblingElement()) {
    CheckElement(child, file, who);
  }
}

void KeepOnly(TiXmlElement* element, const std::set<std::string>& names) {
  for (TiXmlNode* child = element->FirstChild(); child != nullptr;) {
    TiXmlNode* next = child->NextSibling();
    if (child->ToElement() == nullptr || !names.contains(child->ValueStr())) element->RemoveChild(child);
    child = next;
  }
}

/// A link's shape comes from its collision elements; visual ones count only where there are none.
void KeepShapes(TiXmlElement* link) {
  KeepOnly(link, kLinkParts);
  const bool has_collision = link->FirstChildElement("collision") != nullptr;
  for (TiXmlElement* visual = link->FirstChildElement("visual"); visual != nullptr;) {
    TiXmlElement* next = visual->NextSiblingElement("visual");
    if (has_collision) {
      link->RemoveChild(visual);
    } else {
      KeepOnly(visual, {"origin", "geometry"});
    }
    visual = next;
  }
}

std::string RequiredAttribute(const TiXmlElement* element, const char* attribute, const std::string& file,
                              const std::string& who) {
  const char* value = element == nullptr ? nullptr : element->Attribute(attribute);
  if (value == nullptr || *value == '\0') {
    throw InputError({file, element == nullptr ? 0 : element->Row(), 0}, fmt::format("{} has no {}", who, attribute));
  }
  return value;
}

/// The robot's links and joints make one tree.
void RequireTree(const TiXmlElement* robot, const std::string& file, UrdfTree* tree) {
  std::map<std::string, std::string> parent_of, joint_to;
  std::vector<std::string> link_names;
  for (const auto& [name, line] : tree->link_lines) link_names.push_back(name);
  for (const TiXmlElement* joint = robot->FirstChildElement("joint"); joint != nullptr;
       joint = joint->NextSiblingElement("joint")) {
    const std::string name = joint->Attribute("name"), who = fmt::format("joint \"{}\"", Shown(name));
    for (const char* end : {"parent", "child"}) {
      const TiXmlElement* element = joint->FirstChildElement(end);
      const int line = element == nullptr ? joint->Row() : element->Row();
      const char* link = element == nullptr ? nullptr : element->Attribute("link");
      if (link == nullptr) throw InputError({file, line, 0}, fmt::format("{} names no {} link", who, end));
      if (!tree->link_lines.contains(link)) {
        throw InputError({file, line, 0},
                         fmt::format("{}: {} link \"{}\" does not exist{}", who, end, Shown(link), Suggest(link, link_names)));
      }
    }
    const std::string child = joint->FirstChildElement("child")->Attribute("link");
    if (!parent_of.emplace(child, joint->FirstChildElement("parent")->Attribute("link")).second) {
      tree->FailJoint(name, fmt::format("link \"{}\" hangs on joint \"{}\" already; a link has one parent", Shown(child),
                                        Shown(joint_to[child])));
    }
    joint_to[child] = name;
  }
  std::vector<std::string> roots;
  for (const std::string& link : link_names) {
    if (!parent_of.contains(link)) roots.push_back(link);
  }
  if (roots.size() > 1) {
    tree->FailLink(roots[1], fmt::format("is a second root beside link \"{}\"; join the two by a fixed joint", Shown(roots[0])));
  }
  std::set<std::string> sound(roots.begin(), roots.end());
  for (const std::string& start : link_names) {
    std::vector<std::string> path;
    std::set<std::string> seen;
    std::string link = start;
    while (!sound.contains(link)) {
      if (!seen.insert(link).second) tree->FailLink(link, "is part of a closed loop of joints; URDF describes trees only");
      path.push_back(link);
      link = parent_of.at(link);
    }
    sound.insert(path.begin(), path.end());
  }
}

/// urdfdom reports through one handler for the whole process: while this lives, its errors come here, from one thread at a time.
class CapturedErrors : public console_bridge::OutputHandler {
 public:
  CapturedErrors() : lock_(Mutex()), before_(console_bridge::getOutputHandler()) { console_bridge::useOutputHandler(this); }
  ~CapturedErrors() override { console_bridge::useOutputHandler(before_); }
  CapturedErrors(const CapturedErrors&) = delete;
  CapturedErrors& operator=(const CapturedErrors&) = delete;

  void log(const std::string& text, console_bridge::LogLevel level, const char* /*file*/, int /*line*/) override {
    if (level >= console_bridge::CONSOLE_BRIDGE_LOG_ERROR) text_ += (text_.empty() ? "" : "; ") + text;
  }
  const std::string& text() const { return text_; }

 private:
  static std::mutex& Mutex() {
    static std::mutex mutex;
    return mutex;
  }
  std::lock_guard<std::mutex> lock_;
  console_bridge::OutputHandler* before_;
  std::string text_;
};

/// @param complaints what urdfdom calls errors and yet passes over.
urdf::ModelInterfaceSharedPtr ParseQuietly(const std::string& xml, const std::string& file, std::string* complaints) {
  CapturedErrors errors;
  urdf::ModelInterfaceSharedPtr model;
  std::string thrown;
  try {
    model = urdf::parseURDF(xml);
  } catch (const std::exception& e) {
    thrown = e.what();
  }
  if (!model || !model->getRoot()) {
    const std::string& reason = errors.text().empty() ? thrown : errors.text();
    throw InputError({file, 0, 0},
                     fmt::format("not a URDF that urdfdom accepts: {}", reason.empty() ? "no reason given" : reason));
  }
  *complaints = errors.text();
  return model;
}

}  // namespace

void UrdfTree::FailLink(const std::string& name, const std::string& message) const {
  const auto line = link_lines.find(name);
  throw InputError({file, line == link_lines.end() ? 0 : line->second, 0}, fmt::format("link \"{}\" {}", Shown(name), message));
}

void UrdfTree::FailJoint(const std::string& name, const std::string& message) const {
  const auto line = joint_lines.find(name);
  throw InputError({file, line == joint_lines.end() ? 0 : line->second, 0},
                   fmt::format("joint \"{}\": {}", Shown(name), message));
}

UrdfTree ParseUrdf(const std::string& text, const std::string& file) {
  RequireSoundText(text, file);
  TiXmlDocument document;
  document.Parse(text.c_str(), nullptr, TIXML_ENCODING_UTF8);
  if (document.Error() && document.ErrorId() != TiXmlBase::TIXML_ERROR_DOCUMENT_EMPTY) {
    throw InputError({file, document.ErrorRow(), document.ErrorCol()}, fmt::format("not sound XML: {}", document.ErrorDesc()));
  }
  TiXmlElement* robot = document.RootElement();
  if (robot == nullptr) throw InputError({file, 0, 0}, "holds no XML element; a URDF begins with <robot>");
  if (robot->ValueStr() != "robot") {
    throw InputError({file, robot->Row(), 0},
                     fmt::format("the root element is <{}>; a URDF's is <robot>", Shown(robot->ValueStr())));
  }
  RequiredAttribute(robot, "name", file, "the robot");

  UrdfTree tree;
  tree.file = file;
  for (TiXmlElement* part = robot->FirstChildElement(); part != nullptr; part = part->NextSiblingElement()) {
    const std::string kind = part->ValueStr();
    if (kind.starts_with("xacro:")) {
      throw InputError({file, part->Row(), 0},
                       fmt::format("<{}>: xacro is not expanded; run: xacro FILE > arm.urdf", Shown(kind)));
    }
    if (kind != "link" && kind != "joint") continue;
    const std::string name = RequiredAttribute(part, "name", file, "a " + kind),
                      who = fmt::format("{} \"{}\"", kind, Shown(name));
    if (!(kind == "link" ? tree.link_lines : tree.joint_lines).emplace(name, part->Row()).second) {
      throw InputError({file, part->Row(), 0}, fmt::format("{} is there twice; names are unique", who));
    }
    if (tree.link_lines.size() > kMostLinks) {
      throw InputError({file, part->Row(), 0}, fmt::format("more than {} links; give the arm a URDF of its own", kMostLinks));
    }
    if (kind == "link") {
      KeepShapes(part);
    } else {
      KeepOnly(part, kJointParts);
    }
    CheckElement(part, file, who);
  }
  if (tree.link_lines.empty()) throw InputError({file, robot->Row(), 0}, "the robot has no links");
  RequireTree(robot, file, &tree);
  KeepOnly(robot, {"link", "joint"});
  TiXmlPrinter printer;
  document.Accept(&printer);
  tree.model = ParseQuietly(printer.Str(), file, &tree.complaints);
  return tree;
}

}  // namespace dryrig
