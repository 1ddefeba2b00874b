// Flat shading from the slope of the surface itself; edges as strokes of even width on the screen.

const FACE_VERTEX = `#version 300 es
precision highp float;
uniform mat4 u_world, u_view;
uniform vec3 u_target;
in vec3 a_place;
out vec3 v_place, v_near;
void main() {
  vec4 world = u_world * vec4(a_place, 1.0);
  v_place = world.xyz;
  v_near = world.xyz - u_target;
  gl_Position = u_view * world;
}`;

const FACE_FRAGMENT = `#version 300 es
precision highp float;
uniform vec4 u_colour, u_cut;
uniform vec3 u_light, u_toward;
in vec3 v_place, v_near;
out vec4 o_colour;
void main() {
  if (dot(u_cut.xyz, v_place) > u_cut.w) discard;
  vec3 normal = normalize(cross(dFdx(v_near), dFdy(v_near)));
  float lamp = max(dot(normal, u_light), 0.0);
  float facing = abs(dot(normal, u_toward));
  float sky = 0.5 + 0.5 * normal.z;
  float shade = 0.46 + 0.36 * lamp + 0.14 * facing + 0.16 * sky;
  o_colour = vec4(min(u_colour.rgb * shade * 1.08, 1.0), 1.0) * u_colour.a;
}`;

const CAP_FRAGMENT = `#version 300 es
precision highp float;
in vec3 v_place, v_near;
out vec4 o_colour;
void main() {
  float stripe = step(0.62, fract((gl_FragCoord.x + gl_FragCoord.y) / 9.0));
  o_colour = vec4(mix(vec3(0.98, 0.86, 0.70), vec3(0.48, 0.24, 0.05), stripe), 1.0);
}`;

// Four corners to an edge: a_corner.x chooses the end, a_corner.y the side of the stroke. An edge
// is drawn where it is a crease or an outline: where just one of its faces looks at the eye.
const EDGE_VERTEX = `#version 300 es
precision highp float;
uniform mat4 u_world, u_view;
uniform vec4 u_eye;
uniform vec2 u_screen;
uniform float u_width, u_pull, u_crease;
in vec2 a_corner;
in vec3 a_from, a_to, a_one, a_other;
out vec3 v_place;
void main() {
  vec3 from = (u_world * vec4(a_from, 1.0)).xyz;
  vec3 to = (u_world * vec4(a_to, 1.0)).xyz;
  vec3 gaze = u_eye.xyz - u_eye.w * from;
  bool one = dot(mat3(u_world) * a_one, gaze) > 0.0;
  bool other = dot(mat3(u_world) * a_other, gaze) > 0.0;
  bool border = dot(a_other, a_other) < 0.5;
  bool crease = dot(a_one, a_other) < u_crease && (one || other);
  vec4 a = u_view * vec4(from, 1.0), b = u_view * vec4(to, 1.0);
  v_place = mix(from, to, a_corner.x);
  float near = 1e-3;
  if (!(border || crease || one != other) || (a.w < near && b.w < near)) {
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0);
    return;
  }
  if (a.w < near) a = mix(b, a, (b.w - near) / (b.w - a.w));
  if (b.w < near) b = mix(a, b, (a.w - near) / (a.w - b.w));
  vec2 way = (b.xy / b.w - a.xy / a.w) * u_screen;
  way = length(way) > 1e-6 ? normalize(way) : vec2(1.0, 0.0);
  vec4 end = a_corner.x < 0.5 ? a : b;
  vec2 offset = (vec2(-way.y, way.x) * a_corner.y + way * (2.0 * a_corner.x - 1.0) * 0.5) * u_width / u_screen;
  gl_Position = vec4(end.xy + offset * end.w, end.z - u_pull * end.w, end.w);
}`;

const EDGE_FRAGMENT = `#version 300 es
precision highp float;
uniform vec4 u_colour, u_cut;
in vec3 v_place;
out vec4 o_colour;
void main() {
  if (dot(u_cut.xyz, v_place) > u_cut.w) discard;
  o_colour = vec4(u_colour.rgb, 1.0) * u_colour.a;
}`;
