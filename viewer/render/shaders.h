#pragma once

namespace dryrig {

// GLSL 3.30. A vertex has `point` and `normal` in its mesh's frame M; an instance has X_WM as three rows and its paint: linear
// colour and body. Bindings: 0 point, 1 normal, 2–4 rows, 5 paint.
extern const char* const kLitVertex;
extern const char* const kLitFragment;
extern const char* const kDepthVertex;
extern const char* const kDepthFragment;
extern const char* const kIdVertex;
extern const char* const kIdFragment;
// One triangle over the whole frame. The first keeps the pixels that lie at an edge of a picture whose alpha is its luminance;
// the second smooths the pixels that it is drawn on.
extern const char* const kFrameVertex;
extern const char* const kEdgeFragment;
extern const char* const kSmoothFragment;

}  // namespace dryrig
