// The piece sawn through, and as large as it is.

import { unit, then, between, rows, turned } from "./turning.js";
import { fan, area } from "./touch.js";
import { CARD, pixelsPerMm, usual } from "./size.js";
import { by, page, words } from "./state.js";
import { stir, fly, fitted } from "./sight.js";
import { say } from "./hands.js";

export function setCut() {
  const form = by("cutting");
  if (form.hidden || !page.solid) {
    page.cut = page.marks.cut = null;
    page.drawing.cut = [0, 0, 0, 1e9];
    page.drawing.setCaps([]);
    return stir();
  }
  const axis = Number(by("cutway").value), at = Number(by("cutat").value), { low, high } = page.box;
  const turnedRound = by("cutturn").getAttribute("aria-pressed") === "true";
  const along = low[axis] + (high[axis] - low[axis]) * at, sign = turnedRound ? -1 : 1;
  const way = [0, 0, 0];
  way[axis] = sign;
  const segments = page.touch.section(way, along * sign);
  page.cut = page.marks.cut = { way, along: along * sign, segments };
  page.drawing.cut = [...way, along * sign];
  page.drawing.setCaps(segments.map((one, part) => ({ part, casting: page.solid.parts[part].casting, spots: fan(one) })));
  const all = segments.reduce((sum, one) => sum + area(one, way), 0);
  words(by("cutsays"), `at ${along.toFixed(2)} mm: ${all.toFixed(2)} mm\u00b2 of metal`);
  page.section = { area: all, along };
  return stir(true);
}

export function sawn() {
  const on = by("cut").getAttribute("aria-pressed") !== "true", axis = Number(by("cutway").value);
  by("cut").setAttribute("aria-pressed", String(on));
  by("cut").setAttribute("aria-expanded", String(on));
  by("cutting").hidden = !on;
  page.marks.callipers = [];
  if (on) {
    const { low, high } = page.box;
    by("cutat").value = String(Math.max(0.02, Math.min(0.98, (page.middle[axis] - low[axis]) / (high[axis] - low[axis]) + 0.0007)));
    setCut();
    seeCut();
    say("click the cut face: it tells how thick the metal is there");
  } else setCut();
}

// The cut face turned to the onlooker, all of it in sight.
export function seeCut() {
  const seen = turned(rows(page.look.turn), page.cut.way);
  const turn = seen[2] > 0.45 ? page.look.turn : then(between(seen, unit([0.45, 0.3, 1])), page.look.turn);
  page.view = "own";
  by("view").value = "own";
  fly(fitted(turn));
}

export function trueSize(on) {
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

export function outline() {
  const wide = Number(by("cardsize").value);
  Object.assign(by("outline").style, { width: `${wide}px`, height: `${(wide * CARD[1]) / CARD[0]}px` });
}
