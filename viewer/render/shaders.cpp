#include "viewer/render/shaders.h"

namespace dryrig {

const char* const kLitVertex = R"glsl(#version 330 core
layout(location = 0) in vec3 point;
layout(location = 1) in vec3 normal;
layout(location = 2) in vec4 row0;
layout(location = 3) in vec4 row1;
layout(location = 4) in vec4 row2;
layout(location = 5) in vec4 paint;
uniform mat4 clip_W;
uniform mat4 shadow_W;
uniform vec3 eye_W;
uniform int chosen;
out vec3 n_W;
out vec3 to_eye;
out vec3 shadow_at;
flat out vec3 colour;
flat out float glow;

void main() {
  vec4 p = vec4(point, 1.0);
  vec4 p_W = vec4(dot(row0, p), dot(row1, p), dot(row2, p), 1.0);
  vec3 x = vec3(row0.x, row1.x, row2.x), y = vec3(row0.y, row1.y, row2.y), z = vec3(row0.z, row1.z, row2.z);
  n_W = normalize(normal.x * cross(y, z) + normal.y * cross(z, x) + normal.z * cross(x, y));
  to_eye = eye_W - p_W.xyz;
  shadow_at = (shadow_W * (p_W + vec4(0.004 * n_W, 0.0))).xyz;
  bool is_chosen = chosen >= 0 && abs(paint.w - float(chosen)) < 0.5;
  colour = is_chosen ? mix(paint.rgb, vec3(0.95, 0.45, 0.05), 0.7) : paint.rgb;
  glow = is_chosen ? 0.25 : 0.0;
  gl_Position = clip_W * p_W;
}
)glsl";

const char* const kLitFragment = R"glsl(#version 330 core
in vec3 n_W;
in vec3 to_eye;
in vec3 shadow_at;
flat in vec3 colour;
flat in float glow;
uniform sampler2DShadow shadow_map;
uniform float shadow_texel;  // 0: no shadows
uniform float alpha;
uniform vec3 key_W;
uniform vec3 haze;
out vec4 pixel;

const vec3 kSky = vec3(0.40, 0.43, 0.47), kGround = vec3(0.20, 0.18, 0.16);
const vec3 kKey = vec3(0.72, 0.68, 0.62), kFill = vec3(0.13, 0.14, 0.16), kFill_W = vec3(-0.80, 0.53, 0.28);

float Lit() {
  if (shadow_texel == 0.0 || any(greaterThan(abs(shadow_at - 0.5), vec3(0.5)))) return 1.0;
  vec2 d = 1.5 * shadow_texel * vec2(1.0, 0.35);
  return 0.25 * (texture(shadow_map, shadow_at + vec3(d.x, d.y, 0.0)) + texture(shadow_map, shadow_at + vec3(-d.y, d.x, 0.0)) +
                 texture(shadow_map, shadow_at - vec3(d.x, d.y, 0.0)) + texture(shadow_map, shadow_at - vec3(-d.y, d.x, 0.0)));
}

vec3 Encode(vec3 c) {
  return mix(12.92 * c, 1.055 * pow(c, vec3(1.0 / 2.4)) - 0.055, step(0.0031308, c));
}

void main() {
  vec3 n = normalize(n_W);
  float toward = dot(n, key_W);
  vec3 light = mix(kGround, kSky, 0.5 + 0.5 * n.z) + kFill * max(dot(n, kFill_W), 0.0);
  float distance_m = length(to_eye);
  float shine = 0.0;
  if (toward > 0.0) {
    float lit = Lit();
    light += kKey * (toward * lit);
    float gloss = max(dot(n, normalize(key_W + to_eye / distance_m)), 0.0);
    gloss *= gloss;
    gloss *= gloss;
    gloss *= gloss;
    gloss *= gloss;
    shine = 0.06 * gloss * gloss * lit;
  }
  vec3 c = colour * (light + glow) + shine;
  float far = clamp((distance_m - 1.5) * 0.085, 0.0, 1.0);
  c = mix(c, haze, far * far * (3.0 - 2.0 * far));
  pixel = vec4(Encode(min(c, 1.0)), alpha);
}
)glsl";

const char* const kDepthVertex = R"glsl(#version 330 core
layout(location = 0) in vec3 point;
layout(location = 2) in vec4 row0;
layout(location = 3) in vec4 row1;
layout(location = 4) in vec4 row2;
uniform mat4 clip_W;

void main() {
  vec4 p = vec4(point, 1.0);
  gl_Position = clip_W * vec4(dot(row0, p), dot(row1, p), dot(row2, p), 1.0);
}
)glsl";

const char* const kDepthFragment = R"glsl(#version 330 core
void main() {}
)glsl";

const char* const kIdVertex = R"glsl(#version 330 core
layout(location = 0) in vec3 point;
layout(location = 2) in vec4 row0;
layout(location = 3) in vec4 row1;
layout(location = 4) in vec4 row2;
layout(location = 5) in vec4 paint;
uniform mat4 clip_W;
flat out int body;

void main() {
  vec4 p = vec4(point, 1.0);
  body = int(round(paint.w));
  gl_Position = clip_W * vec4(dot(row0, p), dot(row1, p), dot(row2, p), 1.0);
}
)glsl";

const char* const kIdFragment = R"glsl(#version 330 core
flat in int body;
out int id;

void main() {
  id = body;
}
)glsl";

}  // namespace dryrig
