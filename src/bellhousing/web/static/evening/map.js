// The shift map: road speed along, throttle up; the point of the moment moves over it.
import { el, put, say } from "./svg.js";
import { shown } from "./words.js";

const LEFT = 62;
const RIGHT = 24;
const TOP = 18;
const FOOT = 50;

export class ShiftMap {
  constructor(svg, caption) {
    this.svg = svg;
    this.caption = caption;
  }

  x(speed) {
    return LEFT + ((this.wide - LEFT - RIGHT) * speed) / this.fastest;
  }

  y(travel) {
    return this.high - FOOT - (this.high - FOOT - TOP) * travel;
  }

  // Draws the curves anew; a table has changed, not the point.
  draw(table, sound) {
    const narrow = this.svg.clientWidth < 500;
    this.wide = narrow ? 400 : 660;
    this.high = narrow ? 300 : 268;
    put(this.svg, "viewBox", `0 0 ${this.wide} ${this.high}`);
    this.fastest = table.speed[table.speed.length - 1];
    const parts = [el("rect", { x: LEFT, y: TOP, width: this.wide - LEFT - RIGHT, height: this.high - FOOT - TOP, class: "plane" })];
    for (let speed = 0; speed <= this.fastest + 0.1; speed += 20) {
      parts.push(el("line", { x1: this.x(speed), y1: TOP, x2: this.x(speed), y2: this.high - FOOT, class: "grid" }));
      parts.push(el("text", { x: this.x(speed), y: this.high - FOOT + 21, "text-anchor": "middle", class: "label" }, String(speed)));
    }
    for (const [travel, word] of [[0, "shut"], [0.5, "half"], [1, "full"]]) {
      parts.push(el("line", { x1: LEFT, y1: this.y(travel), x2: this.wide - RIGHT, y2: this.y(travel), class: "grid" }));
      parts.push(el("text", { x: LEFT - 8, y: this.y(travel) + 6, "text-anchor": "end", class: "label" }, word));
    }
    parts.push(el("text", { x: (LEFT + this.wide - RIGHT) / 2, y: this.high - 8, "text-anchor": "middle", class: "label" }, `road speed, ${table.unit}`));
    if (sound) for (const valve of sound.valves) parts.push(this.curve(sound, valve.map_up, "sound"));
    const never = [];
    const labels = [];
    table.valves.forEach((valve) => {
      parts.push(this.curve(table, valve.down, "down"), this.curve(table, valve.map_up, "up"));
      const at = this.labelled(valve.map_up);
      if (valve.map_up.every((speed) => speed === null)) never.push(shown(valve.shift));
      if (at !== null) labels.push(this.label(valve.map_up[at], table.travel[at], shown(valve.shift)));
    });
    this.cross = el("path", { class: "cross" });
    this.dot = el("circle", { r: 11, class: "dot" });
    this.svg.replaceChildren(...parts, ...labels, this.cross, this.dot);
    const told = ["Thick: changes up.", "Dashed: comes down."];
    if (sound) told.push("Thin: changes up when sound.");
    if (never.length) told.push(`${never.join(" and ")} never.`);
    say(this.caption, told.join(" "));
  }

  // Where along a curve its name stands: near the top, as far as it comes within the map.
  labelled(speeds) {
    for (let i = Math.round(0.88 * (speeds.length - 1)); i >= 0; i -= 1) {
      if (speeds[i] !== null && speeds[i] <= this.fastest) return i;
    }
    return null;
  }

  label(speed, travel, text) {
    const last = speed > this.fastest - 9;
    return el("text", { x: this.x(speed) + (last ? -10 : 10), y: this.y(travel) + 12, "text-anchor": last ? "end" : "start", class: "number" }, text);
  }

  curve(table, speeds, kind) {
    let d = "";
    let pen = "M";
    speeds.forEach((speed, i) => {
      if (speed === null || speed > this.fastest) {
        pen = "M";
        return;
      }
      d += `${pen}${this.x(speed).toFixed(1)} ${this.y(table.travel[i]).toFixed(1)} `;
      pen = "L";
    });
    return el("path", { d: d || "M0 0", class: `curve ${kind}` });
  }

  update(state) {
    const x = this.x(state.speed).toFixed(1);
    const y = this.y(state.travel).toFixed(1);
    put(this.dot, "cx", x);
    put(this.dot, "cy", y);
    put(this.cross, "d", `M${x} ${y} V${this.high - FOOT} M${x} ${y} H${LEFT}`);
  }
}
