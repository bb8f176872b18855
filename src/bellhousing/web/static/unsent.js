// Shows what is not sent yet at the place it was written, and what the server refused with its words.
import * as outbox from "./outbox.js";
import { all, bytes } from "./shelf.js";

const SIDE = 240;
const drawn = new Map();
let drawing = Promise.resolve();

// Keys of entries whose answer is being waited for: they are not shown as unsent before their time.
export const awaited = new Set();

// One drawing at a time, so that the last one shows what is true last.
export function draw() {
  drawing = drawing.then(redraw).catch(() => {});
  return drawing;
}

async function redraw() {
  const entries = (await all()).filter(({ key }) => !awaited.has(key));
  const typing = holding();
  for (const old of document.querySelectorAll(".unsent")) old.remove();
  const elsewhere = [];
  for (const entry of entries) {
    const at = entry.page === location.pathname ? document.getElementById(entry.at) : null;
    if (at) listAt(at).append(item(entry));
    else elsewhere.push(entry);
  }
  top(entries, elsewhere);
  putBack(typing);
}

function listAt(at) {
  const inside = !at.matches("form");
  const known = inside ? at.querySelector(":scope > .unsent") : at.nextElementSibling;
  if (known?.matches(".unsent")) return known;
  const list = document.createElement("ul");
  list.className = "unsent";
  list.setAttribute("aria-label", "Not sent yet");
  if (inside) at.append(list);
  else at.after(list);
  return list;
}

function item(entry) {
  const made = document.createElement("li");
  made.dataset.place = entry.place;
  const refused = entry.state === "refused";
  const line = element("p", "");
  line.append(element("strong", refused ? "Not kept. " : "Not sent yet. "));
  line.append(`“${entry.says}” `, element("span", `written ${clock(entry.written)}`, "quiet"));
  made.append(line);
  const pictures = element("div", "");
  made.append(pictures);
  for (const file of entry.files) preview(pictures, file);
  if (refused) {
    made.append(element("p", entry.told, "unsent-why"));
    made.append(mending(entry));
  } else {
    made.append(tap("Drop it", entry, () => outbox.drop(entry)));
  }
  return made;
}

function mending(entry) {
  const line = element("div", "", "unsent-mend");
  let field = null;
  if (entry.main) {
    const label = element("label", "Put it right");
    field = document.createElement("input");
    field.type = "text";
    field.autocomplete = "off";
    field.value = entry.fields.find(([name]) => name === entry.main)?.[1] ?? "";
    field.id = `mend-${entry.place}`;
    label.htmlFor = field.id;
    line.append(label, field);
  }
  line.append(tap("Send again", entry, () => outbox.sendAgain(entry.place, field?.value)));
  line.append(tap("Drop it", entry, () => outbox.drop(entry)));
  return line;
}

function tap(text, entry, act) {
  const made = element("button", text, "tap");
  made.type = "button";
  made.append(element("span", `: ${entry.says}`, "unseen"));
  made.addEventListener("click", act);
  return made;
}

// Drawn, not loaded: the page may load nothing but what the server sends.
async function preview(made, file) {
  if (!drawn.has(file.id)) drawn.set(file.id, await small(file));
  const canvas = drawn.get(file.id);
  if (canvas) made.append(canvas);
}

async function small(file) {
  try {
    const image = await createImageBitmap(new Blob([await bytes(file)], { type: file.type }));
    const canvas = document.createElement("canvas");
    const scale = Math.min(1, SIDE / Math.max(image.width, image.height));
    canvas.width = Math.max(1, Math.round(image.width * scale));
    canvas.height = Math.max(1, Math.round(image.height * scale));
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", `The photo ${file.called}`);
    return canvas;
  } catch {
    return null; // a kind this browser cannot draw; its name stands in the line above
  }
}

function top(entries, elsewhere) {
  const strip = document.getElementById("outbox");
  const waiting = entries.filter((entry) => entry.state === "waiting").length;
  const refused = entries.length - waiting;
  const said = [];
  if (waiting) said.push(`${waiting} not sent yet.`);
  if (refused) said.push(`${refused} not kept: put right or drop ${refused > 1 ? "them" : "it"}.`);
  if (waiting) said.push(why());
  strip.hidden = !entries.length && !document.body.dataset.kept;
  const line = element("p", [kept(), ...said].filter(Boolean).join(" "));
  const list = element("ul", "", "unsent");
  for (const entry of elsewhere) {
    const made = item(entry);
    const link = element("a", entry.title, "tap");
    link.href = entry.page;
    made.prepend(link);
    list.append(made);
  }
  strip.replaceChildren(line, ...(elsewhere.length ? [list] : []));
}

function why() {
  if (outbox.state.loginNeeded) return "Log in again in this browser (open this page in another tab), then they are sent.";
  if (outbox.state.linked) return "They are being sent.";
  const opened = navigator.serviceWorker?.controller
    ? "This page can be opened again meanwhile."
    : "Leave this page open: without the server it cannot be opened anew at this address.";
  return `No connection: they are kept here and sent by themselves when it is back. ${opened}`;
}

function kept() {
  const at = document.body.dataset.kept;
  return at ? `No connection: this page is as it was at ${clock(Number(at))}. You can write on it all the same.` : "";
}

// What is being typed into an entry while the list is drawn anew.
function holding() {
  const field = document.activeElement?.closest?.(".unsent input");
  return field && { id: field.id, value: field.value, at: field.selectionStart };
}

function putBack(typing) {
  const field = typing && document.getElementById(typing.id);
  if (!field) return;
  field.value = typing.value;
  field.focus({ preventScroll: true });
  field.setSelectionRange(typing.at, typing.at);
}

function element(name, text, kind = "") {
  const made = document.createElement(name);
  made.textContent = text;
  if (kind) made.className = kind;
  return made;
}

function clock(moment) {
  return new Date(moment).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
}
