// What the page knows, and small things all of it uses.

export const by = (id) => document.getElementById(id);
export const LIVE = document.body.classList.contains("live");
const ASKED = new URLSearchParams(location.hash.slice(1));
export const STILL = ASKED.get("still"); // a view, for a picture of it
export const FRAME = ["wide", "tall"].map((name) => `${Number(ASKED.get(name))}px`); // of that picture
export const CALM = matchMedia("(prefers-reduced-motion: reduce)");
export const DARK = matchMedia("(prefers-color-scheme: dark)");
export const FLIGHT = 420; // ms from one look to another
export const REST = 140; // ms without a move after which it counts as still
export const STEPS = { length: 0.05, angle: 1, number: 1, share: 1, mass: 0.01 };
export const FAINT = 1.6e3; // ms a line that was edited is lit

export const page = {
  piece: "", told: null, solid: null, have: 0, touch: null, spots: [], middle: [0, 0, 0], breadth: 20,
  look: null, flight: null, moved: 0, metal: "", pose: null, poseName: "air", view: "corner",
  cut: null, picks: [], measuring: false, truly: false, tried: {}, remarks: [], wanted: null, waiting: 0, lost: false, text: [],
  drawn: 0, finished: false, worked: false, times: {}, light: null, drawing: null, marks: null,
};

export const words = (node, text) => {
  if (node.textContent !== text) node.textContent = text;
};

export function make(tag, kind, text) {
  const node = document.createElement(tag);
  if (kind) node.className = kind;
  if (text !== undefined) node.textContent = text;
  return node;
}

export const plain = (value, places = 4) => String(Math.round(value * 10 ** places) / 10 ** places);
