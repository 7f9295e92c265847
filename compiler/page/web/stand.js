// How the piece is held: in the air, lying, hanging, on a finger; and the looks that go with it.

import { about, back, between, cross, dot, fromRows, minus, plus, rows, size, then, times, turned, unit, Look, UNTURNED } from "./turning.js";
import { across } from "./touch.js";

// The views of the drawings (views.py): right, up and toward the onlooker.
const up = [0, 0, 1];
function oblique(toward) {
  const out = unit(toward), right = unit(cross(up, out));
  return [right, cross(out, right), out];
}
export const VIEWS = {
  corner: oblique([0.46, -0.72, 0.62]),
  face: [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
  side: [[1, 0, 0], [0, 0, 1], [0, -1, 0]],
  end: [[0, 1, 0], [0, 0, 1], [1, 0, 0]],
  back: [[-1, 0, 0], [0, 1, 0], [0, 0, -1]],
};
const CLEAR = 1.16; // room round the piece

export function viewOf(name) {
  return fromRows(...VIEWS[name]);
}

// All spots that are seen: of metal and, by their girdles, of stones.
export function spotsOf(solid) {
  const { points, frames, facets, "gem-points": gems } = solid.arrays, found = [];
  const step = Math.max(1, Math.floor((points ? points.length / 3 : 0) / 6000));
  for (let k = 0; points && k < points.length; k += 3 * step) found.push([points[k], points[k + 1], points[k + 2]]);
  let first = 0;
  for (const kind of solid.kinds) {
    for (let s = 0; s < kind.stones.length; s++) {
      const f = frames.subarray(12 * (first + s), 12 * (first + s) + 12);
      for (let k = kind.facets[0]; k < kind.facets[0] + kind.facets[1]; k += 7) {
        const p = gems.subarray(3 * facets[3 * k], 3 * facets[3 * k] + 3);
        found.push([0, 1, 2].map((r) => f[4 * r] * p[0] + f[4 * r + 1] * p[1] + f[4 * r + 2] * p[2] + f[4 * r + 3]));
      }
    }
    first += kind.stones.length;
  }
  return found;
}

export function boxOf(spots) {
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  for (const p of spots) {
    for (let k = 0; k < 3; k++) {
      low[k] = Math.min(low[k], p[k]);
      high[k] = Math.max(high[k], p[k]);
    }
  }
  return spots.length ? { low, high } : { low: [-1, -1, -1], high: [1, 1, 1] };
}

// A look from a turn that takes in all spots, in a picture `wide` times as wide as tall; the lowest `foot`
// of its height is left free.
export function whole(spots, turn, wide, flat = false, foot = 0) {
  const m = rows(turn), { low, high } = boxOf(spots.map((p) => turned(m, p)));
  const look = new Look();
  look.turn = turn;
  look.flat = flat;
  look.at = back(m, times(plus(low, high), 0.5));
  look.half = Math.max((high[1] - low[1]) / 2 / (1 - foot), (high[0] - low[0]) / 2 / wide, 0.5) * CLEAR;
  if (!flat) look.half += (high[2] - low[2]) * 0.06;
  look.at = plus(look.at, back(m, [0, -foot * look.half, 0]));
  return look;
}

// --- poses

export function poseOf(name, poses, spots, breadth) {
  if (name === "lying") return lying(poses.lying, spots);
  if (name === "hanging" && poses.hanging) return hanging(poses.hanging, breadth);
  if (name === "worn" && poses.worn) return worn(poses.worn, breadth);
  return { base: UNTURNED, upright: null, things: [], table: null, first: viewOf("corner") };
}

function lying({ up: way }, spots) {
  const base = between(way, [0, 1, 0]), low = Math.min(...spots.map((p) => dot(p, way)));
  const high = Math.max(...spots.map((p) => dot(p, way)));
  const { low: a, high: b } = boxOf(spots), middle = times(plus(a, b), 0.5), wide = size(minus(b, a)) * 0.95;
  const [one, two] = across(way), tall = Math.max(high - low, 0.1);
  const row = (axis, scale, shift) => [...times(axis, scale), shift];
  const x = row(one, 1 / wide, -dot(one, middle) / wide), y = row(two, 1 / wide, -dot(two, middle) / wide);
  const z = row(way, 2 / tall, (-2 * low) / tall - 1);
  const below = [0, 1, 2, 3].flatMap((k) => [x[k], y[k], z[k], k === 3 ? 1 : 0]);
  const spot = (u, v) => plus(plus(times(one, dot(one, middle) + u * wide), times(two, dot(two, middle) + v * wide)), times(way, low));
  const sheet = new Float32Array([spot(-1, -1), spot(1, -1), spot(1, 1), spot(-1, -1), spot(1, 1), spot(-1, 1)].flat());
  const tilt = then(about([1, 0, 0], 0.75), then(about([0, 1, 0], -0.5), base));
  return { base, upright: way, things: [], first: tilt,
    table: { up: way, low, tall, below, sheet, key: Math.random() } };
}

function hanging({ loops, forward, side }, breadth) {
  const k = Math.PI / 180;
  const base = then(about([0, 0, 1], -side * k), about([1, 0, 0], forward * k));
  const m = rows(base), things = loops.map((loop, n) => {
    const turn = loops.length > 1 ? (n === 0 ? 1 : -1) * 45 * k : 0;
    const way = back(m, [-Math.sin(turn), Math.cos(turn), 0]);
    return chain(loop, way, breadth);
  });
  return { base, upright: back(m, [0, 1, 0]), things, table: null, first: then(about([0, 1, 0], -0.35), base) };
}

function worn({ middle, axis, radius, by }, breadth) {
  const way = axis[1] > 0 ? times(axis, -1) : axis;
  const base = fromRows(unit(cross([0, 0, 1], times(way, -1))), [0, 0, 1], times(way, -1));
  const long = by === "finger" ? 26 : 60;
  const tip = by === "finger" ? 30 : 70;
  return { base, upright: [0, 0, 1], table: null, things: [limb(middle, way, radius * 0.985, long, tip, by)],
    first: then(about([1, 0, 0], 0.62), then(about([0, 1, 0], -0.6), base)), breadth };
}

// --- what a pose adds

function folded([x, y, z]) {
  const sum = Math.abs(x) + Math.abs(y) + Math.abs(z);
  let a = x / sum, b = y / sum;
  if (z < 0) [a, b] = [(1 - Math.abs(b)) * (a < 0 ? -1 : 1), (1 - Math.abs(a)) * (b < 0 ? -1 : 1)];
  return [Math.round(a * 32767), Math.round(b * 32767)];
}

// Rings of given radius along a way, as a skin.
function lathe(from, way, profile, around) {
  const [one, two] = across(way), spots = [], normals = [];
  const at = (k, j) => {
    const { along, radius } = profile[k], angle = (2 * Math.PI * j) / around;
    const out = plus(times(one, Math.cos(angle)), times(two, Math.sin(angle)));
    const before = profile[Math.max(k - 1, 0)], after = profile[Math.min(k + 1, profile.length - 1)];
    const slope = (after.radius - before.radius) / Math.max(after.along - before.along, 1e-6);
    return { spot: plus(from, plus(times(way, along), times(out, radius))),
      normal: folded(unit(minus(out, times(way, slope)))) };
  };
  for (let k = 0; k + 1 < profile.length; k++) {
    for (let j = 0; j < around; j++) {
      const a = at(k, j), b = at(k, j + 1), c = at(k + 1, j + 1), d = at(k + 1, j);
      for (const one of [a, b, c, a, c, d]) {
        spots.push(...one.spot);
        normals.push(...one.normal);
      }
    }
  }
  return { spots: new Float32Array(spots), normals: new Int16Array(normals) };
}

function chain(from, way, breadth) {
  const thick = Math.max(0.3, Math.min(0.7, breadth * 0.012)), profile = [];
  for (let k = 0; k < 700; k++) {
    const along = k * thick * 0.55;
    if (along > 3 * breadth + 30) break;
    profile.push({ along, radius: thick * (0.55 + 0.45 * Math.abs(Math.sin(k * 0.62))) });
  }
  return { ...lathe(from, way, profile, 10), matte: false };
}

function limb(middle, way, radius, long, tip, by) {
  const profile = [];
  for (let k = 0; k <= 30; k++) {
    const along = -long + (k / 30) * (long + tip * 0.72);
    const swell = by === "finger" ? 0.05 * radius * Math.cos((along / tip) * 4.2) - 0.1 * radius * Math.max(0, along / tip) : 0.12 * radius * (along / long) ** 2;
    profile.push({ along, radius: radius + swell - 0.05 * radius * (by === "finger" ? 1 : 0) });
  }
  if (by === "finger") {
    const last = profile[profile.length - 1];
    for (let k = 1; k <= 14; k++) {
      const angle = (k / 14) * (Math.PI / 2);
      profile.push({ along: last.along + Math.sin(angle) * last.radius * 1.15, radius: Math.max(last.radius * Math.cos(angle), 0.01) });
    }
  }
  return { ...lathe(middle, way, profile, 56), matte: true, colour: "#c9a48c" };
}
