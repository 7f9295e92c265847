// A new piece on the page, or the same made anew.

import { plus, minus, times, size } from "./turning.js";
import { Touch } from "./touch.js";
import { viewOf, spotsOf, boxOf, poseOf } from "./stand.js";
import { by, LIVE, STILL, page, make } from "./state.js";
import { stir, drawn, lightUp, fitted, setPose } from "./sight.js";
import { tellText, showLines } from "./ticket.js";
import { tellFigures } from "./figures.js";
import { measure } from "./hands.js";
import { setCut } from "./saw.js";
import { open } from "./bench.js";

export function takeSolid(solid) {
  const known = page.solid && page.solid.piece === page.piece, old = page.solid;
  page.spots = spotsOf(solid);
  const { low, high } = boxOf(page.spots);
  page.middle = solid.middle = times(plus(low, high), 0.5);
  page.breadth = solid.breadth = Math.max(size(minus(high, low)), 0.5);
  page.box = { low, high };
  solid.piece = page.piece;
  page.solid = solid;
  page.touch = new Touch(solid);
  const same = known && old.seen === solid.seen; // only the text is another
  page.drawing.setSolid(solid, same);
  page.picks = [];
  page.marks.callipers = [];
  by("whichstate").hidden = !LIVE || !solid.worked;
  tellCastings();
  setCut();
  if (!known || !page.look) {
    page.look = fitted(viewOf(STILL && STILL !== "lying" ? STILL : "corner"));
    setPose("air", false);
  } else {
    page.pose = poseOf(page.poseName, page.told.poses || {}, page.spots, page.breadth);
    page.drawing.setThings(page.pose.things);
  }
  tellFigures();
  tellText();
  if (known) edited(old.text, solid);
  page.coarse = !same;
  if (same) drawn();
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
export function featuresOf(lines) {
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

export function tellPoses() {
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
  if (page.drawing.show.castings !== null && !names.includes(page.drawing.show.castings)) page.drawing.show.castings = null;
  const options = [["*", "all castings"], ...names.map((one) => [one, one || "the piece itself"])];
  select.replaceChildren(...options.map(([value, text]) => Object.assign(make("option", "", text), { value })));
  select.value = page.drawing.show.castings === null ? "*" : page.drawing.show.castings;
}

export async function tellPieces() {
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
