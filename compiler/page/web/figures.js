// The measures of the text on the piece: typed, pulled, tried, written.

import { back } from "./turning.js";
import { by, LIVE, STEPS, page, words, make, plain } from "./state.js";
import { stir } from "./sight.js";
import { say, measure } from "./hands.js";

function valueText(told, value) {
  if (told.kind === "text") return `"${value.replaceAll('"', '""')}"`;
  return `${plain(value)}${told.unit ? ` ${told.unit}` : ""}`;
}

function within(told, value) {
  if (told.kind === "text") return value;
  let v = told.kind === "number" && Number.isInteger(told.value) ? Math.round(value) : value;
  if (told.least !== null) v = Math.max(told.least, Math.min(told.most, v));
  return v;
}

export function tellFigures() {
  const box = by("figures"), held = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.measure : null;
  if (!LIVE) return;
  const now = page.solid.figures || [], key = now.map((one) => `${one.name}/${one.own}/${one.kind}/${one.least}/${one.most}`).join();
  if (page.figureKey !== key) {
    page.figureKey = key;
    page.marks.figures = now.filter((one) => one.stretches.length || one.at).map((one) => ({ told: one, chip: chip(one) }));
    box.replaceChildren(...page.marks.figures.map((one) => one.chip));
    if (held) box.querySelector(`[data-measure="${CSS.escape(held)}"]`)?.focus();
  }
  for (const figure of page.marks.figures) {
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

const figureOf = (name) => page.marks.figures.find((one) => one.told.name === name);

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

export function pull(event, node, name, end) {
  if (event.button) return;
  event.preventDefault();
  event.stopPropagation();
  const figure = figureOf(name), { told } = figure;
  if (!told.own || told.kind === "text") return;
  const start = told.value, from = [event.clientX, event.clientY], way = figure.pull;
  const step = STEPS[told.kind] || 1;
  page.dragging = name;
  page.marks.focus = name;
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
    page.marks.focus = "";
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
export function ask(figures) {
  page.wanted = figures;
  if (performance.now() - page.waiting < 1500) return;
  page.waiting = performance.now();
  page.wanted = null;
  page.asked = figures;
  post("try", { figures, finished: page.finished });
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

export function tellTried() {
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
