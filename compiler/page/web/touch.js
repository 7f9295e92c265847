// What is measured on the mesh itself: what a ray meets, how thick metal is, a section. Lengths mm.

import { cross, dot, minus, plus, times, unit } from "./turning.js";

export class Touch {
  constructor(solid) {
    this.solid = solid;
    this.points = solid.arrays.points || new Float32Array(0);
    this.corners = solid.arrays.corners || new Uint32Array(0);
    this.count = this.corners.length / 3;
  }

  corner(k) {
    const at = 3 * this.corners[k];
    return [this.points[at], this.points[at + 1], this.points[at + 2]];
  }

  // The way out of a triangle's metal.
  normal(triangle) {
    const a = this.corner(3 * triangle), b = this.corner(3 * triangle + 1), c = this.corner(3 * triangle + 2);
    return unit(cross(minus(b, a), minus(c, a)));
  }

  // The part and feature a triangle is of.
  owner(triangle) {
    const run = this.solid.runs.find(([, , first, count]) => triangle >= first && triangle < first + count);
    return run ? { part: run[0], feature: run[1] } : null;
  }

  // The first triangle that a ray meets farther than `after` and nearer than `before`, of those that
  // `wanted` (a test of a triangle's number) lets count: {spot, far, triangle, into}; `into` whether from outside.
  met(from, way, { after = 1e-6, before = Infinity, wanted = null, clip = null } = {}) {
    let best = null, far = before;
    const { points, corners } = this, [dx, dy, dz] = way, [ox, oy, oz] = from;
    for (let t = 0; t < this.count; t++) {
      const a = 3 * corners[3 * t], b = 3 * corners[3 * t + 1], c = 3 * corners[3 * t + 2];
      const ax = points[a], ay = points[a + 1], az = points[a + 2];
      const e1x = points[b] - ax, e1y = points[b + 1] - ay, e1z = points[b + 2] - az;
      const e2x = points[c] - ax, e2y = points[c + 1] - ay, e2z = points[c + 2] - az;
      const px = dy * e2z - dz * e2y, py = dz * e2x - dx * e2z, pz = dx * e2y - dy * e2x;
      const det = e1x * px + e1y * py + e1z * pz;
      if (det === 0) continue;
      const sx = ox - ax, sy = oy - ay, sz = oz - az;
      const u = (sx * px + sy * py + sz * pz) / det;
      if (u < 0 || u > 1) continue;
      const qx = sy * e1z - sz * e1y, qy = sz * e1x - sx * e1z, qz = sx * e1y - sy * e1x;
      const v = (dx * qx + dy * qy + dz * qz) / det;
      if (v < 0 || u + v > 1) continue;
      const d = (e2x * qx + e2y * qy + e2z * qz) / det;
      if (d <= after || d >= far) continue;
      if (clip && dot(clip, [ox + dx * d, oy + dy * d, oz + dz * d]) > clip[3]) continue;
      if (wanted && !wanted(t)) continue;
      far = d;
      best = { far: d, triangle: t, into: det > 0 };
    }
    if (best) best.spot = plus(from, times(way, best.far));
    return best;
  }

  // How thick metal is under a spot of its face: straight in, to where it ends. {far, spot} or null.
  thick(spot, triangle) {
    const way = times(this.normal(triangle), -1);
    return this.met(spot, way, { after: 1e-4 });
  }

  // The triangle that is nearest to a spot, and the nearest place on it.
  nearest(spot) {
    let best = null, far = Infinity;
    for (let t = 0; t < this.count; t++) {
      const a = this.corner(3 * t), b = this.corner(3 * t + 1), c = this.corner(3 * t + 2);
      const place = onTriangle(spot, a, b, c), apart = minus(place, spot), d = dot(apart, apart);
      if (d < far) {
        far = d;
        best = { triangle: t, spot: place };
      }
    }
    if (best) best.far = Math.sqrt(far);
    return best;
  }

  // The section by the plane way . p = along, part by part: segments [a, b] of three figures each, metal
  // on one side of all of them. Corners just in the plane count as above it.
  section(way, along) {
    const found = this.solid.parts.map(() => []);
    const above = new Float64Array(this.points.length / 3);
    for (let k = 0; k < above.length; k++) {
      above[k] = way[0] * this.points[3 * k] + way[1] * this.points[3 * k + 1] + way[2] * this.points[3 * k + 2] - along;
    }
    for (const [part, , first, count] of this.solid.runs) {
      for (let t = first; t < first + count; t++) {
        const n = [this.corners[3 * t], this.corners[3 * t + 1], this.corners[3 * t + 2]];
        const up = n.map((k) => above[k] >= 0), sum = up[0] + up[1] + up[2];
        if (sum === 0 || sum === 3) continue;
        const lone = up.findIndex((one) => one === (sum === 1));
        const tip = n[lone], one = n[(lone + 1) % 3], two = n[(lone + 2) % 3];
        const a = this.crossed(tip, one, above), b = this.crossed(tip, two, above);
        found[part].push(sum === 1 ? [a, b] : [b, a]);
      }
    }
    return found;
  }

  crossed(a, b, above) {
    const t = above[a] / (above[a] - above[b]), p = this.points;
    return [0, 1, 2].map((k) => p[3 * a + k] + t * (p[3 * b + k] - p[3 * a + k]));
  }
}

function onTriangle(p, a, b, c) {
  const ab = minus(b, a), ac = minus(c, a), ap = minus(p, a);
  const d1 = dot(ab, ap), d2 = dot(ac, ap);
  if (d1 <= 0 && d2 <= 0) return a;
  const bp = minus(p, b), d3 = dot(ab, bp), d4 = dot(ac, bp);
  if (d3 >= 0 && d4 <= d3) return b;
  const vc = d1 * d4 - d3 * d2;
  if (vc <= 0 && d1 >= 0 && d3 <= 0) return plus(a, times(ab, d1 / (d1 - d3)));
  const cp = minus(p, c), d5 = dot(ab, cp), d6 = dot(ac, cp);
  if (d6 >= 0 && d5 <= d6) return c;
  const vb = d5 * d2 - d1 * d6;
  if (vb <= 0 && d2 >= 0 && d6 <= 0) return plus(a, times(ac, d2 / (d2 - d6)));
  const va = d3 * d6 - d5 * d4;
  if (va <= 0 && d4 - d3 >= 0 && d5 - d6 >= 0) {
    return plus(b, times(minus(c, b), (d4 - d3) / (d4 - d3 + d5 - d6)));
  }
  const k = 1 / (va + vb + vc);
  return plus(a, plus(times(ab, vb * k), times(ac, vc * k)));
}

// Two square directions in a plane.
export function across(way) {
  const one = unit(cross(Math.abs(way[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0], way));
  return [one, cross(way, one)];
}

// Segments of a section as a fan from one spot: where an odd number of its triangles lie, there is metal.
export function fan(segments) {
  const spots = new Float32Array(segments.length * 9);
  if (!segments.length) return spots;
  const middle = segments[0][0];
  segments.forEach(([a, b], k) => {
    spots.set(middle, 9 * k);
    spots.set(a, 9 * k + 3);
    spots.set(b, 9 * k + 6);
  });
  return spots;
}

// The area of a section, mm2: half the sum of the fan's triangles, with their signs.
export function area(segments, way) {
  if (!segments.length) return 0;
  const middle = segments[0][0];
  return Math.abs(segments.reduce(
    (sum, [a, b]) => sum + dot(way, cross(minus(a, middle), minus(b, middle))) / 2, 0));
}

const TURNS = 90;

// The least thickness of a cut face through a spot of it: {far, from, to}, or null outside metal. All
// directions are tried, then those about the best more closely.
export function thinnest(segments, way, spot) {
  const [one, two] = across(way);
  const flat = segments.map(([a, b]) => [dot(minus(a, spot), one), dot(minus(a, spot), two),
    dot(minus(b, spot), one), dot(minus(b, spot), two)]);
  const through = (angle) => chord(flat, Math.cos(angle), Math.sin(angle));
  if (!through(0.1234)) return null;
  let best = null, turn = 0, step = Math.PI / TURNS;
  for (let k = 0; k < TURNS; k++) {
    const found = through(k * step);
    if (found && (!best || found.far < best.far)) [best, turn] = [found, k * step];
  }
  for (; best && step > 1e-6; step /= 2) {
    for (const angle of [turn - step, turn + step]) {
      const found = through(angle);
      if (found && found.far < best.far) [best, turn] = [found, angle];
    }
  }
  if (!best) return null;
  const along = plus(times(one, Math.cos(turn)), times(two, Math.sin(turn)));
  return { far: best.far, from: plus(spot, times(along, best.back)), to: plus(spot, times(along, best.ahead)) };
}

// The stretch of metal through the origin along (c, s); null where there is none.
function chord(flat, c, s) {
  let ahead = Infinity, behind = -Infinity, crossings = 0;
  for (const [ax, ay, bx, by] of flat) {
    const a = c * ay - s * ax, b = c * by - s * bx;
    if ((a >= 0) === (b >= 0)) continue;
    const t = a / (a - b), far = c * (ax + t * (bx - ax)) + s * (ay + t * (by - ay));
    if (far >= 0) {
      crossings++;
      ahead = Math.min(ahead, far);
    } else behind = Math.max(behind, far);
  }
  return crossings % 2 && Number.isFinite(behind) ? { far: ahead - behind, ahead, back: behind } : null;
}

// The stone that a ray meets first, by its planes: {number, far} or null; of those on the near side of
// the plane `clip` (way, along).
export function metStone(solid, from, way, clip = null) {
  let best = null, first = 0;
  for (const kind of solid.kinds) {
    const [start, count] = kind.planes, { planes, frames } = solid.arrays;
    kind.stones.forEach((stone, k) => {
      const f = frames.subarray(12 * (first + k), 12 * (first + k) + 12);
      const column = (j, v) => f[j] * v[0] + f[4 + j] * v[1] + f[8 + j] * v[2];
      if (clip && dot(clip, [f[3], f[7], f[11]]) > clip[3] + 1e-3) return;
      const off = minus(from, [f[3], f[7], f[11]]);
      const p = [column(0, off), column(1, off), column(2, off)], d = [column(0, way), column(1, way), column(2, way)];
      const far = count ? throughPlanes(planes, start, count, p, d)
        : throughFacets(solid.arrays, kind.facets, p, d);
      if (far !== null && (!best || far < best.far)) best = { number: stone.number, feature: stone.feature, far, kind };
    });
    first += kind.stones.length;
  }
  return best;
}

function throughPlanes(planes, start, count, p, d) {
  let near = -Infinity, far = Infinity;
  for (let k = start; k < start + count; k++) {
    const rate = planes[4 * k] * d[0] + planes[4 * k + 1] * d[1] + planes[4 * k + 2] * d[2];
    const room = planes[4 * k + 3] - planes[4 * k] * p[0] - planes[4 * k + 1] * p[1] - planes[4 * k + 2] * p[2];
    if (Math.abs(rate) < 1e-12) {
      if (room < 0) return null;
    } else if (rate < 0) near = Math.max(near, room / rate);
    else far = Math.min(far, room / rate);
  }
  return near <= far && near > 0 ? near : null;
}

function throughFacets({ facets, "gem-points": gems }, [start, count], p, d) {
  let best = null;
  const corner = (k) => [...gems.subarray(3 * facets[k], 3 * facets[k] + 3)];
  for (let t = start; t < start + count; t++) {
    const a = corner(3 * t), b = corner(3 * t + 1), c = corner(3 * t + 2);
    const one = minus(b, a), two = minus(c, a), q = cross(d, two), det = dot(one, q);
    if (det <= 1e-14) continue;
    const s = minus(p, a), u = dot(s, q) / det, r = cross(s, one), v = dot(d, r) / det;
    if (u < 0 || v < 0 || u + v > 1) continue;
    const far = dot(two, r) / det;
    if (far > 0 && (best === null || far < best)) best = far;
  }
  return best;
}
