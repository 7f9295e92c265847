// The page: it hears what is told of the piece, shows it, and carries on what the hands at it do.

import { unpacked, fromBase64 } from "./packet.js";
import { about, back, between, dot, minus, plus, rows, size, then, times, turned, unit, onTheWay } from "./turning.js";
import { Drawing, FINE, SLOW } from "./drawing.js";
import { Touch, area, fan, metStone, thinnest } from "./touch.js";
import { Marks } from "./marks.js";
import { CARD, keep, pixelsPerMm, usual } from "./size.js";
import { boxOf, poseOf, spotsOf, viewOf, whole } from "./stand.js";

const by = (id) => document.getElementById(id);
const LIVE = document.body.classList.contains("live");
const STILL = new URLSearchParams(location.hash.slice(1)).get("still"); // a view, for a picture of it
const CALM = matchMedia("(prefers-reduced-motion: reduce)");
const DARK = matchMedia("(prefers-color-scheme: dark)");
const FLIGHT = 420; // ms from one look to another
const REST = 140; // ms without a move after which it counts as still
const STEPS = { length: 0.05, angle: 1, number: 1, share: 1, mass: 0.01 };
const FAINT = 1.6e3; // ms a line that was edited is lit

// --- what is known

const page = {
  piece: "", told: null, solid: null, have: 0, touch: null, spots: [], middle: [0, 0, 0], breadth: 20,
  look: null, flight: null, moved: 0, metal: "", pose: null, poseName: "air", view: "corner",
  cut: null, picks: [], measuring: false, truly: false, tried: {}, wanted: null, waiting: 0, lost: false, text: [],
  marked: null, drawn: 0, light: null,
};
let drawing = null, marks = null;

// --- pictures

function size2() {
  const canvas = by("piece"), ratio = Math.min(window.devicePixelRatio || 1, 2);
  const wide = canvas.clientWidth || 300, tall = canvas.clientHeight || 300;
  const pixels = [Math.round(wide * ratio), Math.round(tall * ratio)];
  if (canvas.width !== pixels[0] || canvas.height !== pixels[1]) {
    [canvas.width, canvas.height] = pixels;
    drawing.again();
  }
  return [wide, tall];
}

function theme() {
  const style = getComputedStyle(document.documentElement);
  const plain = (name) => {
    const v = style.getPropertyValue(name).trim();
    return [1, 3, 5].map((k) => parseInt(v.slice(k, k + 2), 16) / 255);
  };
  drawing.theme = { tent: DARK.matches ? 0.4 : 1, high: plain("--high"), low: plain("--low") };
  drawing.glow.colour = DARK.matches ? [0.25, 0.9, 0.75] : [0.05, 0.55, 0.48];
  stir();
}

// Something to be seen has changed.
function stir(moving = false) {
  if (!drawing) return;
  drawing.again();
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
    drawing.again();
  }
  glimmer(now);
  const [wide, tall] = size2(), before = performance.now();
  const turning = page.flight !== null || now - page.moved < REST || page.coarse;
  if (page.truly) page.look.half = tall / 2 / usual();
  const table = page.pose && page.pose.table && drawing.show.metal && !page.cut ? page.pose.table : null;
  const more = drawing.draw(page.look, { turning, reach: page.breadth * 1.6 + 30, table });
  if (turning || page.stirred) marks.place(page.look, wide, tall, page.middle);
  page.stirred = false;
  if (drawing.soft) drawing.done(); // the processor draws: no heap of pictures that wait
  if (page.coarse) {
    page.coarse = false;
    if (!drawing.soft) drawing.done();
    page.drawn = page.have;
    document.documentElement.dataset.drawn = String(page.have);
    page.moved = now - REST + (drawing.soft ? 120 : 30);
  }
  pace(performance.now() - before, turning);
  document.documentElement.dataset.fine = String(drawing.passes);
  if (!turning && !more && !page.flight) return;
  page.light = -1;
  const rest = drawing.soft && !turning ? Math.min(80, page.took * 0.3) : 0;
  if (!rest) page.light = requestAnimationFrame(frame);
  else page.wake = setTimeout(() => { page.light = requestAnimationFrame(frame); }, rest);
}

// Grain while turning goes by how long pictures take.
function pace(took, turning) {
  page.took = took;
  if (!turning) return;
  const gap = drawing.soft ? took : performance.now() - (page.before || 0);
  page.before = performance.now();
  if (gap > 400 && !drawing.soft) return; // it had been still
  page.gap = page.gap ? page.gap * 0.7 + gap * 0.3 : gap;
  if (page.gap > (drawing.soft ? 60 : 26)) drawing.grain = Math.max(0.34, drawing.grain * 0.92);
  if (page.gap < (drawing.soft ? 30 : 18)) drawing.grain = Math.min(1, drawing.grain * 1.03);
}

function glimmer(now) {
  const { glow } = drawing;
  if (!page.glowing) return;
  const left = page.glowing - now;
  glow.amount = left > 0 ? Math.min(0.85, (left / FAINT) * 1.3) : 0;
  if (CALM.matches && left > 0) glow.amount = 0.6;
  if (left <= 0) page.glowing = 0;
  drawing.again();
  page.moved = Math.max(page.moved, now - REST / 2);
}

function lightUp(features, stone = 0) {
  drawing.glow.features = new Set(features);
  drawing.glow.stone = stone;
  page.glowing = performance.now() + FAINT;
  stir();
}

function fly(look) {
  if (CALM.matches || !page.look || STILL) page.look = look;
  else page.flight = { from: page.look.copy(), to: look, since: performance.now() };
  stir(true);
}

function wideness() {
  const [wide, tall] = size2();
  return wide / tall;
}

// A look at all of it, clear of the words below.
function fitted(turn, flat = false) {
  const foot = STILL ? 0 : Math.min(0.35, by("saying").offsetHeight / Math.max(by("stage").offsetHeight, 1));
  return whole(page.spots, turn, wideness(), flat, foot);
}

function goView(name) {
  page.view = name;
  by("view").value = name;
  if (name === "own") return;
  const flat = name !== "corner";
  setPose("air", false);
  fly(fitted(viewOf(name), flat));
}

function setPose(name, go = true) {
  page.poseName = name;
  by("pose").value = name;
  page.pose = poseOf(name, (page.told && page.told.poses) || {}, page.spots, page.breadth);
  drawing.setThings(page.pose.things);
  if (go) {
    fly(fitted(page.pose.first));
    page.view = name === "air" ? "corner" : "own";
    by("view").value = page.view;
  }
  stir();
}

// --- a new piece, or the same anew

function takeSolid(solid) {
  const known = page.solid && page.solid.piece === page.piece, old = page.solid;
  page.spots = spotsOf(solid);
  const { low, high } = boxOf(page.spots);
  page.middle = times(plus(low, high), 0.5);
  page.breadth = solid.breadth = Math.max(size(minus(high, low)), 0.5);
  page.box = { low, high };
  solid.piece = page.piece;
  page.solid = solid;
  page.touch = new Touch(solid);
  drawing.setSolid(solid);
  page.picks = [];
  marks.callipers = [];
  tellCastings();
  setCut();
  if (!known || !page.look) {
    page.look = fitted(viewOf(STILL && STILL !== "lying" ? STILL : "corner"));
    setPose("air", false);
  } else {
    page.pose = poseOf(page.poseName, page.told.poses || {}, page.spots, page.breadth);
    drawing.setThings(page.pose.things);
  }
  tellFigures();
  tellText();
  if (known) edited(old.text, solid);
  page.coarse = true;
  stir();
}

// The lines that an edit changed, and the metal they made.
function edited(before, solid) {
  const a = before.split(/\r\n|\n|\r/), b = solid.text.split(/\r\n|\n|\r/);
  let start = 0, end = 0;
  while (start < Math.min(a.length, b.length) && a[start] === b[start]) start++;
  while (end < Math.min(a.length, b.length) - start && a[a.length - 1 - end] === b[b.length - 1 - end]) end++;
  const lines = new Set();
  for (let k = start; k < b.length - end; k++) if (b[k] !== a[k] || a.length !== b.length) lines.add(k + 1);
  if (!lines.size) return;
  for (const measure of solid.figures || []) {
    if (lines.has(measure.line)) measure.lines.forEach((one) => lines.add(one));
  }
  showLines([...lines]);
  lightUp(featuresOf(lines));
}

// The features of lines; a clause below its head counts for the head.
function featuresOf(lines) {
  const starts = [...new Set(page.solid.features.map((one) => one[2]))].sort((x, y) => x - y);
  const heads = new Set();
  for (const one of lines) {
    const text = page.text[one - 1] || "";
    let head = one;
    if (/^\s/.test(text)) head = Math.max(0, ...starts.filter((start) => start <= one));
    heads.add(head);
    heads.add(one);
  }
  return page.solid.features.flatMap((one, k) => (heads.has(one[2]) ? [k] : []));
}

// --- the ticket

const words = (node, text) => {
  if (node.textContent !== text) node.textContent = text;
};

function make(tag, kind, text) {
  const node = document.createElement(tag);
  if (kind) node.className = kind;
  if (text !== undefined) node.textContent = text;
  return node;
}

function grams(value, error = 0) {
  const places = error >= 0.05 ? 1 : value >= 100 ? 1 : 2;
  return value.toFixed(places);
}

function signed(now, before) {
  const change = now - before;
  if (Math.abs(change) < 0.005) return "no change";
  return `${change > 0 ? "+" : "\u2212"}${Math.abs(change).toFixed(2)} g`;
}

function chosen() {
  const { weights } = page.told;
  return weights && (weights.metals.find((one) => one.name === page.metal) || weights.metals.find((one) => one.name === weights.metal));
}

function spokenMetal(row) {
  return row ? row.title : "";
}

function tell() {
  const { told } = page;
  document.title = told.title ? `${told.title}${LIVE ? " \u00b7 posy" : ""}` : "posy";
  words(by("title"), told.title || page.piece);
  words(by("heading"), told.title || page.piece);
  if (LIVE) words(by("under"), told.stage === "making" ? "being made \u2026" : `${told.file || ""} \u00b7 ${told.metal_stands ? "made" : "not made"} at ${told.at || ""}${told.checked || !told.metal_stands ? "" : ", being checked \u2026"}`);
  else words(by("under"), told.maker ? `made by ${told.maker}` : "");
  by("under").hidden = !by("under").textContent;
  tellWeight();
  tellStones();
  tellMetals();
  if (LIVE) {
    tellRemarks();
    tellTried();
  } else tellSize();
  const stale = told.stage === "fault" || told.stage === "failed" || page.lost;
  document.body.classList.toggle("stale", stale);
  drawing.grey = stale ? 0.82 : 0;
  tellNotice();
  tellPoses();
  stir();
}

function tellNotice() {
  const { told } = page, node = by("notice");
  const first = (told && told.remarks || []).find((one) => one.level === "fault");
  node.replaceChildren();
  if (page.lost) {
    node.append(make("strong", "", "The connection is lost. "), "Nothing answers at this address: posy watch has ended, or is starting again. What you see is the last that came.");
  } else if (told && told.stage === "failed") {
    node.append(make("strong", "", "It could not be made: "), told.note || "");
  } else if (told && told.stage === "fault") {
    node.append(make("strong", "", "Not made: "), first ? `${first.line ? `line ${first.line}: ` : ""}${first.text}. ` : "", page.solid ? "What you see is the last good piece." : "");
  }
  node.hidden = !node.childNodes.length;
}

function tellWeight() {
  const row = chosen();
  by("weightpart").hidden = !row;
  if (!row) return;
  const node = by("grams"), { told } = page;
  node.replaceChildren(grams(row.grams, row.error), make("small", "", "g"));
  words(by("metalname"), `${spokenMetal(row)}, as cast`);
  if (!LIVE) {
    words(by("change"), "");
    return;
  }
  const parts = [];
  if (told.before[row.name] !== undefined) parts.push(`${signed(row.grams, told.before[row.name])} since ${Object.keys(told.tried).length ? "the text" : "the last save"}`);
  if (told.start[row.name] !== undefined && told.before[row.name] !== undefined) parts.push(`${signed(row.grams, told.start[row.name])} since you began`);
  words(by("change"), parts.join(" \u00b7 "));
  if (told.checked && page.aloud !== told.at) {
    page.aloud = told.at;
    words(by("aloud"), `made, ${grams(row.grams)} g, ${parts[0] || ""}; ${told.tally}`);
  }
}

function tellStones() {
  const { weights } = page.told, list = by("stones");
  by("stonepart").hidden = !weights || !weights.stones.length;
  if (by("stonepart").hidden) return;
  const count = weights.stones.reduce((sum, one) => sum + one.count, 0);
  words(by("carats"), `${count} stone${count > 1 ? "s" : ""}, ${weights.carats} ct`);
  list.replaceChildren(...weights.stones.map((one) => {
    const item = make("li"), what = make("span");
    what.append(`${one.count > 1 ? `${one.count} \u00d7 ` : ""}${one.spoken} `, make("span", "how", `${one.cut} ${one.size}`));
    item.append(what, make("span", "", `${one.carats} ct`));
    return item;
  }));
}

function tellMetals() {
  const { weights } = page.told;
  by("metalpart").hidden = !weights;
  if (!weights) return;
  const key = JSON.stringify(weights.metals.map((one) => [one.name, grams(one.grams, one.error)])) + page.metal;
  if (page.metalKey === key) return;
  page.metalKey = key;
  const now = chosen().name, label = (one) => {
    const row = make("label", "alloy"), input = make("input");
    Object.assign(input, { type: "radio", name: "metal", value: one.name, checked: one.name === now });
    input.style.setProperty("--dot", one.colour);
    row.append(input, make("span", "", spokenMetal(one)), make("span", "", `${grams(one.grams, one.error)} g`));
    return row;
  };
  const held = document.activeElement && document.activeElement.name === "metal" ? document.activeElement.value : null;
  by("metals").replaceChildren(...weights.metals.filter((one) => one.usual || one.name === now).map(label));
  by("allmetals").replaceChildren(...weights.metals.filter((one) => !one.usual && one.name !== now).map(label));
  if (!LIVE) by("more").hidden = true;
  if (held) document.querySelector(`input[name="metal"][value="${CSS.escape(held)}"]`)?.focus();
}

function tellSize() {
  const { low, high } = page.box, said = minus(high, low).map((one) => one.toFixed(1));
  by("under").hidden = false;
  words(by("under"), `${page.told.maker ? `${page.told.maker} \u00b7 ` : ""}${said[0]} \u00d7 ${said[1]} \u00d7 ${said[2]} mm`);
}

function tellRemarks() {
  const { told } = page, list = by("remarks");
  by("remarkpart").hidden = !told.tally;
  if (told.stage === "making") return;
  words(by("tally"), told.checked || told.stage === "fault" ? told.tally : "being checked \u2026");
  const key = JSON.stringify(told.remarks);
  if (page.remarkKey === key) return;
  page.remarkKey = key;
  list.replaceChildren(...told.remarks.map((one, k) => {
    const item = make("li"), node = make("button", `remark ${one.level}`);
    node.type = "button";
    node.append(make("span", "level", one.level), ` ${one.text}`);
    const facts = make("dl");
    for (const [name, text] of [["now", one.now], ["wanted", one.wanted], ["do", one.do]]) {
      if (text) facts.append(make("dt", "", name), make("dd", "", text));
    }
    if (one.said) {
      const dd = make("dd");
      dd.append(make("code", "", one.said));
      facts.append(make("dt", "", one.line ? `line ${one.line}` : "in"), dd);
    }
    if (one.level !== "hint" || one.do) node.append(facts);
    node.addEventListener("click", () => goRemark(k));
    item.append(node);
    return item;
  }));
}

// Flies to where a remark is about, and marks it.
function goRemark(k) {
  const one = page.told.remarks[k];
  document.querySelectorAll(".remark").forEach((node, j) => node.setAttribute("aria-current", j === k ? "true" : "false"));
  if (one.line) showLines([one.line]);
  const features = page.solid ? page.solid.features.flatMap(([name], j) => (name === one.feature || name.startsWith(`${one.feature}.`) ? [j] : [])) : [];
  marks.spots = [];
  page.marked = k;
  if (!page.solid) return;
  lightUp(features.length ? features : featuresOf(new Set([one.line])));
  const spot = one.spot || middleOf(features);
  if (!spot) return stir();
  if (one.spot) marks.spots = [{ spot: one.spot, kind: one.level }];
  flyTo(spot, one.spot ? 0.16 : 0.4);
}

function middleOf(features) {
  const mine = new Set(features), found = [], { corners, points } = page.solid.arrays;
  for (const [, feature, first, count] of page.solid.runs) {
    if (!mine.has(feature)) continue;
    for (let k = 3 * first; k < 3 * (first + count); k += 3) found.push([...points.subarray(3 * corners[k], 3 * corners[k] + 3)]);
  }
  if (!found.length) return null;
  const { low, high } = boxOf(found);
  return times(plus(low, high), 0.5);
}

// A look that has a spot in its middle, seen from outside.
function flyTo(spot, share) {
  const near = page.touch.nearest(spot);
  const out = near ? page.touch.normal(near.triangle) : minus(spot, page.middle);
  const look = page.look.copy(), seen = turned(rows(look.turn), out);
  look.turn = then(between(seen, unit(plus(times(unit(seen), 0.35), [0.25, 0.4, 1]))), look.turn);
  look.at = [...spot];
  look.half = Math.max(1.2, page.breadth * share);
  look.flat = false;
  page.view = "own";
  by("view").value = "own";
  fly(look);
}

// --- the text

function tellText() {
  page.text = page.solid.text.split(/\r\n|\n|\r/);
}

function showLines(lines) {
  if (!LIVE) return;
  const told = lines.filter((one) => page.text[one - 1] !== undefined).slice(0, 6);
  by("linepart").hidden = !told.length;
  by("text").replaceChildren(...told.map((one) => {
    const item = make("li", "lit");
    item.append(make("span", "number", String(one)), make("span", "", page.text[one - 1].trim()));
    return item;
  }));
}

// --- poses, castings, pieces

function tellPoses() {
  const poses = page.told.poses || {}, select = by("pose");
  const names = [["air", "held in the air"], ["lying", "lying on the table"]];
  if (poses.hanging) names.push(["hanging", "hanging as worn"]);
  if (poses.worn) names.push(["worn", poses.worn.by === "finger" ? "on a finger" : "on a wrist"]);
  const key = names.map(([name]) => name).join();
  if (!poses.lying || page.poseKey === key) return;
  page.poseKey = key;
  select.replaceChildren(...names.map(([name, text]) => Object.assign(make("option", "", text), { value: name })));
  if (!names.some(([name]) => name === page.poseName)) setPose("air");
  select.value = page.poseName;
}

function tellCastings() {
  const names = [...new Set(page.solid.parts.map((one) => one.casting))], select = by("casting");
  by("whichcasting").hidden = names.length < 2;
  if (drawing.show.castings !== null && !names.includes(drawing.show.castings)) drawing.show.castings = null;
  const options = [["*", "all castings"], ...names.map((one) => [one, one || "the piece itself"])];
  select.replaceChildren(...options.map(([value, text]) => Object.assign(make("option", "", text), { value })));
  select.value = drawing.show.castings === null ? "*" : drawing.show.castings;
}

async function tellPieces() {
  const { pieces } = await (await fetch("pieces")).json();
  by("piecepart").hidden = pieces.length < 2;
  by("pieces").replaceChildren(...pieces.map((name) => {
    const item = make("li"), node = make("button", "", name);
    node.type = "button";
    node.setAttribute("aria-current", name === page.piece ? "true" : "false");
    node.addEventListener("click", () => open(name));
    item.append(node);
    return item;
  }));
  return pieces;
}

// --- figures on the piece

function valueText(told, value) {
  if (told.kind === "text") return `"${value.replaceAll('"', '""')}"`;
  return `${plain(value)}${told.unit ? ` ${told.unit}` : ""}`;
}

const plain = (value, places = 4) => String(Math.round(value * 10 ** places) / 10 ** places);

function within(told, value) {
  if (told.kind === "text") return value;
  let v = told.kind === "number" && Number.isInteger(told.value) ? Math.round(value) : value;
  if (told.least !== null) v = Math.max(told.least, Math.min(told.most, v));
  return v;
}

function tellFigures() {
  const box = by("figures"), held = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.measure : null;
  if (!LIVE) return;
  const now = page.solid.figures || [], key = now.map((one) => `${one.name}/${one.own}/${one.kind}/${one.least}/${one.most}`).join();
  if (page.figureKey !== key) {
    page.figureKey = key;
    marks.figures = now.filter((one) => one.stretches.length || one.at).map((one) => ({ told: one, chip: chip(one) }));
    box.replaceChildren(...marks.figures.map((one) => one.chip));
    if (held) box.querySelector(`[data-measure="${CSS.escape(held)}"]`)?.focus();
  }
  for (const figure of marks.figures) {
    const told = now.find((one) => one.name === figure.told.name);
    figure.told = Object.assign(told, { tried: told.name in page.tried });
    figure.chip.classList.toggle("tried", told.tried);
    const input = figure.chip.querySelector("input"), said = told.kind === "text" ? told.value : plain(told.value, told.own ? 4 : 2);
    if (input) input.size = Math.max(3, Math.min(24, said.length));
    if (input && (document.activeElement !== input || !input.dataset.dirty)) {
      if (!page.dragging) input.value = said;
      input.setAttribute("aria-valuenow", said);
    }
    const output = figure.chip.querySelector("output");
    if (output) words(output, said);
  }
}

function chip(told) {
  const node = make("label", `chip ${told.own ? "own" : ""} of-${told.kind}`), name = make("span", "name", told.name);
  if (told.help) node.title = `${told.help}${told.least !== null ? `; ${plain(told.least)} to ${plain(told.most)} ${told.unit}` : ""}`;
  node.append(name);
  if (!told.own) node.append(make("output"), make("span", "", told.unit));
  else {
    const input = make("input");
    input.type = "text";
    input.dataset.measure = told.name;
    if (told.kind !== "text") {
      input.inputMode = "decimal";
      input.setAttribute("role", "spinbutton");
      if (told.least !== null) {
        input.setAttribute("aria-valuemin", plain(told.least));
        input.setAttribute("aria-valuemax", plain(told.most));
      }
    }
    input.setAttribute("aria-label", `${told.name}${told.help ? `, ${told.help}` : ""}${told.unit ? `, in ${told.unit}` : ""}`);
    input.addEventListener("input", () => { input.dataset.dirty = "1"; });
    input.addEventListener("keydown", (event) => typed(event, input));
    input.addEventListener("change", () => settle(input));
    input.addEventListener("focus", () => stir());
    input.addEventListener("blur", () => { delete input.dataset.dirty; stir(); });
    node.append(input, make("span", "", told.unit));
    pullable(name, told.name, null);
  }
  node.addEventListener("pointerenter", () => stir());
  node.addEventListener("pointerleave", () => stir());
  return node;
}

const figureOf = (name) => marks.figures.find((one) => one.told.name === name);

function typed(event, input) {
  const { told } = figureOf(input.dataset.measure);
  if (event.key === "Enter") return settle(input);
  if (event.key === "Escape") {
    delete input.dataset.dirty;
    input.value = told.kind === "text" ? told.value : plain(told.value);
    return by("piece").focus();
  }
  const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
  if (!way || told.kind === "text") return undefined;
  event.preventDefault();
  const step = (STEPS[told.kind] || 1) * (event.shiftKey ? 0.2 : 1);
  const value = within(told, (Number(input.value) || told.value) + way * step);
  input.value = plain(value);
  return attempt(told, value);
}

function settle(input) {
  const { told } = figureOf(input.dataset.measure);
  delete input.dataset.dirty;
  const said = input.value.trim().replace(",", ".");
  const value = told.kind === "text" ? input.value : Number.parseFloat(said);
  if (told.kind !== "text" && !Number.isFinite(value)) {
    input.value = plain(told.value);
    return;
  }
  const kept = within(told, value);
  if (told.kind !== "text") {
    input.value = plain(kept);
    if (kept !== value) say(`${told.name} may be ${plain(told.least)} to ${plain(told.most)} ${told.unit}`);
  }
  attempt(told, kept);
}

// Drags a figure: `end` 1 or -1 at an end of its line, null anywhere.
function pullable(node, name, end) {
  node.addEventListener("pointerdown", (event) => pull(event, node, name, end));
}

function pull(event, node, name, end) {
  if (event.button) return;
  event.preventDefault();
  event.stopPropagation();
  const figure = figureOf(name), { told } = figure;
  if (!told.own || told.kind === "text") return;
  const start = told.value, from = [event.clientX, event.clientY], way = figure.pull;
  const step = STEPS[told.kind] || 1;
  page.dragging = name;
  marks.focus = name;
  let last = start;
  const move = (e) => {
    const d = [e.clientX - from[0], e.clientY - from[1]];
    const along = way && end !== null ? end * (d[0] * way.way[0] + d[1] * way.way[1]) / way.perMm : (d[0] - d[1]) * (way ? 1 / way.perMm : step / 8);
    const fine = e.shiftKey ? step / 5 : step;
    const value = within(told, Math.round((start + along) / fine) * fine);
    if (Math.abs(value - last) < 1e-9) return;
    last = value;
    figure.chip.querySelector("input").value = plain(value);
    attempt(told, value);
  };
  const done = () => {
    window.removeEventListener("pointermove", move);
    page.dragging = null;
    marks.focus = "";
    stir();
  };
  window.addEventListener("pointermove", move);
  window.addEventListener("pointerup", done, { once: true });
  window.addEventListener("pointercancel", done, { once: true });
}

function attempt(told, value) {
  const figures = { ...page.tried, ...(page.wanted || {}), [told.name]: valueText(told, value) };
  ask(figures);
}

// One question at a time is with the bench; the newest waits its turn.
function ask(figures) {
  page.wanted = figures;
  if (performance.now() - page.waiting < 1500) return;
  page.waiting = performance.now();
  page.wanted = null;
  page.asked = figures;
  post("try", { figures });
}

async function post(what, said) {
  try {
    const answer = await fetch(`${what}/${encodeURIComponent(page.piece)}`, { method: "POST",
      headers: { "Content-Type": "application/json" }, body: JSON.stringify(said) });
    return answer.ok ? await answer.json() : null;
  } catch {
    return null;
  }
}

function tellTried() {
  const node = by("tried"), tried = page.told.tried || {}, names = Object.keys(tried);
  node.hidden = !names.length;
  if (node.dataset.key === JSON.stringify(tried)) return;
  node.dataset.key = JSON.stringify(tried);
  node.replaceChildren();
  if (!names.length) return;
  node.append(make("p", "", `Tried, and not in the text yet: ${names.map((one) => `${one} ${tried[one]}`).join(", ")}.`));
  const write = make("button", "first", "Write it into the text"), leave = make("button", "", "Put it back");
  write.type = leave.type = "button";
  write.addEventListener("click", async () => {
    const answer = await post("write", { figures: page.told.tried, mark: page.told.mark });
    if (!answer) say("it could not be written: nothing answers");
    else if (!answer.done) say(answer.trouble.map((one) => `${one.text}${one.do ? `; ${one.do}` : ""}`).join(". "));
    else words(by("aloud"), "written into the text");
  });
  leave.addEventListener("click", () => ask({}));
  node.append(write, leave);
}

// --- hands on the piece

function say(text, spot = null, code = "") {
  const node = by("says");
  node.replaceChildren(text);
  if (code) node.append(make("code", "", code));
  node.hidden = false;
  marks.says = { spot, node };
  clearTimeout(page.hush);
  page.hush = setTimeout(() => { node.hidden = true; marks.says = null; stir(); }, 6000);
  stir();
}

function hush() {
  by("says").hidden = true;
  marks.says = null;
}

// What stands at a spot of the picture: {spot, triangle} of metal or {stone}.
function standing(x, y) {
  const [wide, tall] = size2(), ray = page.look.ray(x, y, wide, tall);
  const clip = page.cut ? [...page.cut.way, page.cut.along] : null;
  const castings = drawing.show.castings;
  const wanted = castings === null ? null : (t) => page.solid.parts[page.touch.owner(t).part].casting === castings;
  const metal = drawing.show.metal ? page.touch.met(ray.from, ray.way, { clip, wanted }) : null;
  const stone = drawing.show.stones ? metStone(page.solid, ray.from, ray.way, clip) : null;
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
  marks.spots = [];
  if (!found) {
    page.picks = [];
    marks.callipers = [];
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
  return say(`stone ${stone.number}: ${stone.kind.spoken}, ${stone.kind.cut} ${stone.kind.size.map(plain).join(" x ")} mm, ${one.carats.toFixed(3)} ct${line && LIVE ? `; line ${line}` : ""}`,
    spot, LIVE && line ? page.text[line - 1].trim() : "");
}

// Callipers: the first spot tells how thick metal is there, a second how far apart they are.
function measure(found) {
  if (found.face) {
    const { far, from, to } = found.face;
    marks.callipers = [{ from, to, says: `${far.toFixed(2)} mm` }];
    page.measured = { kind: "section", far, spots: [from, to] };
    page.picks = [];
  } else {
    page.picks = page.picks.length === 1 ? [...page.picks, found.spot] : [found.spot];
    if (page.picks.length === 2) {
      const far = size(minus(page.picks[1], page.picks[0]));
      marks.callipers = [{ from: page.picks[0], to: page.picks[1], says: `${far.toFixed(2)} mm apart` }];
      page.measured = { kind: "apart", far, spots: page.picks };
    } else {
      const end = found.stone ? null : page.touch.thick(found.spot, found.triangle);
      marks.callipers = [{ from: found.spot, to: end && end.spot, says: end ? `${end.far.toFixed(2)} mm thick` : "" }];
      page.measured = end ? { kind: "thick", far: end.far, spots: [found.spot, end.spot] } : null;
    }
  }
  const said = marks.callipers[0].says;
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

function hands(canvas) {
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
    marks.callipers = [];
    marks.spots = [];
    hush();
    stir();
  } else return;
  event.preventDefault();
}

// --- the saw

function setCut() {
  const form = by("cutting");
  if (form.hidden || !page.solid) {
    page.cut = null;
    drawing.cut = [0, 0, 0, 1e9];
    drawing.setCaps([]);
    return stir();
  }
  const axis = Number(by("cutway").value), at = Number(by("cutat").value), { low, high } = page.box;
  const turnedRound = by("cutturn").getAttribute("aria-pressed") === "true";
  const along = low[axis] + (high[axis] - low[axis]) * at, sign = turnedRound ? -1 : 1;
  const way = [0, 0, 0];
  way[axis] = sign;
  const segments = page.touch.section(way, along * sign);
  page.cut = { way, along: along * sign, segments };
  drawing.cut = [...way, along * sign];
  drawing.setCaps(segments.map((one, part) => ({ part, casting: page.solid.parts[part].casting, spots: fan(one) })));
  const all = segments.reduce((sum, one) => sum + area(one, way), 0);
  words(by("cutsays"), `at ${along.toFixed(2)} mm: ${all.toFixed(2)} mm\u00b2 of metal`);
  page.section = { area: all, along };
  return stir(true);
}

function sawn() {
  const on = by("cut").getAttribute("aria-pressed") !== "true", axis = Number(by("cutway").value);
  by("cut").setAttribute("aria-pressed", String(on));
  by("cut").setAttribute("aria-expanded", String(on));
  by("cutting").hidden = !on;
  marks.callipers = [];
  if (on) {
    const { low, high } = page.box;
    by("cutat").value = String(Math.max(0.02, Math.min(0.98, (page.middle[axis] - low[axis]) / (high[axis] - low[axis]) + 0.0007)));
    setCut();
    seeCut();
    say("click the cut face: it tells how thick the metal is there");
  } else setCut();
}

// The cut face turned to the onlooker, all of it in sight.
function seeCut() {
  const seen = turned(rows(page.look.turn), page.cut.way);
  const turn = seen[2] > 0.45 ? page.look.turn : then(between(seen, unit([0.45, 0.3, 1])), page.look.turn);
  page.view = "own";
  by("view").value = "own";
  fly(fitted(turn));
}

// --- true size

function trueSize(on) {
  if (on && !pixelsPerMm()) return askCard();
  page.truly = on;
  by("true").setAttribute("aria-pressed", String(on));
  if (on) {
    const look = page.look.copy();
    look.flat = true;
    look.half = by("piece").clientHeight / 2 / usual();
    look.at = page.middle;
    fly(look);
  } else fly(fitted(page.look.turn));
  return undefined;
}

function askCard() {
  const input = by("cardsize");
  by("card").hidden = false;
  input.value = String(CARD[0] * usual());
  outline();
  input.focus();
}

function outline() {
  const wide = Number(by("cardsize").value);
  Object.assign(by("outline").style, { width: `${wide}px`, height: `${(wide * CARD[1]) / CARD[0]}px` });
}

// --- what is told

function hear(told) {
  const tried = told.tried || {}, same = JSON.stringify(tried);
  page.told = told;
  page.tried = tried;
  page.lost = false;
  if (page.waiting && (same === JSON.stringify(page.asked) || told.stage === "failed")) {
    page.waiting = 0;
    if (page.wanted) ask(page.wanted);
  }
  if (told.solid && told.solid !== page.have) return fetchSolid(told);
  if (page.solid) tellFigures();
  return tell();
}

async function fetchSolid(told) {
  const { piece } = page;
  try {
    const answer = await fetch(`solid/${encodeURIComponent(piece)}/${told.solid}`);
    if (!answer.ok || page.piece !== piece) return;
    const solid = unpacked(await answer.arrayBuffer());
    if (page.piece !== piece) return;
    page.have = told.solid;
    takeSolid(solid);
  } catch {
    page.have = 0; // it comes with the next news
  }
  tell();
}

function open(name) {
  if (page.news) page.news.close();
  Object.assign(page, { piece: name, told: null, have: 0, metal: "", figureKey: "", remarkKey: "", poseKey: "", tried: {}, wanted: null, waiting: 0, marked: null });
  marks.spots = [];
  marks.callipers = [];
  by("linepart").hidden = true;
  drawing.metal = null;
  listen();
  tellPieces().catch(() => {});
  history.replaceState(null, "", `#${encodeURIComponent(name)}`);
}

function listen() {
  const news = new EventSource(`news/${encodeURIComponent(page.piece)}`);
  page.news = news;
  const alive = () => {
    clearTimeout(page.silence);
    page.silence = setTimeout(lose, 12000);
  };
  news.onmessage = (event) => {
    alive();
    hear(JSON.parse(event.data));
  };
  news.addEventListener("pulse", () => {
    alive();
    if (page.lost) {
      page.lost = false;
      if (page.told) tell();
    }
  });
  news.onerror = () => {
    lose();
    if (news.readyState === EventSource.CLOSED && page.news === news) setTimeout(() => page.news === news && listen(), 1000);
  };
}

function lose() {
  if (page.lost) return;
  page.lost = true;
  page.waiting = 0;
  if (page.told) tell();
  else tellNotice();
}

// --- begin

function wire() {
  by("view").addEventListener("change", () => goView(by("view").value));
  by("pose").addEventListener("change", () => setPose(by("pose").value));
  by("parts").addEventListener("change", () => {
    drawing.show.metal = by("parts").value !== "stones";
    drawing.show.stones = by("parts").value !== "metal";
    stir();
  });
  by("casting").addEventListener("change", () => {
    drawing.show.castings = by("casting").value === "*" ? null : by("casting").value;
    stir();
  });
  by("cut").addEventListener("click", sawn);
  for (const id of ["cutway", "cutat"]) by(id).addEventListener("input", () => { marks.callipers = []; setCut(); });
  by("cutway").addEventListener("change", seeCut);
  by("cutturn").addEventListener("click", () => {
    const on = by("cutturn").getAttribute("aria-pressed") !== "true";
    by("cutturn").setAttribute("aria-pressed", String(on));
    setCut();
    seeCut();
  });
  by("calliper").addEventListener("click", () => {
    page.measuring = !page.measuring;
    by("calliper").setAttribute("aria-pressed", String(page.measuring));
    document.body.classList.toggle("measuring", page.measuring);
    page.picks = [];
    marks.callipers = [];
    if (page.measuring) say("one spot tells how thick the metal is there, a second how far apart they are");
    stir();
  });
  by("figured").addEventListener("click", () => {
    marks.shown = !marks.shown;
    by("figured").setAttribute("aria-pressed", String(marks.shown));
    stir();
  });
  by("true").addEventListener("click", () => trueSize(!page.truly));
  by("cardsize").addEventListener("input", outline);
  by("carddone").addEventListener("click", () => {
    keep(Number(by("cardsize").value) / CARD[0]);
    by("card").hidden = true;
    by("true").focus();
    trueSize(true);
  });
  by("saying").addEventListener("submit", (event) => event.preventDefault());
  by("metalpart").addEventListener("change", (event) => {
    if (event.target.name !== "metal") return;
    page.metal = event.target.value;
    const row = chosen();
    drawing.metal = row.name === page.told.weights.metal ? null : row.colour;
    tellWeight();
    stir();
  });
  DARK.addEventListener("change", theme);
  addEventListener("resize", () => stir());
  addEventListener("hashchange", () => {
    const name = decodeURIComponent(location.hash.slice(1));
    if (LIVE && name && name !== page.piece) open(name);
  });
  new ResizeObserver(() => stir()).observe(by("stage"));
  hands(by("piece"));
}

async function begin() {
  marks = new Marks(by("lines"), by("grips"));
  try {
    drawing = page.drawing = new Drawing(by("piece"), Boolean(STILL));
  } catch (error) {
    by("notice").hidden = false;
    by("notice").textContent = `This browser cannot draw the piece (${error.message}). Another one, or graphics switched on in its settings, will.`;
    return;
  }
  by("piece").addEventListener("webglcontextlost", (event) => event.preventDefault());
  by("piece").addEventListener("webglcontextrestored", () => location.reload());
  wire();
  theme();
  if (!LIVE) return shown();
  try {
    const pieces = await tellPieces(), wanted = decodeURIComponent(location.hash.slice(1));
    open(pieces.includes(wanted) ? wanted : pieces[0]);
  } catch {
    lose();
    setTimeout(begin, 1500);
  }
  return undefined;
}

// One piece sent to somebody: all of it is in this file.
function shown() {
  page.told = JSON.parse(by("told").textContent);
  const solid = unpacked(fromBase64(by("packet").textContent));
  by("packet").remove();
  page.piece = "sent";
  page.have = 1;
  if (STILL) document.body.classList.add("still");
  takeSolid(solid);
  tell();
  if (STILL === "lying" || (!STILL && page.told.opens)) setPose(STILL || page.told.opens);
  if (STILL) {
    page.flight = null;
    page.frozen = true;
    const [wide, tall] = size2();
    const all = drawing.soft ? SLOW : FINE;
    while (drawing.passes < all) {
      drawing.draw(page.look, { turning: false, reach: page.breadth * 1.6 + 30, table: page.pose.table });
    }
    drawing.done();
    marks.place(page.look, wide, tall, page.middle);
    document.documentElement.dataset.fine = "still";
  }
}

window.posyPage = page; // for whoever looks at it from outside
begin();
