// The valves of each kind of box as data: which lands, ports and pushers each has. Lengths in units of a drawing.
// Every spool stands at its left end at 0 and TRAVEL to the right at 1.
import { bare, pressure } from "./words.js";

export const TRAVEL = 40;

// A groove that joins the middle port with its left neighbour at 0, with its right one at 1.
const SLIDES = { lands: [[72, 33], [165, 40]], stem: 34 };
// A groove that stays open to the middle port and uncovers the right one little by little.
const SPILLS = { lands: [[72, 36], [170, 42]], stem: 34 };

const governorNames = { governor: "governor", first: "first", second: "second" };

function throttleValve(kind) {
  const vacuum = kind === "three-speed-vacuum";
  return {
    id: "throttle",
    name: vacuum ? "Modulator" : "Throttle valve",
    spool: SLIDES,
    pusher: vacuum ? "capsule" : "rod",
    ports: [
      { x: 58, side: "top", what: "signal", label: "" },
      { x: 118, side: "bottom", what: "line", label: "line" },
      { x: 154, side: "top", what: "signal", label: "throttle signal" },
      { x: 190, side: "bottom", what: "sump", label: "sump" },
    ],
    stands: (state) => 1 - state.opened,
    says: (state) =>
      vacuum
        ? `Less vacuum, more signal.`
        : `More pedal, more signal.`,
  };
}

export function partsOf(table) {
  const kind = table.box.kind;
  const signals = Object.keys(table.governor);
  return [
    {
      id: "regulator",
      name: "Pressure regulator",
      spool: SPILLS,
      pusher: "spring",
      ports: [
        { x: 58, side: "bottom", what: "line", label: "" },
        { x: 142, side: "top", what: "line", label: "from the pump" },
        { x: 190, side: "bottom", what: "sump", label: "sump" },
        { x: 258, side: "top", what: "signal", label: "throttle" },
      ],
      stands: (state) => state.spilled,
      says: (state) =>
        state.spilled > 0.02
          ? `Lets ${Math.round(100 * state.spilled)} % of the pump’s flow go back.`
          : `Shut: the pump can do no more than ${pressure(state.line)}.`,
    },
    throttleValve(kind),
    {
      id: "governor",
      name: "Governor",
      spool: SLIDES,
      pusher: "weights",
      signals,
      ports: [
        { x: 58, side: "top", what: "governor", label: "" },
        { x: 118, side: "bottom", what: "line", label: "line" },
        {
          x: 154,
          side: "top",
          what: "governor",
          label: signals.length > 1 ? "two governor signals" : "governor",
        },
        { x: 190, side: "bottom", what: "sump", label: "sump" },
      ],
      stands: (state) => 1 - Math.min(Math.max(...Object.values(state.governor)) / Math.max(state.line, 1), 1),
      says: (state) => {
        const told = signals.map((name) => pressure(state.governor[name]));
        return signals.length > 1
          ? `Heavy weight ${told[0]}, light weight ${told[1]}.`
          : `The faster the car, the wider its weights swing.`;
      },
    },
    ...table.valves.map((valve, i) => ({
      id: valve.shift,
      name: `${valve.shift.replace("-", "–")} shift valve`,
      spool: SLIDES,
      pusher: "spring",
      shift: i,
      ports: [
        {
          x: 58,
          side: "bottom",
          what: valve.pushed_by.length > 1 ? "push" : governorNames[valve.pushed_by[0]],
          label: valve.pushed_by.length > 1 ? "both" : "governor",
        },
        { x: 118, side: "bottom", what: "sump", label: "sump" },
        { x: 154, side: "top", what: "out", label: `to ${["second", "third", "fourth"][i]}` },
        { x: 190, side: "bottom", what: "line", label: "line" },
        { x: 258, side: "top", what: "signal", label: "throttle" },
      ],
      stands: (state) => {
        const now = state.valves[i];
        if (now.up) return 1;
        // Before it snaps over, the valve already leans a little as what pushes it nears what it needs.
        const push = now.push.reduce((a, b) => a + b, 0);
        return now.stuck ? 0 : 0.12 * Math.min(push / Math.max(now.needs, 1), 1);
      },
      says: (state) => {
        const now = state.valves[i];
        const push = pressure(now.push.reduce((a, b) => a + b, 0));
        if (now.stuck) return `Stuck ${now.stuck > 0 ? "up" : "down"}: ${push} push in vain.`;
        if (now.up) return `Up: ${push} push it; below ${bare(now.needs)} it comes down.`;
        return `Down: ${push} push it; it takes ${bare(now.needs)}.`;
      },
    })),
  ];
}

export function pressureOf(what, state, part) {
  if (what === "line") return state.line;
  if (what === "signal") return state.signal;
  if (what === "governor") return Math.max(...Object.values(state.governor));
  if (what === "first" || what === "second") return state.governor[what];
  if (what === "push") return state.valves[part.shift].push.reduce((a, b) => a + b, 0);
  if (what === "out") return state.valves[part.shift].up ? state.line : 0;
  return 0;
}
