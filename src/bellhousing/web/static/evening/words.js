// What the picture shows, in words.
export const GEARS = ["", "first", "second", "third", "fourth"];

// Shares of the throttle that have a name, and how near to one it must stand to be called so.
const SHARES = [
  [1 / 5, "a fifth of the throttle"],
  [1 / 4, "a quarter of the throttle"],
  [1 / 3, "a third of the throttle"],
  [2 / 5, "two fifths of the throttle"],
  [1 / 2, "half throttle"],
  [3 / 5, "three fifths of the throttle"],
  [2 / 3, "two thirds of the throttle"],
  [3 / 4, "three quarters of the throttle"],
  [4 / 5, "four fifths of the throttle"],
];
const NEAR = 0.008;

// Words for how far the throttle is open, none between the named points.
export function throttle(travel, kind) {
  if (travel <= 0.005) return "throttle shut";
  if (travel >= 0.995) return kind === "four-speed-linkage" ? "pedal on its stop" : "pedal on the floor";
  const share = SHARES.find(([part]) => Math.abs(travel - part) < NEAR);
  if (share) return share[1];
  if (travel < 0.2) return "light throttle";
  return travel > 0.8 ? "deep throttle" : "";
}

// The throttle within a sentence: in words where there are any, else its figure.
export const throttleSaid = (travel, kind) => throttle(travel, kind) || `${whole(100 * travel)} % throttle`;

// The table holds pressures in psi and vacuum in inHg; they are shown in kPa beside speeds in km/h.
const KPA_IN_PSI = 6.894757;
const KPA_IN_INHG = 3.386389;
const system = { metric: false };

export function follow(speedUnit) {
  system.metric = speedUnit === "km/h";
}

export const whole = (value) => Math.round(value).toString();
export const pressureUnit = () => (system.metric ? "kPa" : "psi");
export const bare = (psi) => whole(system.metric ? psi * KPA_IN_PSI : psi);
export const pressure = (...psi) => `${psi.map(bare).join(" and ")} ${pressureUnit()}`;
export const vacuum = (inHg) => (system.metric ? `${whole(inHg * KPA_IN_INHG)} kPa` : `${whole(inHg)} inHg`);
export const shown = (shift) => shift.replace("-", "–");
export const names = (text) => text.replace(/[-_]/g, " ");

export function sentence(state, kind, broken) {
  const said = [`${whole(state.speed)} ${state.unit}, ${throttleSaid(state.travel, kind)}: ${GEARS[state.gear]} gear.`];
  const next = state.valves[state.gear - 1];
  if (next) {
    if (next.stuck < 0) said.push(`The ${shown(next.shift)} valve is stuck down.`);
    else if (next.moves === null) said.push(`At this throttle it never changes up to ${GEARS[state.gear + 1]}.`);
    else if (next.moves > state.speed) said.push(`Changes up at ${whole(next.moves)}.`);
  }
  const last = state.valves[state.gear - 2];
  if (last && last.moves !== null && last.moves > 0) said.push(`Comes down below ${whole(last.moves)}.`);
  const governor = Object.values(state.governor);
  said.push(`Line ${pressure(state.line)}, throttle signal ${bare(state.signal)}, governor ${governor.map(bare).join(" and ")}.`);
  if (broken.length) said.push(`Broken: ${broken.join(", ")}.`);
  return said.join(" ");
}

export function odds(chance) {
  if (chance > 0.99) return "more than 99 in 100";
  if (chance < 0.01) return "less than 1 in 100";
  return `${Math.round(chance * 100)} in 100`;
}
