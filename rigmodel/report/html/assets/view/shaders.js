// Flat shading from the slope of the surface itself; edges as strokes of even width on the screen.
// What is cut away is left out only in the programs made for it: without that, what lies behind
// is not shaded at all.

const CUT_AWAY = "#define CUT\n";

const FACE_VERTEX = `
precision highp float;
uniform mat4 u_view;
uniform vec3 u_target;
in vec3 a_place;
in vec4 a_colour;
out vec3 v_place, v_near;
flat out vec4 v_colour;
void main() {
  v_place = a_place;
  v_near = a_place - u_target;
  v_colour = a_colour;
  gl_Position = u_view * vec4(a_place, 1.0);
}`;

const FACE_FRAGMENT = `
precision highp float;
uniform vec4 u_cut;
uniform vec3 u_light, u_toward;
in vec3 v_place, v_near;
flat in vec4 v_colour;
out vec4 o_colour;
void main() {
#ifdef CUT
  if (dot(u_cut.xyz, v_place) > u_cut.w) discard;
#endif
  vec3 normal = normalize(cross(dFdx(v_near), dFdy(v_near)));
  float lamp = max(dot(normal, u_light), 0.0);
  float facing = abs(dot(normal, u_toward));
  float sky = 0.5 + 0.5 * normal.z;
  float shade = 0.46 + 0.36 * lamp + 0.14 * facing + 0.16 * sky;
  o_colour = vec4(min(v_colour.rgb * shade * 1.08, 1.0), 1.0) * v_colour.a;
}`;

const CAP_FRAGMENT = `
precision highp float;
out vec4 o_colour;
void main() {
  float stripe = step(0.62, fract((gl_FragCoord.x + gl_FragCoord.y) / 9.0));
  o_colour = vec4(mix(vec3(0.98, 0.86, 0.70), vec3(0.48, 0.24, 0.05), stripe), 1.0);
}`;

// Four corners to a stroke, one after another: at its one end, then at its other; to its one side,
// then to its other.
const EDGE_VERTEX = `
precision highp float;
uniform mat4 u_view;
uniform vec2 u_screen;
uniform float u_width, u_pull;
in vec3 a_from, a_to;
in vec4 a_colour;
out vec3 v_place;
flat out vec4 v_colour;
void main() {
  bool last = (gl_VertexID & 2) != 0;
  float side = (gl_VertexID & 1) != 0 ? 1.0 : -1.0;
  vec4 a = u_view * vec4(a_from, 1.0), b = u_view * vec4(a_to, 1.0);
  v_place = last ? a_to : a_from;
  v_colour = a_colour;
  float near = 1e-3;
  if (a.w < near && b.w < near) {
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0);
    return;
  }
  if (a.w < near) a = mix(b, a, (b.w - near) / (b.w - a.w));
  if (b.w < near) b = mix(a, b, (a.w - near) / (a.w - b.w));
  vec2 way = (b.xy / b.w - a.xy / a.w) * u_screen;
  way = length(way) > 1e-6 ? normalize(way) : vec2(1.0, 0.0);
  vec4 end = last ? b : a;
  vec2 offset = (vec2(-way.y, way.x) * side + way * (last ? 0.5 : -0.5)) * u_width / u_screen;
  gl_Position = vec4(end.xy + offset * end.w, end.z - u_pull * end.w, end.w);
}`;

const EDGE_FRAGMENT = `
precision highp float;
uniform vec4 u_cut;
in vec3 v_place;
flat in vec4 v_colour;
out vec4 o_colour;
void main() {
#ifdef CUT
  if (dot(u_cut.xyz, v_place) > u_cut.w) discard;
#endif
  o_colour = vec4(v_colour.rgb, 1.0) * v_colour.a;
}`;
