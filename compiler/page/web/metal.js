// What comes of the light that falls on metal.

import { HEAD, SKY, UNFOLD } from "./room.js";

export const DITHER = `
uniform float uPass;
float noise(vec2 p) {
  p += 5.588238 * uPass;
  return fract(52.9829189 * fract(dot(p, vec2(.06711056, .00583715))));
}
`;

// Metal, chain and finger.
export const METAL_POINTS = `${HEAD}
layout(location = 0) in vec3 aSpot;
layout(location = 1) in vec2 aNormal;
uniform mat4 uView, uSeen;
out vec3 vEye, vNormal, vSpot;
${UNFOLD}
void main() {
  vec4 eye = uView * vec4(aSpot, 1.);
  vEye = eye.xyz;
  vNormal = mat3(uView) * unfolded(aNormal);
  vSpot = aSpot;
  gl_Position = uSeen * eye;
}`;

export const DEPTH_ONLY = `${HEAD}
in vec3 vSpot;
uniform vec4 uCut;
void main() { if (dot(vSpot, uCut.xyz) > uCut.w) discard; }`;

export const METAL = `${HEAD}
in vec3 vEye, vNormal, vSpot;
uniform mat4 uSeen;
uniform vec4 uCut;
uniform vec3 uColour, uLit, uMiddle;
uniform float uGlow, uField, uFlat, uMatte, uReach, uNear;
uniform highp sampler2D uDepth;
uniform vec2 uNearFar;
uniform int uLooks;
out vec4 oColour;
${SKY}${DITHER}
float eyeDepth(vec2 uv) {
  float z = texture(uDepth, uv).r * 2. - 1.;
  float n = uNearFar.x, f = uNearFar.y;
  return uFlat > .5 ? (z * (f - n) + f + n) * .5 : 2. * f * n / (f + n - z * (f - n));
}
// How far a way from here is open: 0 where metal stands close by, 1 where nothing does.
float open(vec3 way, float reach, float start) {
  float worst = 0.;
  for (int k = 0; k < 6; k++) {
    if (k >= uLooks) break;
    float t = reach * pow((float(k) + start) / float(uLooks), 1.6);
    vec4 q = uSeen * vec4(vEye + way * t, 1.);
    vec2 uv = q.xy / q.w * .5 + .5;
    float behind = -(vEye.z + way.z * t) - eyeDepth(uv);
    float near = smoothstep(.02, .08, behind) * (1. - smoothstep(.5 * reach, reach, behind));
    worst = max(worst, near * (1. - t / reach * .6));
  }
  return 1. - worst;
}
void main() {
  if (dot(vSpot, uCut.xyz) > uCut.w) discard;
  vec3 to = uFlat > .5 ? vec3(0, 0, 1) : normalize(-vEye);
  vec3 n = normalize(vNormal);
  if (!gl_FrontFacing && uCut.w < 1e8) n = -n;
  float facing = dot(n, to);
  if (facing < .02) n = normalize(n + to * (.02 - facing));
  facing = max(dot(n, to), .02);
  vec3 r = reflect(-to, n);
  float start = noise(gl_FragCoord.xy);
  vec3 c;
  if (uMatte > .5) {
    float hollow = uLooks > 0 ? open(normalize(n + .3 * to), uReach, start) : 1.;
    c = uColour * dull(n) * 1.1 * mix(.35, 1., hollow);
    c += .03 * dull(r) + uColour * .25 * pow(1. - facing, 3.);
  } else {
    vec3 f = uColour + (1. - uColour) * pow(1. - facing, 5.) * .7;
    vec3 light = sky(normalize(r + (vEye - uMiddle) * uNear), uField);   // the room is near: no flat face shows one spot of it
    float clear = 1., hollow = 1.;
    if (uLooks > 0) {
      clear = open(r, uReach, start);
      hollow = open(normalize(n + .6 * vec3(sin(start * 39.), cos(start * 39.), 0.)), uReach * .5, fract(start * 7.));
    }
    vec3 own = uColour * (.20 + .5 * dull(normalize(vec3(r.x, -r.y, r.z) + n)));
    light = mix(own * .55, light, clear);
    vec3 hue = f / max(f.r, max(f.g, f.b));   // what is dim has been thrown back more than once
    c = f * light * mix(hue, vec3(1.), smoothstep(.04, .75, dot(light, vec3(.3, .5, .2)))) * mix(.55, 1., hollow);
    c += uColour * dull(n) * .06;
  }
  c = mix(c, uLit * (.35 + .9 * dot(c, vec3(.3, .5, .2))), uGlow);
  oColour = vec4(min(c, vec3(12.)), 1.);
}`;
