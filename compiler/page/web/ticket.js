// The ticket beside the piece: weight, stones, metals, remarks, lines of the text.

import { plus, minus, times, dot, unit, then, between, rows, turned } from "./turning.js";
import { boxOf } from "./stand.js";
import { by, LIVE, page, words, make } from "./state.js";
import { stir, lightUp, fly } from "./sight.js";
import { featuresOf, tellPoses } from "./solid.js";
import { tellTried } from "./figures.js";

function grams(value, error = 0) {
  const places = error >= 0.05 ? 1 : value >= 100 ? 1 : 2;
  return value.toFixed(places);
}

function signed(now, before) {
  const change = now - before;
  if (Math.abs(change) < 0.005) return "no change";
  return `${change > 0 ? "+" : "\u2212"}${Math.abs(change).toFixed(2)} g`;
}

export function chosen() {
  const { weights } = page.told;
  return weights && (weights.metals.find((one) => one.name === page.metal) || weights.metals.find((one) => one.name === weights.metal));
}

function spokenMetal(row) {
  return row ? row.title : "";
}

export function tell() {
  const { told } = page;
  document.title = told.title ? `${told.title}${LIVE ? " \u00b7 posy" : ""}` : "posy";
  words(by("title"), told.title || page.piece);
  words(by("heading"), told.title || page.piece);
  if (LIVE) words(by("under"), told.stage === "making" ? "being made \u2026" : `${told.file || ""} \u00b7 ${told.metal_stands ? "made" : "not made"} at ${told.at || ""}${told.checked || !told.metal_stands ? "" : told.rough ? ", in few facets" : ", being checked \u2026"}`);
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
  page.drawing.grey = stale ? 0.82 : 0;
  tellNotice();
  tellPoses();
  stir();
}

export function tellNotice() {
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

export function tellWeight() {
  const row = chosen();
  by("weightpart").hidden = !row;
  if (!row) return;
  const node = by("grams"), { told } = page;
  node.replaceChildren(`${told.rough ? "\u2248\u2009" : ""}${grams(row.grams, row.error)}`, make("small", "", "g"));
  words(by("metalname"), `${spokenMetal(row)}, as cast${told.rough ? ", roughly" : ""}`);
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
  if (by("stonepart").hidden || page.stoneKey === JSON.stringify(weights.stones)) return;
  page.stoneKey = JSON.stringify(weights.stones);
  words(by("carats"), weights.counted);
  list.replaceChildren(...weights.stones.map((one) => {
    const item = make("li"), what = make("span");
    what.append(`${one.count > 1 ? `${one.count} \u00d7 ` : ""}${one.spoken} `, make("span", "how", `${one.cut} ${one.size}`));
    item.append(what, make("span", "", one.all));
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
    row.append(input, make("span", "", spokenMetal(one)), " ", make("span", "", `${grams(one.grams, one.error)} g`));
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
  if (told.stage === "metal") return; // those of before stay until the rules are done
  page.remarks = told.remarks;
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
    node.append(facts); // of a hint they are shown once it is asked about
    node.addEventListener("click", () => goRemark(k));
    item.append(node);
    return item;
  }));
}

// Flies to where a remark is about, and marks it.
function goRemark(k) {
  const one = page.remarks[k];
  document.querySelectorAll(".remark").forEach((node, j) => node.setAttribute("aria-current", j === k ? "true" : "false"));
  if (one.line) showLines([one.line]);
  const features = page.solid ? page.solid.features.flatMap(([name], j) => (name === one.feature || name.startsWith(`${one.feature}.`) ? [j] : [])) : [];
  page.marks.spots = [];
  if (!page.solid) return;
  lightUp(features.length ? features : featuresOf(new Set([one.line])));
  const spot = one.spot || middleOf(features);
  if (!spot) return stir();
  if (one.spot) page.marks.spots = [{ spot: one.spot, kind: one.level }];
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

export function tellText() {
  page.text = page.solid.text.split(/\r\n|\n|\r/);
}

export function showLines(lines) {
  if (!LIVE) return;
  const told = lines.filter((one) => page.text[one - 1] !== undefined).slice(0, 6);
  by("linepart").hidden = !told.length;
  by("text").replaceChildren(...told.map((one) => {
    const item = make("li", "lit");
    item.append(make("span", "number", String(one)), make("span", "", page.text[one - 1].trim()));
    return item;
  }));
}
