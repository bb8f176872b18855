// The gear train as levers: on each set sun, carrier and ring lie on one straight line of speeds.
import { el, put, say } from "./svg.js";
import { GEARS, names } from "./words.js";

const TOP = 34;
// The scale takes the first of these that all members fit in [rpm].
const SCALES = [1500, 3000, 4500, 7000, 12000];
const ROW = 18;

export class Levers {
  constructor(svg, caption) {
    this.svg = svg;
    this.caption = caption;
  }

  y(row, rpm) {
    const share = (rpm - this.low) / (this.high - this.low);
    return row * this.tall + TOP + (this.tall - TOP - this.foot) * (1 - share);
  }

  // On a narrow screen the sets stand one below the other, else side by side.
  draw(table) {
    const narrow = this.svg.clientWidth < 500;
    const count = table.sets.length;
    const columns = narrow ? 1 : count;
    const wide = narrow ? 400 : 660;
    const room = wide / columns;
    this.tall = narrow ? 230 : 262;
    this.foot = 5 * ROW;
    put(this.svg, "viewBox", `0 0 ${wide} ${this.tall * Math.ceil(count / columns)}`);
    const parts = [];
    this.sets = table.sets.map((set, i) => {
      const row = narrow ? i : 0;
      const left = narrow ? 0 : i * room;
      const bottom = row * this.tall + this.tall - this.foot;
      const zero = el("line", { x1: left + 6, x2: left + room - 6, class: "zero" });
      const most = el("line", { x1: left + 6, x2: left + room - 6, class: "grid" });
      parts.push(most, zero);
      const farthest = Math.max(...set.nodes.map((node) => node.place));
      const edge = narrow ? 60 : 40;
      const bar = el("line", { class: "lever-bar" });
      parts.push(bar, el("text", { x: left + room / 2, y: row * this.tall + 16, "text-anchor": "middle", class: "label" }, `${names(set.name)} set`));
      const nodes = set.nodes.map((node) => {
        const x = left + edge + ((room - 2 * edge) * node.place) / farthest;
        const dot = el("circle", { cx: x, r: 8, class: "node" });
        const ground = el("path", { class: "ground" });
        const number = el("text", { x, "text-anchor": "middle", class: "number" });
        // The carrier stands close to the ring: its name has rows of its own.
        const low = node.role === "carrier";
        const words = names(node.member).split(" ");
        if (node.member === table.input && words.length < 3) words.push("(in)");
        if (node.member === table.output && words[0] !== "output") words.push("(out)");
        words.slice(0, 3).forEach((word, k) => {
          parts.push(el("text", { x, y: bottom + ROW * (k + (low ? 3 : 1)) - 3, "text-anchor": "middle", class: "small" }, word));
        });
        parts.push(el("line", { x1: x, y1: row * this.tall + TOP, x2: x, y2: bottom + (low ? 2 * ROW : 0), class: "grid" }), ground, dot, number);
        return { ...node, x, dot, ground, number, low };
      });
      return { row, bar, nodes, zero, most };
    });
    this.scale = el("text", { x: 6, y: TOP - 6, class: "small" });
    this.svg.replaceChildren(...parts, this.scale);
  }

  // Steps of scale rather than a gliding one, so that dots climb as the car does.
  fit(state) {
    const all = Object.values(state.members);
    const most = Math.max(...all.map(Math.abs));
    this.high = SCALES.find((scale) => most <= scale) ?? most;
    this.low = Math.min(...all) < -0.05 * this.high ? -0.95 * this.high : -0.25 * this.high;
    say(this.scale, `${this.high.toLocaleString("en")} rpm`);
    for (const { row, zero, most: line } of this.sets) {
      for (const [one, rpm] of [[zero, 0], [line, this.high]]) {
        put(one, "y1", this.y(row, rpm).toFixed(1));
        put(one, "y2", this.y(row, rpm).toFixed(1));
      }
    }
  }

  update(state) {
    this.fit(state);
    for (const { row, bar, nodes } of this.sets) {
      for (const node of nodes) {
        const rpm = state.members[node.member];
        const y = this.y(row, rpm ?? 0);
        const still = state.train.still.includes(node.member);
        put(node.dot, "cy", y.toFixed(1));
        put(node.dot, "class", rpm === undefined ? "node free" : "node");
        put(node.number, "y", (node.low ? y + (still ? 36 : 26) : y - 14).toFixed(1));
        say(node.number, rpm === undefined ? "free" : still ? "held" : Math.abs(rpm) < 0.5 ? "still" : Math.round(rpm).toLocaleString("en"));
        put(node.ground, "d", still ? `M${node.x - 15} ${y} h30 m-26 0 l-6 10 m16 -10 l-6 10 m16 -10 l-6 10` : "M0 0");
      }
      const ends = [...nodes].sort((a, b) => a.x - b.x).filter((_, i, all) => i === 0 || i === all.length - 1);
      const known = ends.every((node) => state.members[node.member] !== undefined);
      put(bar, "visibility", known ? "visible" : "hidden");
      if (!known) continue;
      ends.forEach((node, i) => {
        put(bar, `x${i + 1}`, node.x);
        put(bar, `y${i + 1}`, this.y(row, state.members[node.member]).toFixed(1));
      });
    }
    const gear = GEARS[state.gear];
    say(this.caption, `${gear[0].toUpperCase()}${gear.slice(1)}, ${state.train.ratio.toFixed(2)} to 1, by ${state.train.holding.join(", ")}.`);
  }
}
