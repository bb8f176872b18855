// Small helpers for drawing: everything is made of elements and attributes, nothing of markup in strings.
const SPACE = "http://www.w3.org/2000/svg";

export function el(name, attributes = {}, ...children) {
  const made = document.createElementNS(SPACE, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

export function html(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

export function put(element, name, value) {
  const text = String(value);
  if (element.getAttribute(name) !== text) element.setAttribute(name, text);
}

export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

// Line weight of a pressure [psi] in the units of a drawing.
export function weight(pressure) {
  return (1.5 + 11 * Math.min(Math.max(pressure, 0), 180) / 180).toFixed(1);
}

export function zigzag(from, to, middle, height, turns = 7) {
  const points = [`${from},${middle}`];
  for (let i = 1; i < turns * 2; i += 1) {
    const x = from + ((to - from) * i) / (turns * 2);
    points.push(`${x.toFixed(1)},${middle + (i % 2 ? -height : height)}`);
  }
  points.push(`${to},${middle}`);
  return points.join(" ");
}
