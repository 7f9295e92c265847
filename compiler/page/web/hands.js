// What hands do at the piece: turning, asking, callipers.

import { plus, minus, times, dot, size, about, then, rows, turned, back } from "./turning.js";
import { thinnest, metStone } from "./touch.js";
import { by, LIVE, page, words, make, plain } from "./state.js";
import { size2, stir, lightUp, fly, fitted } from "./sight.js";
import { showLines } from "./ticket.js";
import { pull } from "./figures.js";
import { trueSize } from "./saw.js";

export function say(text, spot = null, code = "") {
  const node = by("says");
  node.replaceChildren(text);
  if (code) node.append(make("code", "", code));
  node.hidden = false;
  page.marks.says = { spot, node };
  clearTimeout(page.hush);
  page.hush = setTimeout(() => { node.hidden = true; page.marks.says = null; stir(); }, 6000);
  stir();
}

function hush() {
  by("says").hidden = true;
  page.marks.says = null;
}

// What stands at a spot of the picture: {spot, triangle} of metal or {stone}.
function standing(x, y) {
  const [wide, tall] = size2(), ray = page.look.ray(x, y, wide, tall);
  const clip = page.cut ? [...page.cut.way, page.cut.along] : null;
  const castings = page.drawing.show.castings;
  const wanted = castings === null ? null : (t) => page.solid.parts[page.touch.owner(t).part].casting === castings;
  const metal = page.drawing.show.metal ? page.touch.met(ray.from, ray.way, { clip, wanted }) : null;
  const stone = page.drawing.show.stones ? metStone(page.solid, ray.from, ray.way, clip) : null;
  if (stone && (!metal || stone.far < metal.far)) return { stone, spot: plus(ray.from, times(ray.way, stone.far)) };
  if (page.cut) {
    const rate = dot(page.cut.way, ray.way), far = (page.cut.along - dot(page.cut.way, ray.from)) / rate;
    if (Number.isFinite(far) && far > 0 && (!metal || far < metal.far)) {
      const spot = plus(ray.from, times(ray.way, far));
      for (const segments of page.cut.segments) {
        const found = thinnest(segments, page.cut.way, spot);
        if (found) return { spot, face: found };
      }
    }
  }
  return metal;
}

function touched(x, y) {
  if (!page.solid) return;
  const found = standing(x, y);
  page.marks.spots = [];
  if (!found) {
    page.picks = [];
    page.marks.callipers = [];
    hush();
    return stir();
  }
  if (page.measuring || found.face) return measure(found);
  if (found.stone) return sayStone(found);
  const owner = page.touch.owner(found.triangle), feature = page.solid.features[owner.feature];
  if (!feature) return say("metal that no line owns up to", found.spot);
  const [name, word, line] = feature;
  lightUp(page.solid.features.flatMap((one, k) => (one[2] === line && line ? [k] : [])));
  if (line) showLines([line]);
  return say(`${name}${name === word ? "" : `, a ${word}`}${line && LIVE ? `: line ${line}` : ""}`, found.spot, LIVE && line ? page.text[line - 1].trim() : "");
}

function sayStone({ stone, spot }) {
  const one = stone.kind.stones.find((s) => s.number === stone.number), feature = page.solid.features[stone.feature];
  lightUp([], stone.number);
  const line = feature ? feature[2] : 0;
  if (line) showLines([line]);
  return say(`stone ${stone.number}: ${stone.kind.spoken}, ${stone.kind.cut} ${stone.kind.size.map(plain).join(" x ")} mm, ${one.weight}${line && LIVE ? `; line ${line}` : ""}`,
    spot, LIVE && line ? page.text[line - 1].trim() : "");
}

// Callipers: the first spot tells how thick metal is there, a second how far apart they are.
export function measure(found) {
  if (found.face) {
    const { far, from, to } = found.face;
    page.marks.callipers = [{ from, to, says: `${far.toFixed(2)} mm` }];
    page.measured = { kind: "section", far, spots: [from, to] };
    page.picks = [];
  } else {
    page.picks = page.picks.length === 1 ? [...page.picks, found.spot] : [found.spot];
    if (page.picks.length === 2) {
      const far = size(minus(page.picks[1], page.picks[0]));
      page.marks.callipers = [{ from: page.picks[0], to: page.picks[1], says: `${far.toFixed(2)} mm apart` }];
      page.measured = { kind: "apart", far, spots: page.picks };
    } else {
      const end = found.stone ? null : page.touch.thick(found.spot, found.triangle);
      page.marks.callipers = [{ from: found.spot, to: end && end.spot, says: end ? `${end.far.toFixed(2)} mm thick` : "" }];
      page.measured = end ? { kind: "thick", far: end.far, spots: [found.spot, end.spot] } : null;
    }
  }
  const said = page.marks.callipers[0].says;
  words(by("aloud"), said || "first spot");
  stir();
}

function orbit(dx, dy) {
  const look = page.look.copy(), upright = page.pose && page.pose.upright;
  if (upright) {
    const m = rows(look.turn), lean = turned(m, upright);
    const pitch = Math.max(-1.45, Math.min(1.45, Math.atan2(lean[2], lean[1]) + dy)) - Math.atan2(lean[2], lean[1]);
    look.turn = then(about([1, 0, 0], pitch), then(look.turn, about(upright, dx)));
  } else look.turn = then(about([1, 0, 0], dy), then(about([0, 1, 0], dx), look.turn));
  set(look);
}

function set(look) {
  page.flight = null;
  look.flat = page.truly;
  page.look = look;
  page.view = "own";
  by("view").value = "own";
  stir(true);
}

function shift(dx, dy) {
  const look = page.look.copy(), [, tall] = size2(), scale = (2 * look.half) / tall;
  look.at = plus(look.at, back(rows(look.turn), [-dx * scale, dy * scale, 0]));
  set(look);
}

function nearer(by2, x = null, y = null) {
  if (page.truly) trueSize(false);
  const look = page.look.copy(), [wide, tall] = size2(), old = look.half;
  look.half = Math.max(0.4, Math.min(page.breadth * 4, look.half * by2));
  if (x !== null) {
    const scale = 2 * (old - look.half) / tall;
    look.at = plus(look.at, back(rows(look.turn), [(x - wide / 2) * scale, (tall / 2 - y) * scale, 0]));
  }
  set(look);
}

export function hands(canvas) {
  const held = new Map();
  let moved = 0, spread = 0;
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    held.set(event.pointerId, [event.offsetX, event.offsetY]);
    if (held.size === 1) moved = 0;
    spread = 0;
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = held.get(event.pointerId);
    if (!before || !page.look) return;
    const now = [event.offsetX, event.offsetY], d = [now[0] - before[0], now[1] - before[1]];
    moved += Math.hypot(...d);
    held.set(event.pointerId, now);
    if (moved < 4) return;
    if (held.size === 2) {
      const [a, b] = [...held.values()], far = Math.hypot(a[0] - b[0], a[1] - b[1]);
      if (spread) nearer(spread / far, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2);
      spread = far;
      shift(d[0] / 2, d[1] / 2);
    } else if (event.buttons & 2 || event.shiftKey) shift(...d);
    else orbit(d[0] * 0.008, d[1] * 0.008);
  });
  const up = (event) => {
    const was = held.delete(event.pointerId);
    if (was && moved < 4 && event.type === "pointerup" && page.look) touched(event.offsetX, event.offsetY);
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  canvas.addEventListener("dblclick", () => page.look && fly(fitted(page.look.turn, page.look.flat)));
  canvas.addEventListener("wheel", (event) => {
    if (!page.look || (!LIVE && event.deltaMode === 0 && innerWidth <= 820)) return;
    event.preventDefault();
    nearer(Math.exp(Math.max(-0.4, Math.min(0.4, event.deltaY * 0.0014))), event.offsetX, event.offsetY);
  }, { passive: false });
  canvas.addEventListener("keydown", keys);
  canvas.addEventListener("focus", () => { by("crosshair").hidden = !canvas.matches(":focus-visible"); });
  canvas.addEventListener("blur", () => { by("crosshair").hidden = true; });
  by("grips").addEventListener("pointerdown", (event) => {
    const { measure: name, end } = event.target.dataset || {};
    if (name) pull(event, event.target, name, Number(end));
  });
}

function keys(event) {
  if (!page.look || event.ctrlKey || event.metaKey || event.altKey) return;
  const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  by("crosshair").hidden = false;
  if (arrow && event.shiftKey) shift(-arrow[0] * 20, -arrow[1] * 20);
  else if (arrow) orbit(arrow[0] * 0.09, arrow[1] * 0.09);
  else if (event.key === "+" || event.key === "=") nearer(0.85);
  else if (event.key === "-") nearer(1 / 0.85);
  else if (event.key === "0") fly(fitted(page.look.turn, page.look.flat));
  else if (event.key === "Enter" || event.key === " ") {
    const [wide, tall] = size2();
    touched(wide / 2, tall / 2);
  } else if (event.key === "Escape") {
    page.picks = [];
    page.marks.callipers = [];
    page.marks.spots = [];
    hush();
    stir();
  } else return;
  event.preventDefault();
}
