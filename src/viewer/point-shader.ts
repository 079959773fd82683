/** Names of what points may be coloured by, in the order the shader counts them. */
export const POINT_MODES = ['ink', 'colour', 'elevation', 'plane', 'residual', 'intensity', 'class'] as const;
export type PointMode = (typeof POINT_MODES)[number];

/** Fits three's ShaderMaterial with GLSL 3; positions come relative to the cell, `modelMatrix` adds its origin. */
export const POINT_VERTEX_SHADER = /* glsl */ `
precision highp float;
precision highp sampler2D;
in vec3 colour;
in float label;
in float intensity;
in float classNumber;
uniform int mode;
uniform float pointSize;
uniform vec2 elevationRange;
uniform vec2 intensityRange;
uniform sampler2D classColours;
uniform float sigma;
uniform sampler2D planes;
uniform sampler2D ramp;
uniform vec3 ink;
uniform vec4 strip;
uniform float halfThickness;
uniform bool onlyRoof;
uniform vec3 clipMin;
uniform vec3 clipMax;
out vec3 shade;
out float opacity;

vec3 rampColour(float row, float step) { return texelFetch(ramp, ivec2(int(step), int(row)), 0).rgb; }

void main() {
  vec4 world = modelMatrix * vec4(position, 1.0);
  gl_Position = projectionMatrix * viewMatrix * world;
  gl_PointSize = pointSize;
  opacity = 1.0;
  bool outside = any(lessThan(world.xyz, clipMin)) || any(greaterThan(world.xyz, clipMax));
  if (outside || (halfThickness > 0.0 && abs(dot(strip.xyz, world.xyz) + strip.w) > halfThickness)) {
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0);
  }
  bool onPlane = label > 0.5;
  if (mode == 1) {
    shade = colour;
  } else if (mode == 2) {
    float share = clamp((world.z - elevationRange.x) / max(elevationRange.y - elevationRange.x, 0.01), 0.0, 0.999);
    shade = rampColour(0.0, floor(share * 9.0));
  } else if (mode == 3) {
    shade = onPlane ? rampColour(2.0, mod(label - 1.0, 7.0)) : ink;
    opacity = onPlane ? 1.0 : 0.25;
  } else if (mode == 4) {
    vec4 plane = texelFetch(planes, ivec2(int(label) % 1024, int(label) / 1024), 0);
    float residual = dot(plane.xyz, world.xyz) + plane.w;
    shade = onPlane ? rampColour(1.0, clamp(floor(residual / sigma + 0.5) + 3.0, 0.0, 6.0)) : ink;
    opacity = onPlane ? 1.0 : 0.15;
  } else if (mode == 5) {
    shade = vec3(clamp((intensity * 65535.0 - intensityRange.x) / max(intensityRange.y - intensityRange.x, 1.0), 0.0, 1.0));
  } else if (mode == 6) {
    shade = texelFetch(classColours, ivec2(int(classNumber), 0), 0).rgb;
  } else {
    shade = ink;
    opacity = onPlane ? 0.44 : onlyRoof ? 0.0 : 0.3;
  }
}`;

export const POINT_FRAGMENT_SHADER = /* glsl */ `
precision highp float;
in vec3 shade;
in float opacity;
out vec4 result;
void main() {
  vec2 from = gl_PointCoord - 0.5;
  if (dot(from, from) > 0.25) discard;
  result = vec4(shade * opacity, opacity);
}`;
