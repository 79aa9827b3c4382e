#include "viewer/render/shaders.h"

namespace dryrig {

// Light is reckoned at vertices and shadow alone at pixels: software drivers pay for pixels. The picture's tone curve is a square
// root, near to sRGB's own, for the same reason.
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
uniform vec3 key_W;
uniform vec3 haze;
uniform int chosen;
out vec3 ambient;  // light that no shadow takes away, haze included
out vec3 key;      // light that a shadow takes away
out vec3 shadow_at;

const vec3 kSky = vec3(0.40, 0.43, 0.47), kGround = vec3(0.20, 0.18, 0.16);
const vec3 kKey = vec3(0.72, 0.68, 0.62), kFill = vec3(0.13, 0.14, 0.16), kFill_W = vec3(-0.80, 0.53, 0.28);

void main() {
  vec4 p = vec4(point, 1.0);
  vec4 p_W = vec4(dot(row0, p), dot(row1, p), dot(row2, p), 1.0);
  vec3 x = vec3(row0.x, row1.x, row2.x), y = vec3(row0.y, row1.y, row2.y), z = vec3(row0.z, row1.z, row2.z);
  vec3 n = normalize(normal.x * cross(y, z) + normal.y * cross(z, x) + normal.z * cross(x, y));
  vec3 to_eye = eye_W - p_W.xyz;
  float distance_m = length(to_eye);
  float far = clamp((distance_m - 1.5) * 0.085, 0.0, 1.0);
  far = far * far * (3.0 - 2.0 * far);
  bool is_chosen = chosen >= 0 && abs(paint.w - float(chosen)) < 0.5;
  vec3 colour = is_chosen ? mix(paint.rgb, vec3(0.95, 0.45, 0.05), 0.7) : paint.rgb;
  vec3 light = mix(kGround, kSky, 0.5 + 0.5 * n.z) + kFill * max(dot(n, kFill_W), 0.0);
  float gloss = max(dot(n, normalize(key_W + to_eye / distance_m)), 0.0);
  ambient = mix(colour * (light + (is_chosen ? 0.25 : 0.0)), haze, far);
  key = (1.0 - far) * kKey * max(dot(n, key_W), 0.0) * (colour + 0.08 * pow(gloss, 24.0));
  shadow_at = (shadow_W * (p_W + vec4(0.004 * n, 0.0))).xyz;
  gl_Position = clip_W * p_W;
}
)glsl";

const char* const kLitFragment = R"glsl(#version 330 core
in vec3 ambient;
in vec3 key;
in vec3 shadow_at;
uniform sampler2DShadow shadow_map;
uniform float shadow_texel;  // 0: no shadows
out vec4 pixel;  // with its luminance

// Two taps, turned by a quarter at every other pixel: neighbours together see four.
float Lit() {
  float turn = fract(0.5 * (floor(gl_FragCoord.x) + floor(gl_FragCoord.y)));
  vec2 d = 1.4 * shadow_texel * (turn < 0.25 ? vec2(1.0, 0.4) : vec2(-0.4, 1.0));
  return 0.5 * (texture(shadow_map, shadow_at + vec3(d, 0.0)) + texture(shadow_map, shadow_at - vec3(d, 0.0)));
}

void main() {
  float lit = shadow_texel > 0.0 && key.r > 0.0 ? Lit() : 1.0;
  vec3 c = sqrt(ambient + lit * key);
  pixel = vec4(c, dot(c, vec3(0.3, 0.6, 0.1)));
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

const char* const kFrameVertex = R"glsl(#version 330 core
void main() {
  gl_Position = vec4(4.0 * vec2(gl_VertexID & 1, gl_VertexID >> 1) - 1.0, 0.0, 1.0);
}
)glsl";

const char* const kEdgeFragment = R"glsl(#version 330 core
uniform sampler2D picture;

float Fetch(ivec2 p) {
  return texelFetch(picture, p, 0).a;
}

void main() {
  ivec2 p = clamp(ivec2(gl_FragCoord.xy), ivec2(1), textureSize(picture, 0) - 2);
  float m = Fetch(p), n = Fetch(p + ivec2(0, 1)), s = Fetch(p - ivec2(0, 1)), e = Fetch(p + ivec2(1, 0)), w = Fetch(p - ivec2(1, 0));
  float most = max(m, max(max(n, s), max(e, w)));
  if (most - min(m, min(min(n, s), min(e, w))) < max(0.03, 0.08 * most)) discard;
}
)glsl";

// The idea is T. Lottes's FXAA (2009): an edge is followed both ways to its ends, and the pixel takes as much of the other side
// as the edge, drawn straight from end to end, would cut off it.
const char* const kSmoothFragment = R"glsl(#version 330 core
uniform sampler2D picture;
out vec4 pixel;

float Fetch(ivec2 p) {
  return texelFetch(picture, p, 0).a;
}

void main() {
  vec2 texel = 1.0 / vec2(textureSize(picture, 0)), at = gl_FragCoord.xy * texel;
  ivec2 p = clamp(ivec2(gl_FragCoord.xy), ivec2(1), textureSize(picture, 0) - 2);
  float m = Fetch(p), n = Fetch(p + ivec2(0, 1)), s = Fetch(p - ivec2(0, 1)), e = Fetch(p + ivec2(1, 0)), w = Fetch(p - ivec2(1, 0));
  float range = max(m, max(max(n, s), max(e, w))) - min(m, min(min(n, s), min(e, w)));
  float nw = Fetch(p + ivec2(-1, 1)), ne = Fetch(p + ivec2(1, 1)), sw = Fetch(p + ivec2(-1, -1)), se = Fetch(p + ivec2(1, -1));
  float level = abs(nw + sw - 2.0 * w) + 2.0 * abs(n + s - 2.0 * m) + abs(ne + se - 2.0 * e);
  float upright = abs(nw + ne - 2.0 * n) + 2.0 * abs(w + e - 2.0 * m) + abs(sw + se - 2.0 * s);
  bool is_level = level >= upright;
  float low = is_level ? s : w, high = is_level ? n : e;
  bool to_low = abs(low - m) >= abs(high - m);
  float other = to_low ? low : high, slope = 0.25 * abs(other - m), middle = 0.5 * (other + m);
  vec2 across = (is_level ? vec2(0.0, texel.y) : vec2(texel.x, 0.0)) * (to_low ? -1.0 : 1.0);
  vec2 along = is_level ? vec2(texel.x, 0.0) : vec2(0.0, texel.y);
  vec2 edge = at + 0.5 * across;

  const float kSteps[7] = float[7](1.0, 2.0, 3.0, 4.5, 6.5, 9.5, 14.0);
  float far_a = 18.0, far_b = 18.0, end_a = 0.0, end_b = 0.0;
  bool open_a = true, open_b = true;
  for (int i = 0; i < 7; ++i) {
    float a = texture(picture, edge - kSteps[i] * along).a - middle, b = texture(picture, edge + kSteps[i] * along).a - middle;
    if (open_a) {
      end_a = a;
      if (abs(a) >= slope) far_a = kSteps[i], open_a = false;
    }
    if (open_b) {
      end_b = b;
      if (abs(b) >= slope) far_b = kSteps[i], open_b = false;
    }
    if (!open_a && !open_b) break;
  }
  float near = min(far_a, far_b), end = far_a < far_b ? end_a : end_b;
  bool cuts = (m < middle) != (end < 0.0);
  float shift = cuts ? 0.5 - near / (far_a + far_b) : 0.0;
  float blur = clamp(abs((2.0 * (n + s + e + w) + nw + ne + sw + se) / 12.0 - m) / range, 0.0, 1.0);
  blur = blur * blur * (3.0 - 2.0 * blur);
  pixel = texture(picture, at + max(shift, 0.6 * blur * blur) * across);
}
)glsl";

}  // namespace dryrig
