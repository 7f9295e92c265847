// The room the piece is in: light from all directions, reckoned, not photographed.

export const HEAD = `#version 300 es
precision highp float;
precision highp int;
`;

// A panel of light: which way its middle lies, which way its length runs, how far it reaches (tangents).
function panel(at, side, reach, soft = "soft") {
  const long = (v) => Math.hypot(...v), one = at.map((v) => v / long(at));
  const across = side.map((v, k) => v - one[k] * side.reduce((sum, w, j) => sum + w * one[j], 0));
  const r = across.map((v) => v / long(across));
  const u = [one[1] * r[2] - one[2] * r[1], one[2] * r[0] - one[0] * r[2], one[0] * r[1] - one[1] * r[0]];
  const vec = (v) => `vec3(${v.map((x) => x.toFixed(6)).join(", ")})`;
  return `lit(d, ${vec(one)}, ${vec(r)}, ${vec(u)}, vec2(${reach.map((x) => x.toFixed(3)).join(", ")}), ${soft})`;
}

// Light from a direction of the onlooker's own space (x right, y up, z to the onlooker), spread wide.
export const DULL = `
uniform float uTent;      // 0 a dark room, 1 a white one
vec3 room(float y, float wide, float near) {
  vec3 low = mix(vec3(.05, .048, .05), vec3(.42, .408, .388), uTent) * near;
  vec3 wall = mix(vec3(.012, .012, .015), vec3(.045, .045, .05), uTent);
  vec3 roof = mix(vec3(.13, .135, .15), vec3(.36, .37, .385), uTent);
  return mix(mix(low, wall, smoothstep(-.46 - wide, -.34 + wide, y)), roof, smoothstep(-.02 - wide, .42 + 2. * wide, y));
}
vec3 dull(vec3 d) {
  vec3 c = room(d.y, .9, 1.);
  float above = max(dot(d, vec3(-.300, .779, .550)), 0.), right = max(dot(d, vec3(.930, .250, .270)), 0.);
  float ahead = max(d.z, 0.);
  return c + vec3(1.05, 1.03, 1.) * above * above + vec3(.62, .58, .54) * right * right + .42 * ahead * ahead;
}
`;

// The same as a mirror shows it.
const STUDIO = `${DULL}
float lit(vec3 d, vec3 at, vec3 r, vec3 u, vec2 reach, float soft) {
  float f = dot(d, at);
  if (f <= 0.) return 0.;
  vec2 far = abs(vec2(dot(d, r), dot(d, u)) / f) - reach;
  float edge = .03 + soft;
  vec2 on = 1. - smoothstep(vec2(-edge), vec2(edge), far);
  return on.x * on.y * smoothstep(0., .25, f);
}
vec3 studio(vec3 d, float soft) {
  vec3 c = room(d.y + .10 * d.x, .10 + soft, .75 + .35 * d.z);
  c *= 1. + .55 * smoothstep(-.1, .4, d.y) * (.35 - .8 * smoothstep(-.75, .75, d.x * .8 - d.z * .6));   // brighter to the left
  c += vec3(3.6, 3.55, 3.45) * ${panel([-0.3, 0.78, 0.55], [1, 0, 0], [0.6, 0.26])};
  c += vec3(2.9, 2.75, 2.55) * ${panel([0.93, 0.25, 0.27], [0, 0, 1], [0.15, 0.95])};
  c += vec3(1.5, 1.6, 1.75) * ${panel([-0.95, 0.06, 0.3], [0, 0, 1], [0.11, 0.8])};
  if (d.z < 0.) c += vec3(2.2, 2.2, 2.25) * ${panel([0.35, 0.42, -0.85], [1, 0, 0], [0.9, 0.13])};
  if (d.y > 0.) c += vec3(1.05, 1.03, 1.) * ${panel([-0.42, 0.8, -0.45], [0.8, 0, -0.6], [0.75, 0.16], ".09 + soft")};
  if (d.y < 0.) c += vec3(.55, .50, .44) * ${panel([0.25, -0.8, 0.55], [1, 0, 0], [0.7, 0.22], ".12 + soft")};
  float before = ${panel([0.06, 0.1, 1], [1, 0, 0], [0.4, 0.4], ".16 + soft")};
  c += before * mix(vec3(.16, .155, .15), vec3(1.35, 1.32, 1.28), smoothstep(-.30, .42, d.y + .30 * d.x));
  c *= 1. - .8 * ${panel([0.42, 0.3, 0.86], [0.3, 1, 0], [0.035, 0.8], ".03 + soft")};
  return c;
}
`;

// Light is looked up, not reckoned at every spot: all directions, folded onto a square, in four fields of one
// picture: as a mirror shows it, as rays that leave a stone find it, and as two faces that are not polished.
export const SKY = `${DULL}
uniform sampler2D uSky;
vec3 sky(vec3 d, float field) {
  d /= abs(d.x) + abs(d.y) + abs(d.z);
  vec2 e = d.z >= 0. ? d.xy : (1. - abs(d.yx)) * vec2(d.x < 0. ? -1. : 1., d.y < 0. ? -1. : 1.);
  vec2 at = clamp(e * .5 + .5, .003, .997) + vec2(mod(field, 2.), floor(field * .5));
  vec3 x = texture(uSky, at * .5).rgb;
  return x / (1.004 - x);
}
`;

export const UNFOLD = `
vec3 unfolded(vec2 e) {
  vec3 n = vec3(e, 1. - abs(e.x) - abs(e.y));
  if (n.z < 0.) n.xy = (1. - abs(n.yx)) * vec2(n.x < 0. ? -1. : 1., n.y < 0. ? -1. : 1.);
  return normalize(n);
}
`;

// All over the picture.
export const WHOLE = `${HEAD}
out vec2 vAt;
void main() {
  vAt = vec2(gl_VertexID & 1, gl_VertexID >> 1) * 2.;
  gl_Position = vec4(vAt * 2. - 1., 0., 1.);
}`;

// The fields of SKY, one at a time. `uBlur`: how rough the face is (GGX), for directions strewn as it throws them.
export const BAKE = `${HEAD}
in vec2 vAt;
uniform float uBlur, uSparks;
out vec4 oColour;
${STUDIO}
const vec3 SPARKS[7] = vec3[7](
  vec3(-.42, .71, .56), vec3(.55, .60, .58), vec3(.10, .93, .35), vec3(-.75, .20, .63), vec3(.80, .12, .59),
  vec3(-.15, .38, .91), vec3(.32, -.25, .91));
${UNFOLD}
void main() {
  vec3 d = unfolded(vAt * 2. - 1.), c = vec3(0.);
  if (uBlur > 0.) {
    vec3 one = normalize(cross(abs(d.z) < .9 ? vec3(0., 0., 1.) : vec3(1., 0., 0.), d)), two = cross(d, one);
    float all = 0.;
    for (int k = 0; k < 48; k++) {
      float u = (float(k) + .5) / 48., turn = 2.399963 * float(k);
      float lean = uBlur * sqrt(u / (1. - u));
      vec3 way = reflect(-d, normalize(d + lean * (cos(turn) * one + sin(turn) * two)));
      float part = max(dot(way, d), 0.);
      c += part * studio(way, .5 * uBlur);
      all += part;
    }
    c *= (1. - .55 * uBlur) / all;   // what is thrown from face to face is lost
  } else c = studio(d, .04);
  if (uSparks > .5) {   // lamps in the room, and the onlooker's own head
    c = 1.2 * c + .08;
    for (int k = 0; k < 7; k++) c += 26. * smoothstep(.9962, .9985, dot(d, SPARKS[k]));
    c *= mix(.35, 1., smoothstep(.006, .045, 1. - d.z));
  }
  oColour = vec4(1.004 * c / (1. + c), 1.);
}`;
