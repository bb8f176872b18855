// Reads the table the server worked out: interpolates between its points and follows the shift valves.
function place(axis, value) {
  let low = 0;
  let high = axis.length - 1;
  if (value <= axis[0]) return [0, 0];
  if (value >= axis[high]) return [high - 1, 1];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (axis[middle] <= value) low = middle;
    else high = middle;
  }
  return [low, (value - axis[low]) / (axis[low + 1] - axis[low])];
}

const between = (a, b, share) => a + (b - a) * share;

function along(row, [at, share]) {
  const a = row[at];
  const b = row[at + 1];
  // A shift that never comes at one end of a stretch does not come within it, but at the other end itself.
  if (a === null || b === null) return share < 1e-9 ? a : share > 1 - 1e-9 ? b : null;
  return between(a, b, share);
}

function over(plane, there, then) {
  return between(along(plane[there[0]], then), along(plane[there[0] + 1], then), there[1]);
}

export const FLOOR = 0.995;

export class Table {
  constructor(data) {
    this.data = data;
    this.up = data.valves.map(() => false);
  }

  // Up and down speed of a valve and the pressures it needs; null = never.
  needs(valve, travel) {
    if (travel >= FLOOR) {
      return { upAt: valve.floor.up, downAt: valve.floor.down, up: valve.floor.up_needs, down: valve.floor.down_needs };
    }
    const there = place(this.data.travel, travel);
    return {
      upAt: along(valve.up, there),
      downAt: along(valve.down, there),
      up: along(valve.up_needs, there),
      down: along(valve.down_needs, there),
    };
  }

  // Moves the valves as the point moves and tells everything there is at it.
  at(travel, speed) {
    const data = this.data;
    const there = place(data.travel, travel);
    const then = place(data.speed, speed);
    const needs = data.valves.map((valve) => this.needs(valve, travel));
    data.valves.forEach((valve, i) => {
      const { upAt, downAt } = needs[i];
      if (valve.stuck) this.up[i] = valve.stuck > 0;
      else if (!this.up[i] && upAt !== null && speed > upAt) this.up[i] = true;
      else if (this.up[i] && (downAt === null || speed < downAt)) this.up[i] = false;
    });
    let gear = 1;
    while (gear <= this.up.length && this.up[gear - 1]) gear += 1;
    const block = (planes) => over(planes[gear - 1], there, then);
    const governor = {};
    for (const [name, planes] of Object.entries(data.governor)) governor[name] = block(planes);
    const weights = {};
    for (const [name, row] of Object.entries(data.weights)) weights[name] = along(row, then);
    const output = data.turns * speed;
    const train = data.gears[gear - 1];
    return {
      travel,
      speed,
      gear,
      unit: data.unit,
      line: block(data.line),
      spilled: block(data.spilled),
      engine: block(data.engine),
      signal: over(data.signal, there, then),
      opened: over(data.opened, there, then),
      governor,
      weights,
      vacuum: data.vacuum.length ? along(data.vacuum, there) : null,
      felt: data.felt.length ? along(data.felt, there) : null,
      valves: data.valves.map((valve, i) => ({
        shift: valve.shift,
        up: this.up[i],
        stuck: valve.stuck,
        push: valve.pushed_by.map((name) => governor[name]),
        needs: this.up[i] ? needs[i].down : needs[i].up,
        moves: this.up[i] ? needs[i].downAt : needs[i].upAt,
      })),
      output,
      members: Object.fromEntries(Object.entries(train.speeds).map(([name, turns]) => [name, turns * output])),
      train,
    };
  }
}
