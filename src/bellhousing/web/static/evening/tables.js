// Each picture as a table: pressures, valves, members, and the whole shift map.
import { html } from "./svg.js";
import { names, pressure, shown, vacuum, whole } from "./words.js";

function table(caption, head, rows) {
  const made = html("table", {}, html("caption", {}, caption));
  made.append(html("thead", {}, html("tr", {}, ...head.map((text) => html("th", { scope: "col" }, text)))));
  made.append(
    html(
      "tbody",
      {},
      ...rows.map(([first, ...rest]) => html("tr", {}, html("th", { scope: "row" }, first), ...rest.map((cell) => html("td", {}, cell)))),
    ),
  );
  return html("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption }, made);
}

const speed = (value) => (value === null ? "never" : whole(value));

export function tables(place, data, state, parts) {
  const pressures = [
    ["Line", pressure(state.line)],
    ["Throttle signal", pressure(state.signal)],
    ...Object.entries(state.governor).map(([name, psi]) => [name === "governor" ? "Governor" : `Governor, ${name} signal`, pressure(psi)]),
  ];
  if (state.felt !== null) pressures.push(["Vacuum at the engine", vacuum(state.vacuum)], ["Vacuum felt by the diaphragm", vacuum(state.felt)]);
  pressures.push(["Engine", `${whole(state.engine)} rpm`]);
  const valves = parts.map((part) => [part.name, part.says(state)]);
  const members = data.sets.flatMap((set) =>
    set.nodes.map((node) => [
      `${names(set.name)} set, ${node.role}`,
      names(node.member),
      state.members[node.member] === undefined ? "free" : `${whole(state.members[node.member])} rpm`,
    ]),
  );
  const map = data.travel
    .map((travel, i) => [travel, i])
    .filter(([, i]) => i % 4 === 0)
    .map(([travel, i]) => [`${whole(100 * travel)} %`, ...data.valves.flatMap((valve) => [speed(valve.map_up[i]), speed(valve.down[i])])]);
  map.push(["on its stop", ...data.valves.flatMap((valve) => [speed(valve.floor.up), speed(valve.floor.down)])]);
  place.replaceChildren(
    table("Pressures now", ["What", "How much"], pressures),
    table("Valves now", ["Valve", "What it does"], valves),
    table("Gear train now", ["Where", "Member", "Speed"], members),
    table(
      `Shift map, ${data.unit}`,
      ["Throttle", ...data.valves.flatMap((valve) => [`${shown(valve.shift)} up`, `${shown([...valve.shift].reverse().join(""))} down`])],
      map,
    ),
  );
}
