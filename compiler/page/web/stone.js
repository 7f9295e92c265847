// What comes of the light that falls on stones.

import { HEAD, SKY, UNFOLD } from "./room.js";

// Stones, each kind drawn at all its places at once.
export const STONE_POINTS = `${HEAD}
layout(location = 0) in vec3 aSpot;
layout(location = 1) in vec2 aNormal;
layout(location = 2) in vec4 aFrame0;
layout(location = 3) in vec4 aFrame1;
layout(location = 4) in vec4 aFrame2;
layout(location = 5) in float aNumber;
uniform mat4 uView, uSeen;
uniform vec4 uCut;
out vec3 vSpot, vNormal, vEye;
flat out vec3 vRow0, vRow1, vRow2;
flat out float vNumber;
${UNFOLD}
void main() {
  vec4 at = vec4(aSpot, 1.);
  vec4 eye = uView * vec4(dot(aFrame0, at), dot(aFrame1, at), dot(aFrame2, at), 1.);
  mat3 turn = mat3(uView) * transpose(mat3(aFrame0.xyz, aFrame1.xyz, aFrame2.xyz));
  vRow0 = vec3(turn[0].x, turn[1].x, turn[2].x);
  vRow1 = vec3(turn[0].y, turn[1].y, turn[2].y);
  vRow2 = vec3(turn[0].z, turn[1].z, turn[2].z);
  vSpot = aSpot;
  vNormal = unfolded(aNormal);
  vEye = eye.xyz;
  vNumber = aNumber;
  gl_Position = uSeen * eye;
  // a stone on the side that is sawn off goes with it
  if (dot(vec3(aFrame0.w, aFrame1.w, aFrame2.w), uCut.xyz) > uCut.w + 1e-3) gl_Position = vec4(0., 0., 9., 1.);
}`;

export const STONE = `${HEAD}
#define MOST 128
in vec3 vSpot, vNormal, vEye;
flat in vec3 vRow0, vRow1, vRow2;
flat in float vNumber;
uniform vec4 uPlanes[MOST];
uniform int uCount, uBounces, uBody;
uniform float uIndex, uSpread, uWhole, uFlat, uGlow, uMarked, uDeep;
uniform vec3 uColour, uTake, uMetal, uLit;
out vec4 oColour;
${SKY}
vec3 toEye(vec3 d) { return vec3(dot(vRow0, d), dot(vRow1, d), dot(vRow2, d)); }
// What a ray meets that has left the stone: the room or the setting.
vec3 beyond(vec3 way) {
  vec3 d = toEye(way);
  vec3 under = uMetal * (.20 + .42 * dull(d));
  return mix(under, sky(d, 1.), smoothstep(-.30, -.04, way.z));
}
vec3 left(vec3 d, vec3 n, float cosine, float index, float leave) {
  return normalize(index * d + (leave - index * cosine) * n);
}
// What a ray from inside meets, parted into colours where it leaves by "split" of the index.
vec3 inside(vec3 p, vec3 d, float index, float split) {
  vec3 sum = vec3(0.), through = vec3(1.);
  float f0 = (index - 1.) / (index + 1.);
  f0 *= f0;
  for (int b = 0; b < 10; b++) {
    float t = 1e9;
    vec3 n = vec3(0., 0., 1.);
    for (int k = 0; k < MOST; k++) {
      if (k >= uCount) break;
      float rate = dot(uPlanes[k].xyz, d);
      float run = (uPlanes[k].w - dot(uPlanes[k].xyz, p)) / rate;
      if (rate > 1e-5 && run < t) { t = run; n = uPlanes[k].xyz; }
    }
    t = max(t, 0.);
    p += d * t;
    through *= exp(-uTake * t);
    float cosine = dot(d, n);
    float k2 = 1. - index * index * (1. - cosine * cosine);
    if (k2 > 0.) {
      float leave = sqrt(k2);
      float f = f0 + (1. - f0) * pow(1. - min(leave, 1.), 5.);
      vec3 light = beyond(left(d, n, cosine, index, leave));
      if (split > 0.) {
        light.r = beyond(left(d, n, cosine, index - split, sqrt(max(1. - (index - split) * (index - split) * (1. - cosine * cosine), 0.)))).r;
        light.b = beyond(left(d, n, cosine, index + split, sqrt(max(1. - (index + split) * (index + split) * (1. - cosine * cosine), 0.)))).b;
      }
      sum += through * (1. - f) * light;
      through *= f;
    }
    if (b >= uBounces || max(through.r, max(through.g, through.b)) < .02) break;
    d = d - 2. * cosine * n;
    p -= n * 1e-5;
  }
  return sum + through * .25 * beyond(vec3(0., 0., 1.));
}
// A small stone on the move: as if its pavilion were eight mirrors, each ray thrown back by two of them.
vec3 glance(vec3 d, vec3 n) {
  vec3 way = refract(d, n, 1. / uIndex);
  float turn = (floor(atan(vSpot.y, vSpot.x) * 1.2732395) + .5) * .7853982;
  vec3 one = vec3(.66 * cos(turn), .66 * sin(turn), -.75);
  way = reflect(reflect(way, one), vec3(-one.xy, one.z));
  return sky(toEye(normalize(vec3(way.xy * uIndex, abs(way.z)))), 1.) * exp(-uTake * uDeep * 1.3) * .8;
}
vec3 chance(vec3 p) {
  return fract(sin(vec3(dot(p, vec3(127.1, 311.7, 74.7)), dot(p, vec3(269.5, 183.3, 246.1)), dot(p, vec3(113.5, 271.9, 124.6)))) * 43758.5453);
}
// Patches of an opal, about a millimetre wide, each a grating that lies its own way: what colour it sends back
// goes by the angle one looks at it from.
vec3 play(vec3 d) {
  vec3 at = vSpot * 1.15, cell = floor(at), own = vec3(0.);
  float near = 9.;
  for (int k = 0; k < 27; k++) {
    vec3 beside = cell + vec3(k % 3 - 1, k / 3 % 3 - 1, k / 9 - 1), away = beside + chance(beside) - at;
    if (dot(away, away) < near) { near = dot(away, away); own = beside; }
  }
  vec3 lies = normalize(chance(own + 17.) - .5);
  float angle = abs(dot(lies, d));
  vec3 hue = .5 + .5 * cos(6.2832 * (1.15 * angle + chance(own + 5.).x * .5 + vec3(0., .33, .67)));
  return hue * (.10 + .55 * smoothstep(.35, .95, angle)) * (.6 + .4 * dull(toEye(vec3(0., 0., 1.))));
}
void main() {
  vec3 eye = uFlat > .5 ? vec3(0, 0, -1) : normalize(vEye);
  vec3 d = vRow0 * eye.x + vRow1 * eye.y + vRow2 * eye.z;
  vec3 n = normalize(vNormal);
  float cosine = -dot(d, n);
  if (cosine < .02) { n = normalize(n - d * (.02 - cosine)); cosine = .02; }
  float f0 = (uIndex - 1.) / (uIndex + 1.);
  f0 *= f0;
  float f = f0 + (1. - f0) * pow(1. - cosine, 5.);
  vec3 ne = toEye(n), re = toEye(reflect(d, n));
  vec3 c;
  if (uBody == 0 && uCount > 0) {
    vec3 light;
    if (uBounces == 0) light = glance(d, n);
    else if (uWhole > .5) {   // each colour goes its own way from the start
      light.r = inside(vSpot, refract(d, n, 1. / (uIndex - .45 * uSpread)), uIndex - .45 * uSpread, 0.).r;
      light.g = inside(vSpot, refract(d, n, 1. / uIndex), uIndex, 0.).g;
      light.b = inside(vSpot, refract(d, n, 1. / (uIndex + .45 * uSpread)), uIndex + .45 * uSpread, 0.).b;
    } else {
      light = inside(vSpot, refract(d, n, 1. / uIndex), uIndex, .6 * uSpread);
    }
    c = light * (1. - f) + f * sky(re, 0.);
  } else if (uBody == 0) {   // clear and smooth: light gathers on the side away from it
    vec3 in1 = refract(d, n, 1. / uIndex);
    float deep = clamp(-in1.z, 0., 1.);
    vec3 glow = dull(toEye(normalize(vec3(-n.x, -n.y, abs(n.z) + .3))));
    c = (1. - f) * (uColour * (.30 + 1.1 * glow * (1. - .5 * deep)) * mix(.55, 1., 1. - cosine * .6));
    c += f * sky(re, 0.);
  } else if (uBody == 1 || uBody == 4) {
    c = uColour * (.36 * dull(ne) + .42 * dull(toEye(normalize(vec3(-n.xy, 1.))))) + f * sky(re, 0.);
    c += .12 * pow(cosine, 6.) * vec3(.55, .7, 1.);
    if (uBody == 4) c = mix(c, c * .55, .5) + (1. - f) * play(d);
  } else if (uBody == 2) {
    c = uColour * dull(ne) * .95 + (f * .9 + .01) * sky(re, 0.);
  } else {
    vec3 over = mix(vec3(1., .90, .93), vec3(.90, 1., .95), smoothstep(.2, .95, cosine));
    c = uColour * over * (.52 * dull(ne) + .08) + over * (f + .04) * 2.4 * sky(re, 3.) + (f + .03) * sky(re, 0.);
  }
  float lit = uGlow > 0. && abs(vNumber - uMarked) < .5 ? uGlow : 0.;
  c = mix(c, uLit * (.4 + dot(c, vec3(.35))), lit);
  oColour = vec4(min(c, vec3(14.)), 1.);
}`;
