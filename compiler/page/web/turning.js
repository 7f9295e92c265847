// Turns and looks: plain three-figure vectors, quaternions [x, y, z, w], and how the piece is looked at.

export const plus = (a, b) => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const times = (a, k) => [a[0] * k, a[1] * k, a[2] * k];
export const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const size = (a) => Math.hypot(a[0], a[1], a[2]);
export const unit = (a) => times(a, 1 / Math.max(size(a), 1e-12));
export const cross = (a, b) => [
  a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0],
];
export const mix = (a, b, t) => a.map((one, k) => one + (b[k] - one) * t);

export const UNTURNED = [0, 0, 0, 1];

export function about(axis, angle) {
  const [x, y, z] = times(unit(axis), Math.sin(angle / 2));
  return [x, y, z, Math.cos(angle / 2)];
}

// First b, then a.
export function then(a, b) {
  const [ax, ay, az, aw] = a, [bx, by, bz, bw] = b;
  return [
    aw * bx + ax * bw + ay * bz - az * by, aw * by - ax * bz + ay * bw + az * bx,
    aw * bz + ax * by - ay * bx + az * bw, aw * bw - ax * bx - ay * by - az * bz,
  ];
}

export function between(from, to) {
  const a = unit(from), b = unit(to), axis = cross(a, b);
  if (size(axis) < 1e-9) return dot(a, b) > 0 ? UNTURNED : about(Math.abs(a[0]) < 0.9 ? cross(a, [1, 0, 0]) : cross(a, [0, 1, 0]), Math.PI);
  return about(axis, Math.acos(Math.max(-1, Math.min(1, dot(a, b)))));
}

// Rows of the turn, nine figures.
export function rows([x, y, z, w]) {
  return [
    1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w),
    2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w),
    2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y),
  ];
}

export function turned(m, p) {
  return [
    m[0] * p[0] + m[1] * p[1] + m[2] * p[2], m[3] * p[0] + m[4] * p[1] + m[5] * p[2],
    m[6] * p[0] + m[7] * p[1] + m[8] * p[2],
  ];
}

export function back(m, p) {
  return [
    m[0] * p[0] + m[3] * p[1] + m[6] * p[2], m[1] * p[0] + m[4] * p[1] + m[7] * p[2],
    m[2] * p[0] + m[5] * p[1] + m[8] * p[2],
  ];
}

// The turn whose rows are three square directions.
export function fromRows(right, up, toward) {
  const m = [...right, ...up, ...toward];
  const trace = m[0] + m[4] + m[8];
  let q;
  if (trace > 0) {
    const s = 2 * Math.sqrt(trace + 1);
    q = [(m[7] - m[5]) / s, (m[2] - m[6]) / s, (m[3] - m[1]) / s, s / 4];
  } else if (m[0] > m[4] && m[0] > m[8]) {
    const s = 2 * Math.sqrt(1 + m[0] - m[4] - m[8]);
    q = [s / 4, (m[1] + m[3]) / s, (m[2] + m[6]) / s, (m[7] - m[5]) / s];
  } else if (m[4] > m[8]) {
    const s = 2 * Math.sqrt(1 + m[4] - m[0] - m[8]);
    q = [(m[1] + m[3]) / s, s / 4, (m[5] + m[7]) / s, (m[2] - m[6]) / s];
  } else {
    const s = 2 * Math.sqrt(1 + m[8] - m[0] - m[4]);
    q = [(m[2] + m[6]) / s, (m[5] + m[7]) / s, s / 4, (m[3] - m[1]) / s];
  }
  const n = Math.hypot(...q);
  return q.map((one) => one / n);
}

export function slerp(a, b, t) {
  let cosine = a.reduce((sum, one, k) => sum + one * b[k], 0);
  const to = cosine < 0 ? b.map((one) => -one) : b;
  cosine = Math.abs(cosine);
  if (cosine > 0.9995) {
    const q = mix(a, to, t), n = Math.hypot(...q);
    return q.map((one) => one / n);
  }
  const angle = Math.acos(cosine), k = Math.sin(angle);
  const one = Math.sin((1 - t) * angle) / k, two = Math.sin(t * angle) / k;
  return a.map((v, j) => v * one + to[j] * two);
}

const LENS = Math.tan((13 * Math.PI) / 180); // of half the angle it takes in

// How the piece is looked at: `turn` of the piece to the onlooker, `at` the spot (mm) in the middle of
// the picture, `half` mm from there to its upper edge, `flat` without perspective.
export class Look {
  constructor() {
    this.turn = UNTURNED;
    this.at = [0, 0, 0];
    this.half = 20;
    this.flat = false;
  }

  copy() {
    return Object.assign(new Look(), this, { turn: [...this.turn], at: [...this.at] });
  }

  get away() {
    return this.half / LENS;
  }

  // Piece to clip space, column by column, for a picture `wide` times as wide as tall, `reach` mm deep;
  // `shift` in parts of the picture.
  matrices(wide, reach, shift = [0, 0]) {
    const m = rows(this.turn), move = turned(m, this.at).map((one) => -one);
    move[2] -= this.away;
    const near = Math.max(this.away - reach, this.away * 0.02), far = this.away + reach;
    const view = [m[0], m[3], m[6], 0, m[1], m[4], m[7], 0, m[2], m[5], m[8], 0, ...move, 1];
    const x = 1 / (this.half * wide), y = 1 / this.half, deep = far - near;
    const seen = this.flat
      ? [x, 0, 0, 0, 0, y, 0, 0, 0, 0, -2 / deep, 0, shift[0], shift[1], -(far + near) / deep, 1]
      : [x * this.away, 0, 0, 0, 0, y * this.away, 0, 0, -shift[0], -shift[1], -(far + near) / deep, -1,
        0, 0, (-2 * far * near) / deep, 0];
    return { view, seen, near, far };
  }

  // Where a spot of the piece stands in a picture of that many pixels: [x, y, depth to the onlooker].
  onto(spot, width, height) {
    const p = turned(rows(this.turn), minus(spot, this.at));
    const scale = (height / 2 / this.half) * (this.flat ? 1 : this.away / Math.max(this.away - p[2], 1e-6));
    return [width / 2 + p[0] * scale, height / 2 - p[1] * scale, p[2]];
  }

  // The ray through a spot of the picture: where it starts and which way it goes, in the piece.
  ray(x, y, width, height) {
    const m = rows(this.turn), scale = (2 * this.half) / height;
    const across = [(x - width / 2) * scale, (height / 2 - y) * scale, 0];
    if (this.flat) {
      return { from: plus(this.at, back(m, [across[0], across[1], this.away])), way: back(m, [0, 0, -1]) };
    }
    return {
      from: plus(this.at, back(m, [0, 0, this.away])),
      way: unit(back(m, [across[0], across[1], -this.away])),
    };
  }
}

// On the way from one look to another, smoothly; `t` from 0 to 1.
export function onTheWay(a, b, t) {
  const k = t * t * (3 - 2 * t), look = b.copy();
  look.turn = slerp(a.turn, b.turn, k);
  look.at = mix(a.at, b.at, k);
  look.half = Math.exp(Math.log(a.half) * (1 - k) + Math.log(b.half) * k);
  return look;
}
