// What is drawn over the piece: measures as dimension lines that can be pulled, callipers, marks of remarks.

import { dot } from "./turning.js";
import { by } from "./state.js";

const NS = "http://www.w3.org/2000/svg";
const OFF = 30; // pixels from the piece to a dimension line
const OUTLINE = 400; // spots of the piece that tell how far out it reaches
const EDGE = 34; // pixels of a picture that are left free at its edges

function line(a, b, kind) {
  const node = document.createElementNS(NS, "line");
  for (const [name, value] of [["x1", a[0]], ["y1", a[1]], ["x2", b[0]], ["y2", b[1]]]) node.setAttribute(name, value.toFixed(1));
  node.setAttribute("class", kind);
  return node;
}

function ring(at, radius, kind) {
  const node = document.createElementNS(NS, "circle");
  node.setAttribute("cx", at[0].toFixed(1));
  node.setAttribute("cy", at[1].toFixed(1));
  node.setAttribute("r", radius);
  node.setAttribute("class", kind);
  return node;
}

// Short strokes at both ends, as in a drawing.
function ended(svg, a, b, kind) {
  svg.append(line(a, b, kind));
  const far = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
  const across = [(-(b[1] - a[1]) / far) * 5, ((b[0] - a[0]) / far) * 5];
  for (const end of [a, b]) {
    svg.append(line([end[0] - across[0], end[1] - across[1]], [end[0] + across[0], end[1] + across[1]], kind));
  }
}

export class Marks {
  constructor(svg, grips) {
    this.svg = svg;
    this.grips = grips; // above the figures, so that none covers them
    this.figures = []; // {told, chip, ends}
    this.callipers = []; // {from, to, says}
    this.spots = []; // {spot, kind}
    this.says = null; // {spot, node}
    this.shown = true;
    this.cut = null; // {way, along}
    this.focus = "";
  }

  // All of it for a look, in a picture of that many pixels, beside a piece of those `spots`, its `middle` told.
  place(look, width, height, middle, spots) {
    const { svg } = this;
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.replaceChildren();
    this.grips.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.grips.replaceChildren();
    this.foot = 24 + by("saying").offsetHeight; // for the words below it
    let row = 0;
    const centre = look.onto(middle, width, height), placed = [], step = Math.ceil(spots.length / OUTLINE);
    const outline = spots.filter((one, k) => k % step === 0 && this.stands(one)).map((one) => look.onto(one, width, height));
    // How far along a way some spots go to lie beside the piece, and by how much the picture is too `short` for it.
    const beside = (from, way, more) => {
      const along = (p) => way[0] * p[0] + way[1] * p[1], high = Math.max(...outline.map(along));
      const wanted = Math.max(0, high - Math.min(...from.map(along))) + OFF * 0.6 + more;
      const room = Math.min(...from.flatMap((p) => [width, height - this.foot].map(
        (one, k) => (way[k] > 0 ? one - EDGE - p[k] : p[k] - EDGE) / Math.max(Math.abs(way[k]), 1e-6))));
      return { by: Math.max(OFF, Math.min(wanted, room)), short: Math.max(0, wanted - room) };
    };
    for (const figure of this.figures) {
      const hidden = !this.shown;
      figure.chip.hidden = hidden;
      if (hidden) continue;
      const at = this.dimension(figure, look, width, height, centre, beside, 20 * (row++ % 3));
      if (!at) figure.chip.hidden = true;
      else placed.push({ figure, at, wide: figure.chip.offsetWidth || 90, tall: figure.chip.offsetHeight || 24 });
    }
    this.apart(placed, width, height);
    for (const { figure, at, from, wide, tall } of placed) {
      figure.chip.style.transform = `translate(${Math.round(at[0] - wide / 2)}px, ${Math.round(at[1] - tall / 2)}px)`;
      if (Math.hypot(at[0] - from[0], at[1] - from[1]) > tall) {
        svg.prepend(line(from, at, "leader"));
      }
    }
    for (const { from, to, says } of this.callipers) {
      const a = look.onto(from, width, height);
      svg.append(ring(a, 4, "calliper"));
      if (!to) continue;
      const b = look.onto(to, width, height);
      ended(svg, a, b, "calliper");
      svg.append(ring(b, 4, "calliper"));
      const text = document.createElementNS(NS, "text");
      text.setAttribute("x", (Math.max(a[0], b[0]) + 10).toFixed(1));
      text.setAttribute("y", ((a[1] + b[1]) / 2 + 5).toFixed(1));
      text.setAttribute("class", "calliper");
      text.textContent = says;
      svg.append(text);
    }
    for (const { spot, kind } of this.spots) {
      const at = look.onto(spot, width, height);
      svg.append(ring(at, 15, `spot ${kind}`), ring(at, 2, `spot dot ${kind}`));
    }
    if (this.says) {
      const { node, spot } = this.says, at = spot ? look.onto(spot, width, height) : [0, 0];
      const x = Math.max(8, Math.min(at[0] + 14, width - node.offsetWidth - 8));
      const y = Math.max(8, Math.min(at[1] + 14, height - node.offsetHeight - 8));
      node.style.transform = `translate(${Math.round(x)}px, ${Math.round(y)}px)`;
      if (spot) svg.append(ring(at, 3, "said"));
    }
  }

  // Whether a spot is on the side that is not sawn off.
  stands(spot) {
    return !this.cut || dot(this.cut.way, spot) <= this.cut.along;
  }

  // One measure's dimension line, beside the piece where there is room; gives where its figure stands, or null
  // where it has no place.
  dimension(figure, look, width, height, centre, beside, more) {
    const { told, chip } = figure, lit = chip.matches(":hover, :focus-within") || this.focus === told.name;
    const kind = `figure${lit ? " lit" : ""}${told.tried ? " tried" : ""}${told.own ? "" : " reckoned"}`;
    const standing = told.stretches.filter((one) => this.stands(one.from) && this.stands(one.to));
    const stretches = lit ? standing : standing.slice(0, 1);
    let at = null;
    figure.pull = null;
    for (const stretch of stretches) {
      const a = look.onto(stretch.from, width, height), b = look.onto(stretch.to, width, height);
      const far = Math.hypot(b[0] - a[0], b[1] - a[1]), middle = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
      if (far < 5) {
        at = at || this.outward(middle, centre, beside, more);
        this.svg.append(line(middle, at, "leader"));
        continue;
      }
      let off = [-(b[1] - a[1]) / far, (b[0] - a[0]) / far];
      if (off[0] * (middle[0] - centre[0]) + off[1] * (middle[1] - centre[1]) < 0) off = [-off[0], -off[1]];
      const move = (p, k) => [p[0] + off[0] * k, p[1] + off[1] * k];
      const there = [-off[0], -off[1]];
      if (beside([a, b], there, more).short < beside([a, b], off, more).short) off = there;
      const off1 = beside([a, b], off, more).by;
      this.svg.append(line(move(a, 3), move(a, off1 + 5), `${kind} thin`), line(move(b, 3), move(b, off1 + 5), `${kind} thin`));
      ended(this.svg, move(a, off1), move(b, off1), kind);
      at = at || move(middle, off1 + (Math.abs(off[0]) > 0.6 ? 34 : 17));
      figure.pull = figure.pull || { way: [(b[0] - a[0]) / far, (b[1] - a[1]) / far], perMm: far / Math.max(told.value, 1e-6) };
      if (told.own) {
        for (const end of [a, b]) {
          const grip = ring(move(end, off1), 7, `grip${lit ? " lit" : ""}`);
          grip.dataset.measure = told.name;
          grip.dataset.end = end === b ? "1" : "-1";
          this.grips.append(grip);
        }
      }
    }
    if (!at && told.at && !told.stretches.length && this.stands(told.at)) {
      const spot = look.onto(told.at, width, height);
      at = this.outward(spot, centre, beside, more);
      this.svg.append(line(spot, at, "leader"), ring(spot, 2, "leader"));
    }
    return at;
  }

  outward(at, centre, beside, more) {
    const far = Math.hypot(at[0] - centre[0], at[1] - centre[1]);
    const way = far < 1 ? [0, -1] : [(at[0] - centre[0]) / far, (at[1] - centre[1]) / far], { by: apart } = beside([at], way, more);
    return [at[0] + way[0] * apart, at[1] + way[1] * apart];
  }

  // Moves figures off each other and into the picture.
  apart(placed, width, height) {
    for (const one of placed) one.from = [...one.at];
    for (let round = 0; round < 24; round++) {
      for (let i = 0; i < placed.length; i++) {
        const a = placed[i];
        for (let j = i + 1; j < placed.length; j++) {
          const b = placed[j], dx = b.at[0] - a.at[0], dy = b.at[1] - a.at[1];
          const roomX = (a.wide + b.wide) / 2 + 6 - Math.abs(dx), roomY = (a.tall + b.tall) / 2 + 4 - Math.abs(dy);
          if (roomX <= 0 || roomY <= 0) continue;
          const push = (dy < 0 ? -1 : 1) * roomY * 0.5;
          a.at[1] -= push;
          b.at[1] += push;
        }
        a.at[0] = Math.max(a.wide / 2 + 6, Math.min(width - a.wide / 2 - 6, a.at[0]));
        a.at[1] = Math.max(a.tall / 2 + 6, Math.min(height - a.tall / 2 - this.foot, a.at[1]));
      }
    }
  }
}

