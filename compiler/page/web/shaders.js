// What a browser draws with: the programs of metal and stones, and those of the cut face, the table and the
// whole picture.

import { HEAD, WHOLE, BAKE } from "./room.js";
import { DITHER, METAL_POINTS, DEPTH_ONLY, METAL } from "./metal.js";
import { STONE_POINTS, STONE } from "./stone.js";

const NOTHING = `${HEAD}
void main() {}`;

// The cut face of a section.
const CAP_POINTS = `${HEAD}
layout(location = 0) in vec3 aSpot;
uniform mat4 uView, uSeen;
void main() { gl_Position = uSeen * uView * vec4(aSpot, 1.); }`;

const CAP = `${HEAD}
uniform vec3 uColour;
uniform float uGrain;
out vec4 oColour;
void main() {
  float line = abs(fract((gl_FragCoord.x + gl_FragCoord.y) / (9. * uGrain)) - .5) * 2.;
  oColour = vec4(uColour * mix(.42, .62, smoothstep(.70, .80, line)), 1.);
}`;

// The table under a piece that lies: only its shadow is drawn. uShade holds how high metal stands above it.
const TABLE = `${HEAD}
in vec3 vSpot;
uniform sampler2D uShade;
uniform mat4 uFromAbove;
uniform float uStrength;
out vec4 oColour;
${DITHER}
void main() {
  vec2 uv = (uFromAbove * vec4(vSpot, 1.)).xy * .5 + .5;
  float turn = noise(gl_FragCoord.xy) * 6.2831853, dark = 0., all = 0.;
  for (int k = 0; k < 14; k++) {
    float far = .012 + .16 * pow((float(k) + .5) / 14., 1.4);
    float angle = turn + 2.399963 * float(k), part = 1. / (.05 + far);
    vec2 s = texture(uShade, uv + far * vec2(cos(angle), sin(angle)) + vec2(.25, -.35) * far).rg;
    dark += part * s.g * (1. - smoothstep(0., .12 + 4. * far, s.r));
    all += part;
  }
  float rim = 1. - smoothstep(.75, 1., length(uv - .5) * 2.);
  oColour = vec4(0., 0., 0., min(2.3 * dark / all, 1.) * uStrength * rim);
}`;

const SHADE = `${HEAD}
in vec3 vSpot;
uniform vec4 uUp;          // the way up, and how far the table lies along it
uniform float uTall;
out vec4 oColour;
void main() { oColour = vec4((dot(vSpot, uUp.xyz) - uUp.w) / uTall, 1., 0., 1.); }`;

const COPY = `${HEAD}
in vec2 vAt;
uniform sampler2D uPicture;
out vec4 oColour;
void main() { oColour = texture(uPicture, vAt); }`;

const SHOWN = `${HEAD}
in vec2 vAt;
uniform sampler2D uPicture;
uniform vec3 uHigh, uLow;
uniform float uGrey;
out vec4 oColour;
vec3 toned(vec3 x) { return clamp((x * (2.51 * x + .03)) / (x * (2.43 * x + .59) + .14), 0., 1.); }
void main() {
  vec4 p = texture(uPicture, vAt);
  vec3 ground = mix(uLow, uHigh, smoothstep(0., 1., 1. - length((vAt - vec2(.5, .58)) * vec2(1.05, 1.25))));
  if (p.a <= 0.) {
    oColour = vec4(ground, 1.);
    return;
  }
  vec3 c = pow(toned(p.rgb / p.a * 1.06), vec3(1. / 2.2));
  float grey = dot(c, vec3(.3, .59, .11));
  c = mix(c, mix(vec3(grey), ground, .45), uGrey);
  oColour = vec4(mix(ground, c, p.a), 1.);
}`;

export const shaders = {
  METAL_POINTS, DEPTH_ONLY, METAL, STONE_POINTS, STONE, NOTHING, CAP_POINTS, CAP, TABLE, SHADE, WHOLE, BAKE, COPY, SHOWN,
};
