// The same valves as graphical symbols in the manner of ISO 1219-1: boxes, arrows, springs and dashed pilot lines.
import { el, put, say, weight, zigzag } from "./svg.js";
import { pressureOf } from "./parts.js";
import { pressure, vacuum } from "./words.js";

const head = (x, y, turn) => el("path", { d: "M-6 -11 L0 0 L6 -11", transform: `translate(${x} ${y}) rotate(${turn})`, class: "head" });

function tank(x, y) {
  return el("path", { d: `M${x - 13} ${y} v12 h26 v-12`, class: "line" });
}

function pump(x, y) {
  return el(
    "g",
    {},
    el("circle", { cx: x, cy: y, r: 20, class: "box" }),
    el("path", { d: `M${x - 9} ${y - 8} L${x} ${y - 20} L${x + 9} ${y - 8} z`, class: "solid" }),
  );
}

function spring(x, y) {
  return el("polyline", { points: zigzag(x, x + 34, y, 9, 4), class: "spring" });
}

function pilot(d, what) {
  return { what, node: el("path", { d, class: "pilot" }) };
}

function words(x, y, label, anchor = "middle") {
  const number = el("text", { x, y: y + 19, "text-anchor": anchor, class: "number" });
  return { number, node: el("g", {}, el("text", { x, y, "text-anchor": anchor, class: "label" }, label), number) };
}

// A pressure valve: one square, its arrow more in line with the ports the further it is open.
function pressureValve(part) {
  const group = el("g", {});
  const square = el("rect", { x: 146, y: 62, width: 68, height: 68, class: "box" });
  const regulator = part.id === "regulator";
  const inward = el("line", { x1: 180, y1: regulator ? 178 : 162, x2: 180, y2: 130, class: "flow" });
  const outward = el("line", { x1: 180, y1: 62, x2: 180, y2: 38, class: "flow" });
  const arrow = el("g", {}, el("line", { x1: 180, y1: 128, x2: 180, y2: 66, class: "line" }), head(180, 64, 180));
  const pilots = regulator
    ? [pilot("M 180 150 H 120 V 96 H 146", "line"), pilot("M 300 140 V 96 H 248", "signal")]
    : [pilot("M 180 48 H 120 V 96 H 146", part.id === "governor" ? "governor" : "signal")];
  const inLabel = words(regulator ? 92 : 120, regulator ? 166 : 160, "line");
  const out = regulator ? null : words(194, 18, part.id === "governor" && part.signals.length > 1 ? "both signals" : part.ports[2].label, "start");
  const pushed = pusher(part, regulator);
  group.append(square, inward, outward, arrow, ...pilots.map((one) => one.node), inLabel.node, pushed.node);
  if (regulator) group.append(pump(180, 184), el("path", { d: "M 180 38 H 250 V 52", class: "line" }), tank(250, 46));
  if (out) group.append(out.node, el("path", { d: "M 202 130 V 150", class: "line" }), tank(202, 150));
  return {
    group,
    update(state) {
      const stands = part.stands(state);
      const off = regulator ? 20 * (1 - stands) : 20 * stands;
      put(arrow, "transform", `translate(${(-off).toFixed(1)} 0)`);
      put(inward, "stroke-width", weight(state.line));
      put(outward, "stroke-width", regulator ? weight(0) : weight(pressureOf(part.ports[2].what, state, part)));
      for (const one of pilots) put(one.node, "stroke-width", 1 + Number(weight(pressureOf(one.what, state, part))) / 4);
      say(inLabel.number, pressure(state.line));
      if (out) {
        const all = part.id === "governor" ? Object.values(state.governor) : [state.signal];
        say(out.number, pressure(...all));
      }
      pushed.update(state);
    },
  };
}

function pusher(part, regulator) {
  const node = el("g", {});
  if (part.pusher === "weights") {
    // Mechanical control by speed: a pushed stem with a bob on either side.
    const told = words(300, 160, "weights");
    node.append(
      el("path", { d: "M 214 96 H 262 M 262 84 V 108", class: "line" }),
      el("circle", { cx: 262, cy: 72, r: 9, class: "solid" }),
      el("circle", { cx: 262, cy: 120, r: 9, class: "solid" }),
      told.node,
    );
    return { node, update: (state) => say(told.number, `${Math.round(state.output)} rpm`) };
  }
  node.append(spring(214, 96));
  if (regulator) {
    const told = words(300, 160, "throttle");
    node.append(told.node);
    return { node, update: (state) => say(told.number, pressure(state.signal)) };
  }
  const capsule = part.pusher === "capsule";
  const told = words(310, 160, capsule ? "vacuum" : "pedal");
  node.append(
    el("rect", { x: 248, y: 82, width: 34, height: 28, class: "box" }),
    capsule ? el("path", { d: "M 265 82 V 110 M 282 96 H 310 V 140", class: "pilot" }) : el("path", { d: "M 282 96 H 330 M 318 86 L 330 96 L 318 106", class: "line" }),
    told.node,
  );
  return { node, update: (state) => say(told.number, capsule ? vacuum(state.felt) : `${Math.round(100 * state.travel)} %`) };
}

// A shift valve: a three-port, two-position valve whose squares slide over the ports.
function shiftValve(part) {
  const group = el("g", {});
  const SIDE = 64;
  const squares = el(
    "g",
    { class: "spool" },
    el("rect", { x: 148 - SIDE, y: 64, width: SIDE, height: SIDE, class: "box" }),
    el("rect", { x: 148, y: 64, width: SIDE, height: SIDE, class: "box" }),
    // Left square: line to clutch, sump shut. Right square: clutch to sump, line shut.
    el("line", { x1: 148 - SIDE + 46, y1: 126, x2: 148 - SIDE + 32, y2: 68, class: "line" }),
    head(148 - SIDE + 31, 66, 166),
    el("path", { d: `M${148 - SIDE + 18} 128 v-14 m-8 0 h16`, class: "line" }),
    el("line", { x1: 180, y1: 66, x2: 167, y2: 124, class: "line" }),
    head(166, 127, 13),
    el("path", { d: "M 194 128 v-14 m-8 0 h16", class: "line" }),
  );
  const left = pilot("", part.ports[0].what);
  const right = pilot("", "signal");
  const coil = el("polyline", { class: "spring" });
  const clutch = el("line", { x1: 180, y1: 40, x2: 180, y2: 64, class: "flow" });
  const line = el("line", { x1: 194, y1: 128, x2: 194, y2: 152, class: "flow" });
  const out = words(180, 16, part.ports[2].label);
  const feed = words(226, 168, "line");
  const governor = words(44, 160, part.ports[0].label);
  const signal = words(322, 160, "throttle");
  group.append(squares, left.node, right.node, coil, clutch, line, el("path", { d: "M 166 128 V 150", class: "line" }), tank(158, 150), out.node, feed.node, governor.node, signal.node);
  return {
    group,
    update(state) {
      const now = state.valves[part.shift];
      const by = now.up ? SIDE : 0;
      put(squares, "transform", `translate(${by} 0)`);
      const push = now.push.reduce((a, b) => a + b, 0);
      put(left.node, "d", `M 44 140 V 96 H${148 - SIDE + by}`);
      put(right.node, "d", `M 322 140 V 110 H${212 + by}`);
      put(coil, "points", zigzag(212 + by, 246 + by, 82, 8, 4));
      put(left.node, "stroke-width", 1 + Number(weight(push)) / 4);
      put(right.node, "stroke-width", 1 + Number(weight(state.signal)) / 4);
      put(clutch, "stroke-width", weight(now.up ? state.line : 0));
      put(line, "stroke-width", weight(state.line));
      say(out.number, pressure(now.up ? state.line : 0));
      say(feed.number, pressure(state.line));
      say(governor.number, pressure(push));
      say(signal.number, pressure(state.signal));
    },
  };
}

export function symbol(part) {
  const svg = el("svg", { viewBox: "2 0 358 206", class: "valve symbol" });
  const made = part.shift === undefined ? pressureValve(part) : shiftValve(part);
  svg.append(made.group);
  return { svg, update: (state) => made.update(state) };
}
