// How the piece is looked at, picture by picture.

import { onTheWay } from "./turning.js";
import { usual } from "./size.js";
import { viewOf, whole, poseOf } from "./stand.js";
import { by, STILL, CALM, DARK, FLIGHT, REST, FAINT, page, plain } from "./state.js";

export function size2() {
  const canvas = by("piece"), ratio = Math.min(window.devicePixelRatio || 1, 2);
  const wide = canvas.clientWidth || 300, tall = canvas.clientHeight || 300;
  const pixels = [Math.round(wide * ratio), Math.round(tall * ratio)];
  if (`${page.drawing.full}` !== `${pixels}`) {
    page.drawing.full = pixels;
    page.drawing.again();
  }
  return [wide, tall];
}

export function theme() {
  const style = getComputedStyle(document.documentElement);
  const plain = (name) => {
    const v = style.getPropertyValue(name).trim();
    return [1, 3, 5].map((k) => parseInt(v.slice(k, k + 2), 16) / 255);
  };
  page.drawing.theme = { tent: DARK.matches ? 0.4 : 1, high: plain("--high"), low: plain("--low") };
  page.drawing.glow.colour = DARK.matches ? [0.25, 0.9, 0.75] : [0.05, 0.55, 0.48];
  stir();
}

// Something to be seen has changed.
export function stir(moving = false) {
  if (!page.drawing) return;
  page.drawing.again();
  page.stirred = true;
  if (moving) page.moved = performance.now();
  if (page.light && page.light !== -1) return;
  clearTimeout(page.wake);
  page.light = requestAnimationFrame(frame);
}

function frame(now) {
  page.light = null;
  if (!page.look || page.frozen) return;
  if (page.flight) {
    const t = Math.min(1, (now - page.flight.since) / FLIGHT);
    page.look = t < 1 ? onTheWay(page.flight.from, page.flight.to, t) : page.flight.to;
    page.moved = now;
    if (t >= 1) page.flight = null;
    page.drawing.again();
  }
  glimmer(now);
  const [wide, tall] = size2(), before = performance.now();
  const turning = page.flight !== null || now - page.moved < REST || page.coarse;
  if (page.truly) page.look.half = tall / 2 / usual();
  const table = page.pose && page.pose.table && page.drawing.show.metal && !page.cut ? page.pose.table : null;
  const more = page.drawing.draw(page.look, { turning, reach: page.breadth * 1.6 + 30, table });
  if (turning || page.stirred) page.marks.place(page.look, wide, tall, page.middle, page.spots);
  page.stirred = false;
  // What is only tried is drawn once: the next step, or the fine piece, comes soon.
  const enough = page.coarse && page.told.rough && !page.flight && !page.glowing;
  if (page.drawing.soft) page.drawing.done(); // the processor draws: no heap of pictures that wait
  if (page.coarse) {
    page.coarse = false;
    if (!page.drawing.soft) page.drawing.done();
    drawn();
    page.moved = now - REST + (page.drawing.soft ? 120 : 30);
  }
  pace(performance.now() - before, turning);
  document.documentElement.dataset.fine = String(page.drawing.passes);
  if (enough || (!turning && !more && !page.flight)) return;
  page.light = -1;
  const rest = page.drawing.soft && !turning ? Math.min(80, page.took * 0.3) : 0;
  if (!rest) page.light = requestAnimationFrame(frame);
  else page.wake = setTimeout(() => { page.light = requestAnimationFrame(frame); }, rest);
}

// The piece that came last stands drawn.
export function drawn() {
  page.drawn = page.have;
  document.documentElement.dataset.drawn = String(page.have);
}

// Grain while turning goes by how long pictures take.
function pace(took, turning) {
  page.took = took;
  if (!turning) return;
  const { drawing } = page, gap = drawing.soft ? took : performance.now() - (page.before || 0);
  page.before = performance.now();
  if (gap > 400 && !drawing.soft) return; // it had been still
  page.gap = page.gap ? page.gap * 0.7 + gap * 0.3 : gap;
  const way = page.gap > (drawing.soft ? 22 : 26) ? 1 : page.gap < (drawing.soft ? 8 : 17.5) ? -1 : 0;
  if (!way) return;
  drawing.regrain(way);
  page.gap = 0;
}

function glimmer(now) {
  const { glow } = page.drawing;
  if (!page.glowing) return;
  const left = page.glowing - now;
  glow.amount = left > 0 ? Math.min(0.85, (left / FAINT) * 1.3) : 0;
  if (CALM.matches && left > 0) glow.amount = 0.6;
  if (left <= 0) page.glowing = 0;
  page.drawing.again();
  page.moved = Math.max(page.moved, now - REST / 2);
}

export function lightUp(features, stone = 0) {
  page.drawing.glow.features = new Set(features);
  page.drawing.glow.stone = stone;
  page.glowing = performance.now() + FAINT;
  stir();
}

export function fly(look) {
  if (CALM.matches || !page.look || STILL) page.look = look;
  else page.flight = { from: page.look.copy(), to: look, since: performance.now() };
  stir(true);
}

function wideness() {
  const [wide, tall] = size2();
  return wide / tall;
}

// A look at all of it, clear of the words below.
export function fitted(turn, flat = false) {
  const foot = STILL ? 0 : Math.min(0.35, by("saying").offsetHeight / Math.max(by("stage").offsetHeight, 1));
  return whole(page.spots, turn, wideness(), flat, foot);
}

export function goView(name) {
  page.view = name;
  by("view").value = name;
  if (name === "own") return;
  const flat = name !== "corner";
  setPose("air", false);
  fly(fitted(viewOf(name), flat));
}

// A finish by its name; one that is a mirror needs no blur.
export function setFinish(name) {
  const select = by("finish");
  select.value = name;
  const rough = Number(select.selectedOptions[0].dataset.rough);
  page.drawing.rough = rough < 0.1 ? 0 : rough;
  stir();
}

export function setPose(name, go = true) {
  page.poseName = name;
  by("pose").value = name;
  page.pose = poseOf(name, (page.told && page.told.poses) || {}, page.spots, page.breadth);
  page.drawing.setThings(page.pose.things);
  if (go) {
    fly(fitted(page.pose.first));
    page.view = name === "air" ? "corner" : "own";
    by("view").value = page.view;
  }
  stir();
}
