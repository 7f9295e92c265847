// The page: it hears what is told of the piece and begins.

import { unpacked, fromBase64 } from "./packet.js";
import { FINE, SLOW, Drawing } from "./drawing.js";
import { Marks } from "./marks.js";
import { CARD, keep } from "./size.js";
import { by, LIVE, STILL, FRAME, DARK, page } from "./state.js";
import { size2, theme, stir, goView, setPose, setFinish } from "./sight.js";
import { takeSolid, tellPieces } from "./solid.js";
import { chosen, tell, tellNotice, tellWeight } from "./ticket.js";
import { tellFigures, ask } from "./figures.js";
import { say, hands } from "./hands.js";
import { setCut, sawn, seeCut, trueSize, outline } from "./saw.js";

function hear(told) {
  if (told.solid !== page.have) page.times = { told: Date.now() };
  const tried = told.tried || {}, same = JSON.stringify(tried);
  page.told = told;
  page.tried = tried;
  page.lost = false;
  if (page.waiting && (same === JSON.stringify(page.asked) || told.stage === "failed")) {
    page.waiting = 0;
    if (page.wanted) ask(page.wanted);
  }
  if (told.solid && (told.solid !== page.have || (page.finished && told.finished) !== page.worked)) return fetchSolid(told);
  if (page.solid) tellFigures();
  return tell();
}

async function fetchSolid(told) {
  const { piece } = page, finished = page.finished && told.finished;
  let data = null;
  try {
    const answer = await fetch(`${finished ? "finished" : "solid"}/${encodeURIComponent(piece)}/${told.solid}`);
    data = answer.ok ? await answer.arrayBuffer() : null;
  } catch {
    page.have = 0; // it comes with the next news
  }
  if (page.piece !== piece) return;
  if (data) {
    page.times.came = Date.now();
    page.have = told.solid;
    page.worked = finished;
    takeSolid(unpacked(data));
  }
  tell();
}

export function open(name) {
  if (page.news) page.news.close();
  Object.assign(page, { piece: name, told: null, have: 0, worked: false, metal: "", figureKey: null, remarkKey: "", poseKey: "", tried: {}, wanted: null, waiting: 0 });
  page.marks.spots = [];
  page.marks.callipers = [];
  by("linepart").hidden = true;
  by("linepart").parentNode.scrollTop = 0;
  by("remarks").replaceChildren();
  page.drawing.metal = null;
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

function wire() {
  by("view").addEventListener("change", () => goView(by("view").value));
  by("pose").addEventListener("change", () => setPose(by("pose").value));
  by("parts").addEventListener("change", () => {
    page.drawing.show.metal = by("parts").value !== "stones";
    page.drawing.show.stones = by("parts").value !== "metal";
    stir();
  });
  by("finish").addEventListener("change", () => setFinish(by("finish").value));
  by("state").addEventListener("change", () => {
    page.finished = by("state").value === "finished";
    if (page.finished && !page.told.finished) ask(page.tried);
    else fetchSolid(page.told);
  });
  by("casting").addEventListener("change", () => {
    page.drawing.show.castings = by("casting").value === "*" ? null : by("casting").value;
    stir();
  });
  by("cut").addEventListener("click", sawn);
  for (const id of ["cutway", "cutat"]) by(id).addEventListener("input", () => { page.marks.callipers = []; setCut(); });
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
    page.marks.callipers = [];
    if (page.measuring) say("one spot tells how thick the metal is there, a second how far apart they are");
    stir();
  });
  by("figured").addEventListener("click", () => {
    page.marks.shown = !page.marks.shown;
    by("figured").setAttribute("aria-pressed", String(page.marks.shown));
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
    page.drawing.metal = row.name === page.told.weights.metal ? null : row.colour;
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
  page.marks = new Marks(by("lines"), by("grips"));
  try {
    page.drawing = new Drawing(by("piece"), Boolean(STILL));
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
  if (STILL) {
    document.body.classList.add("still");
    [by("stage").style.width, by("stage").style.height] = FRAME; // the window is smaller than its picture
  }
  setFinish(page.told.surface);
  takeSolid(solid);
  tell();
  if (STILL === "lying" || (!STILL && page.told.opens)) setPose(STILL || page.told.opens);
  if (STILL) {
    page.flight = null;
    page.frozen = true;
    const [wide, tall] = size2();
    const all = page.drawing.soft ? SLOW : FINE;
    while (page.drawing.passes < all) {
      page.drawing.draw(page.look, { turning: false, reach: page.breadth * 1.6 + 30, table: page.pose.table });
      page.drawing.done();
    }
    page.drawing.done();
    page.marks.place(page.look, wide, tall, page.middle, page.spots);
    document.documentElement.dataset.fine = "still";
  }
}

window.posyPage = page; // for whoever looks at it from outside
begin();
