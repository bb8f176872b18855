// Valves as plain cut drawings: a hatched body, a bore, a spool with its lands, spring and ports.
import { el, put, say, weight, zigzag } from "./svg.js";
import { TRAVEL, pressureOf } from "./parts.js";
import { pressure, vacuum } from "./words.js";

const TOP = 72;
const BOTTOM = 112;
const MIDDLE = 92;
const ROOF = 46;
const FLOOR = 138;
const LOW_WORD = 160;
const LOW_NUMBER = 182;
const END = 276;
let count = 0;

function hatching(id) {
  return el(
    "defs",
    {},
    el(
      "pattern",
      { id, width: 9, height: 9, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      el("line", { x1: 0, y1: 0, x2: 0, y2: 9, class: "hatch" }),
    ),
  );
}

function portOf(port) {
  const top = port.side === "top";
  const inner = top ? TOP : BOTTOM;
  const wall = top ? ROOF : FLOOR;
  const far = top ? ROOF - 6 : FLOOR + 6;
  const channel = el("rect", { x: port.x - 9, y: Math.min(inner, wall), width: 18, height: 26, class: "bore" });
  const flow = el("line", { x1: port.x, y1: far, x2: port.x, y2: inner, class: "flow" });
  const group = el("g", {}, channel, flow);
  let number = null;
  if (port.label) {
    // Words stay inside the drawing, whatever their port.
    const anchor = port.x < 60 ? "start" : port.x > 250 ? "end" : "middle";
    const x = anchor === "start" ? 6 : anchor === "end" ? 306 : port.x;
    group.append(el("text", { x, y: top ? 15 : LOW_WORD, "text-anchor": anchor, class: "label" }, port.label));
    if (port.what !== "sump") {
      number = el("text", { x, y: top ? 36 : LOW_NUMBER, "text-anchor": anchor, class: "number" });
      group.append(number);
    }
  }
  return { port, group, flow, number };
}

function pusherOf(kind, part) {
  const group = el("g", {});
  if (kind === "spring") {
    const spring = el("polyline", { class: "spring" });
    group.append(spring);
    return { group, move: (x) => put(spring, "points", zigzag(x, END, MIDDLE, 14)) };
  }
  if (kind === "capsule") return capsule(group);
  if (kind === "rod") return rod(group);
  return weights(group, part);
}

function capsule(group) {
  const stem = el("line", { y1: MIDDLE, y2: MIDDLE, class: "stem" });
  const skin = el("path", { class: "skin" });
  const spring = el("polyline", { class: "spring" });
  const hose = el("path", { class: "hose" });
  const tear = el("path", { class: "tear" });
  const label = el("text", { x: 352, y: LOW_WORD, "text-anchor": "end", class: "label" }, "vacuum");
  const number = el("text", { x: 352, y: LOW_NUMBER, "text-anchor": "end", class: "number" });
  group.append(el("rect", { x: 290, y: 60, width: 62, height: 64, rx: 12, class: "can" }), hose, stem, skin, spring, tear, label, number);
  return {
    group,
    move: (x, state, marks) => {
      const at = 300 + ((x - 205) * 18) / TRAVEL;
      put(stem, "x1", x);
      put(stem, "x2", at);
      put(skin, "d", `M 306 62 Q${2 * at - 306} ${MIDDLE} 306 122`);
      put(spring, "points", zigzag(at, 350, MIDDLE, 12, 5));
      put(hose, "d", marks.has("hose-off") ? "M 332 124 V 131 M 318 146 V 138" : "M 332 124 V 146");
      put(tear, "d", marks.has("torn") ? `M${at - 5} 82 l10 5 l-10 5 l10 5 l-10 5` : "M0 0");
      say(number, vacuum(state.felt));
    },
  };
}

function rod(group) {
  const spring = el("polyline", { class: "spring" });
  const plunger = el("rect", { y: MIDDLE - 18, width: 10, height: 36, class: "land" });
  const bar = el("line", { y1: MIDDLE, x2: 356, y2: MIDDLE, class: "stem" });
  const label = el("text", { x: 352, y: LOW_WORD, "text-anchor": "end", class: "label" }, "pedal");
  const number = el("text", { x: 352, y: LOW_NUMBER, "text-anchor": "end", class: "number" });
  group.append(spring, bar, plunger, label, number);
  return {
    group,
    move: (x, state) => {
      const at = 300 - 34 * state.travel;
      put(spring, "points", zigzag(x, at, MIDDLE, 14, 5));
      put(plunger, "x", at);
      put(bar, "x1", at + 10);
      say(number, `${Math.round(100 * state.travel)} %`);
    },
  };
}

function weights(group, part) {
  const stem = el("line", { y1: MIDDLE, x2: 318, y2: MIDDLE, class: "stem" });
  const label = el("text", { x: 352, y: LOW_WORD, "text-anchor": "end", class: "label" }, "output shaft");
  const number = el("text", { x: 352, y: LOW_NUMBER, "text-anchor": "end", class: "number" });
  const arms = [];
  for (const [index, sign] of [-1, 1].entries()) {
    const arm = el("path", { class: "arm" });
    const bob = el("circle", { r: index ? 9 : 14, class: "bob" });
    group.append(arm, bob);
    arms.push({ arm, bob, sign, signal: part.signals[Math.min(index, part.signals.length - 1)] });
  }
  group.append(el("line", { x1: 296, y1: MIDDLE, x2: 356, y2: MIDDLE, class: "axis" }), stem, label, number);
  return {
    group,
    move: (x, state) => {
      put(stem, "x1", x);
      for (const { arm, bob, sign, signal } of arms) {
        const out = 20 + 28 * state.weights[signal];
        const along = 338 - 8 * state.weights[signal];
        const y = (MIDDLE + sign * out).toFixed(1);
        put(arm, "d", `M 318 ${MIDDLE} L${along.toFixed(1)} ${y}`);
        put(bob, "cx", along.toFixed(1));
        put(bob, "cy", y);
      }
      say(number, `${Math.round(state.output)} rpm`);
    },
  };
}

// Oil in the three chambers of the bore, the darker the higher its pressure: before, between and behind the lands.
function oils(part) {
  const [first, second] = part.spool.lands;
  const kinds = [part.ports[0].what, part.id === "regulator" ? "line" : part.ports[2].what];
  const behind = part.ports.find((port) => port.x > 250);
  const rooms = [
    { what: kinds[0], left: () => 50, right: (shift) => first[0] + shift },
    { what: kinds[1], left: (shift) => first[0] + first[1] + shift, right: (shift) => second[0] + shift },
  ];
  if (behind) rooms.push({ what: behind.what, left: (shift) => second[0] + second[1] + shift, right: () => 288 });
  for (const room of rooms) room.node = el("rect", { y: TOP, height: BOTTOM - TOP, class: "oil" });
  return rooms;
}

export function cut(part) {
  count += 1;
  const hatch = `hatch-${count}`;
  const svg = el("svg", { viewBox: "2 0 358 188", class: "valve" });
  const ports = part.ports.map(portOf);
  const [first, second] = part.spool.lands;
  const spool = el(
    "g",
    { class: "spool" },
    el("rect", { x: first[0], y: MIDDLE - part.spool.stem / 4, width: second[0] + second[1] - first[0], height: part.spool.stem / 2, class: "core" }),
    ...part.spool.lands.map(([x, width]) => el("rect", { x, y: TOP + 1, width, height: BOTTOM - TOP - 2, class: "land" })),
  );
  const right = second[0] + second[1];
  const pusher = pusherOf(part.pusher, part);
  const rooms = oils(part);
  const wedge = el("path", { class: "wedge", d: "M0 0" });
  svg.append(
    hatching(hatch),
    el("rect", { x: 32, y: ROOF, width: 256, height: FLOOR - ROOF, class: "body" }),
    el("rect", { x: 32, y: ROOF, width: 256, height: FLOOR - ROOF, fill: `url(#${hatch})` }),
    el("rect", { x: 50, y: TOP, width: 238, height: BOTTOM - TOP, class: "bore" }),
    ...rooms.map((room) => room.node),
    ...ports.map((port) => port.group),
    pusher.group,
    spool,
    wedge,
  );
  return {
    svg,
    update(state, marks) {
      const shift = TRAVEL * part.stands(state);
      put(spool, "transform", `translate(${shift.toFixed(1)} 0)`);
      pusher.move(right + shift, state, marks);
      for (const room of rooms) {
        const left = room.left(shift);
        put(room.node, "x", left.toFixed(1));
        put(room.node, "width", Math.max(room.right(shift) - left, 0).toFixed(1));
        put(room.node, "fill-opacity", Math.min(pressureOf(room.what, state, part) / 200, 0.75).toFixed(2));
      }
      for (const { port, flow, number } of ports) {
        const here = pressureOf(port.what, state, part);
        put(flow, "stroke-width", weight(here));
        if (!number) continue;
        const two = port.what === "governor" && part.id === "governor" && part.signals.length > 1;
        say(number, two ? pressure(...part.signals.map((name) => state.governor[name])) : pressure(here));
      }
      const x = first[0] + shift + first[1] / 2;
      put(wedge, "d", marks.has("stuck") ? `M${x - 13} 60 h26 l-9 26 h-8 z` : "M0 0");
    },
  };
}
