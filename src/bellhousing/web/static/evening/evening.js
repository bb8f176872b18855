// The evening view: two sliders, a table from the server, and pictures that follow while a slider moves.
import { cut } from "./cut.js";
import { Game } from "./game.js";
import { Levers } from "./lever.js";
import { ShiftMap } from "./map.js";
import { partsOf } from "./parts.js";
import { html, say } from "./svg.js";
import { symbol } from "./symbols.js";
import { Table } from "./table.js";
import { tables } from "./tables.js";
import { GEARS, bare, follow, pressureUnit, sentence, throttle, throttleSaid, whole } from "./words.js";

const QUIET = 900;
const $ = (id) => document.getElementById(id);
const still = matchMedia("(prefers-reduced-motion: reduce)");

const now = { table: null, sound: null, parts: [], drawn: [], view: "cut", state: null, asked: 0, drive: null };
const map = new ShiftMap($("map"), $("map-says"));
const levers = new Levers($("lever"), $("lever-says"));
const game = new Game($("game"), $("game-table"), $("sentence"));
let pending = 0;
let telling = 0;

const box = () => $("box").value;
const kind = () => $("box").selectedOptions[0].dataset.kind;
const pressed = () => [...document.querySelectorAll(`.ev-things[data-box="${CSS.escape(box())}"] [aria-pressed="true"]`)];

function query(extra = {}) {
  const asked = new URLSearchParams({ box: box(), how: $("how").value, ...extra });
  for (const button of pressed()) asked.append("broken", button.dataset.break);
  return asked;
}

async function get(address) {
  const answer = await fetch(address, { headers: { Accept: "application/json" } });
  const found = await answer.json();
  if (!answer.ok) throw new Error([found.error.what, found.error.remedy].filter(Boolean).join(": "));
  return found;
}

function trouble(error) {
  $("problem").hidden = false;
  say($("problem"), error instanceof TypeError ? "The server does not answer. What is shown stays as it was; try again." : error.message);
}

// Fetches the table of what is broken now; only the last one asked for is taken.
async function load() {
  now.asked += 1;
  const mine = now.asked;
  now.drive = null;
  try {
    const broken = pressed().length > 0;
    const [found, sound] = await Promise.all([
      get(`/evening/table.json?${query()}`),
      broken && now.sound?.box.slug !== box() ? get(`/evening/table.json?box=${encodeURIComponent(box())}`) : null,
    ]);
    if (mine !== now.asked) return;
    $("problem").hidden = true;
    if (!broken) now.sound = found;
    else if (sound) now.sound = sound;
    take(found, broken);
  } catch (error) {
    if (mine === now.asked) trouble(error);
  }
}

function take(found, broken) {
  const again = now.table?.data.box.slug !== found.box.slug;
  const before = now.table;
  now.table = new Table(found);
  follow(found.unit);
  if (!again && before) now.table.up = before.up.slice();
  $("speed").max = found.speed[found.speed.length - 1];
  if (again) {
    now.parts = partsOf(found);
    levers.draw(found);
    build();
  }
  map.draw(found, broken ? now.sound : null);
  tellBroken();
  render();
}

// Builds the drawings of the valves; only another box or another view needs new ones.
function build() {
  const draw = now.view === "cut" ? cut : symbol;
  now.drawn = now.parts.map((part) => {
    const drawing = draw(part);
    drawing.svg.setAttribute("role", "img");
    drawing.svg.setAttribute("aria-label", `${part.name}, ${now.view === "cut" ? "cut open" : "as a symbol"}`);
    const caption = html("span", {});
    const head = html("b", {}, part.name);
    const figure = html("figure", { "data-part": part.id }, drawing.svg, html("figcaption", {}, head, " ", caption));
    return { part, figure, caption, update: drawing.update };
  });
  $("valves").replaceChildren(...now.drawn.map((one) => one.figure));
}

function marksAt(part) {
  return new Set(pressed().filter((button) => button.dataset.at === part.id).map((button) => button.dataset.mark));
}

function numbers(state) {
  const governor = Object.values(state.governor).map(bare).join(" + ");
  const rows = [
    ["Gear", String(state.gear), ""],
    ["Line", bare(state.line), pressureUnit()],
    ["Throttle signal", bare(state.signal), pressureUnit()],
    ["Governor", governor, pressureUnit()],
  ];
  const list = $("numbers");
  if (list.children.length !== rows.length) {
    list.replaceChildren(...rows.map(([name, , unit]) => html("div", {}, html("dt", {}, name), html("dd", {}, html("b", {}), unit ? ` ${unit}` : ""))));
  }
  rows.forEach(([, value], i) => say(list.children[i].querySelector("b"), value));
}

export function render() {
  pending = 0;
  if (!now.table) return;
  const state = now.table.at(Number($("travel").value) / 100, Number($("speed").value));
  now.state = state;
  for (const one of now.drawn) {
    const marks = marksAt(one.part);
    one.update(state, marks);
    one.figure.classList.toggle("broken", marks.size > 0);
    say(one.caption, one.part.says(state));
  }
  map.update(state);
  levers.update(state);
  numbers(state);
  const foot = throttle(state.travel, kind());
  say($("travel-says"), [`${$("travel").value} %`, foot].filter(Boolean).join(" · "));
  say($("speed-says"), `${whole(state.speed)} ${state.unit}`);
  $("travel").setAttribute("aria-valuetext", throttleSaid(state.travel, kind()));
  $("speed").setAttribute("aria-valuetext", `${whole(state.speed)} ${state.unit}, ${GEARS[state.gear]} gear`);
  document.body.dataset.gear = String(state.gear);
  if ($("tables").open) tables($("table-place"), now.table.data, state, now.parts);
  tell();
}

// The sentence waits until the sliders rest; while a drive plays it speaks at changes of gear only.
function tell() {
  const words = () => say($("sentence"), sentence(now.state, kind(), pressed().map((button) => button.dataset.name.toLowerCase())));
  clearTimeout(telling);
  if (playing) {
    if (playing.gear !== now.state.gear) words();
    playing.gear = now.state.gear;
    return;
  }
  telling = setTimeout(words, QUIET);
}

function move() {
  if (!pending) pending = requestAnimationFrame(render);
}

function tellBroken() {
  const list = pressed();
  $("mend").disabled = list.length === 0;
  $("broken-says").replaceChildren(...list.map((button) => html("span", {}, html("b", {}, `${button.dataset.name}. `), button.dataset.mechanism)));
}

let playing = null;

async function drive() {
  if (now.drive) return now.drive;
  const wanted = () => query({ drive: $("drive").value }).toString();
  const asked = wanted();
  say($("play"), "Driving …");
  $("play").disabled = true;
  try {
    const found = await get(`/evening/drive.json?${asked}`);
    // Another box or something broken meanwhile is another drive.
    now.drive = asked === wanted() ? found : null;
    now.driven = 0;
  } catch (error) {
    trouble(error);
  } finally {
    $("play").disabled = false;
    say($("play"), "Play");
  }
  return now.drive;
}

function show(seconds) {
  const { time, travel, speed } = now.drive;
  let i = 0;
  while (i < time.length - 1 && time[i + 1] <= seconds) i += 1;
  const next = Math.min(i + 1, time.length - 1);
  const share = next > i ? Math.min((seconds - time[i]) / (time[next] - time[i]), 1) : 0;
  $("travel").value = 100 * (travel[i] + (travel[next] - travel[i]) * share);
  $("speed").value = speed[i] + (speed[next] - speed[i]) * share;
}

function stop() {
  if (!playing) return;
  cancelAnimationFrame(playing.frame);
  clearTimeout(playing.timer);
  playing = null;
  $("play").setAttribute("aria-pressed", "false");
  say($("play"), "Play");
  tell();
}

async function play() {
  if (playing) {
    stop();
    return;
  }
  if ($("play").disabled) return;
  if (!(await drive())) return;
  const end = now.drive.time[now.drive.time.length - 1];
  if (now.driven >= end) now.driven = 0;
  playing = { gear: now.state?.gear, last: performance.now() };
  $("play").setAttribute("aria-pressed", "true");
  say($("play"), "Pause");
  tick(performance.now(), end);
}

// With reduced motion the drive goes on in steps of a second instead of gliding.
function tick(moment, end) {
  if (!playing) return;
  now.driven += Math.min((moment - playing.last) / 1000, 1.2);
  playing.last = moment;
  show(Math.min(now.driven, end));
  render();
  if (now.driven >= end) {
    stop();
    return;
  }
  if (still.matches) playing.timer = setTimeout(() => tick(performance.now(), end), 1000);
  else playing.frame = requestAnimationFrame((next) => tick(next, end));
}

async function step() {
  stop();
  if ($("play").disabled) return;
  if (!(await drive())) return;
  const end = now.drive.time[now.drive.time.length - 1];
  now.driven = now.driven >= end ? 0 : Math.min(now.driven + 1, end);
  show(now.driven);
  render();
}

function keys(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const target = event.target;
  const slider = target.matches("input[type=range]");
  if (event.key === " " && (slider || !target.closest("button, select, summary, input, a"))) {
    event.preventDefault();
    if (!$("show").hidden) play();
  } else if (!$("game").hidden && /^[1-9]$/.test(event.key) && !target.matches("input, select")) {
    if (game.vote(Number(event.key) - 1, 1)) event.preventDefault();
  }
}

function toggleGame() {
  const open = $("game").hidden;
  stop();
  $("game").hidden = !open;
  $("show").hidden = open;
  for (const one of document.querySelectorAll(".ev-only")) one.hidden = open;
  $("game-open").setAttribute("aria-expanded", String(open));
  say($("game-open"), open ? "Back to the gearbox" : "Guess the fault");
  if (open) say($("sentence"), "What is wrong with this car?");
  else redraw();
}

// Pictures are drawn for the room there is; a turned tablet has another.
function redraw() {
  if (!now.table) return;
  levers.draw(now.table.data);
  map.draw(now.table.data, pressed().length ? now.sound : null);
  render();
}

function begin() {
  for (const id of ["travel", "speed"]) {
    $(id).addEventListener("input", () => {
      stop();
      move();
    });
  }
  $("box").addEventListener("change", () => {
    stop();
    for (const group of document.querySelectorAll(".ev-things")) group.hidden = group.dataset.box !== box();
    load();
  });
  $("how").addEventListener("change", () => {
    stop();
    if (pressed().length) load();
  });
  $("drive").addEventListener("change", () => {
    stop();
    now.drive = null;
  });
  for (const button of document.querySelectorAll("[data-break]")) {
    button.addEventListener("click", () => {
      stop();
      button.setAttribute("aria-pressed", String(button.getAttribute("aria-pressed") !== "true"));
      load();
    });
  }
  $("mend").addEventListener("click", () => {
    stop();
    for (const button of pressed()) button.setAttribute("aria-pressed", "false");
    load();
  });
  for (const button of document.querySelectorAll("[data-view]")) {
    button.addEventListener("click", () => {
      now.view = button.dataset.view;
      for (const other of document.querySelectorAll("[data-view]")) other.setAttribute("aria-pressed", String(other === button));
      if (!now.table) return;
      build();
      render();
    });
  }
  for (const button of document.querySelectorAll("[data-case]")) button.addEventListener("click", () => game.choose(button.dataset.case));
  $("play").addEventListener("click", play);
  $("step").addEventListener("click", step);
  $("game-open").addEventListener("click", toggleGame);
  $("tables").addEventListener("toggle", () => $("tables").open && render());
  document.addEventListener("keydown", keys);
  matchMedia("(max-width: 33rem)").addEventListener("change", redraw);
  if (document.fullscreenEnabled) {
    $("full").hidden = false;
    $("full").addEventListener("click", () => (document.fullscreenElement ? document.exitFullscreen() : document.documentElement.requestFullscreen()));
  }
  load();
}

begin();
