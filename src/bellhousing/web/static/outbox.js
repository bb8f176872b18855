// Entries go up in the order they were written, once and only once: each carries a key of its own that the server
// knows again, is kept in the browser before it is sent, and is let go only when the server has answered.
import * as shelf from "./shelf.js";

const AGAIN = 3000;
const PATIENCE = { entry: 20_000, photo: 180_000 };
// What a server, or what stands before it, answers when it cannot take anything just now.
const NOT_NOW = new Set([408, 425, 429, 502, 503, 504]);
const tab = sessionStorage.getItem("tab") ?? shelf.ownId();
sessionStorage.setItem("tab", tab);
const others = "BroadcastChannel" in self ? new BroadcastChannel("outbox") : null;
const events = new EventTarget();

export const state = { linked: true, loginNeeded: false };
let working = null;
let again = 0;

export const onChange = (act) => events.addEventListener("change", act);
export const onSent = (act) => events.addEventListener("sent", (event) => act(event.detail));

// `pages` are those on which something went up.
function tellAll(pages = []) {
  events.dispatchEvent(new Event("change"));
  if (pages.length) events.dispatchEvent(new CustomEvent("sent", { detail: pages }));
  others?.postMessage(pages);
}

// Keeps what a form says; `entry.place` is its place in the order from then on.
export async function keepEntry(entry, datas) {
  entry.state = "waiting";
  entry.told = "";
  entry.place = await shelf.keepNew(entry, datas);
  // Without this a browser short of room may clear what it keeps; only offered where the address is safe.
  navigator.storage?.persist?.().catch(() => {});
}

export async function drop(entry) {
  await shelf.drop(entry);
  tellAll();
}

export async function sendAgain(place, value) {
  const entry = await shelf.get(place);
  if (!entry) return;
  if (value !== undefined) {
    entry.fields = entry.fields.map(([name, old]) => [name, name === entry.main ? value : old]);
    entry.says = value.trim() || entry.says;
  }
  await shelf.change({ ...entry, state: "waiting", told: "" });
  tellAll();
  flush();
}

// Sends what waits. `now` is the place of the entry a person has just sent: its answer, a page, is handed back.
export async function flush(now = null) {
  while (working) await working;
  let done;
  working = new Promise((end) => { done = end; });
  try {
    return await sendInOrder(now);
  } catch (error) {
    console.warn("what waits cannot be read", error);
    return { outcome: "waiting" };
  } finally {
    working = null;
    done();
  }
}

async function sendInOrder(now) {
  clearTimeout(again);
  let result = { outcome: "waiting" };
  const pages = [];
  let turn = false;
  for (const entry of await shelf.all()) {
    if (entry.state !== "waiting") continue;
    const patience = entry.files.length ? PATIENCE.photo : PATIENCE.entry;
    turn = await shelf.takeTurn(tab, patience + AGAIN);
    if (!turn) break;
    const mine = entry.place === now;
    const answer = await send(entry, mine, patience);
    if (mine) result = answer;
    if (answer.outcome === "waiting") break;
    // The words of a refusal stay beside the entry until somebody puts it right or drops it; the next go on.
    if (answer.outcome === "refused") await shelf.change({ ...entry, state: "refused", told: answer.told });
    else await shelf.dropSent(entry);
    if (answer.outcome === "sent" && !mine) pages.push(entry.page);
  }
  if (turn) await shelf.endTurn();
  if ((await shelf.all()).some((entry) => entry.state === "waiting")) again = setTimeout(flush, AGAIN);
  tellAll(pages);
  return result;
}

async function bodyOf(entry) {
  const datas = await Promise.all(entry.files.map(shelf.bytes));
  return body(entry, datas);
}

export function body(entry, datas) {
  if (!entry.files.length) return new URLSearchParams(entry.fields);
  const made = new FormData();
  for (const [name, value] of entry.fields) made.append(name, value);
  entry.files.forEach(({ name, type, called }, at) => made.append(name, new Blob([datas[at]], { type }), called));
  return made;
}

async function send(entry, mine, patience) {
  const made = await bodyOf(entry);
  try {
    const answer = await fetch(entry.action, {
      method: "POST",
      headers: {
        Accept: mine ? "text/html" : "application/json",
        // Whoever is logged in when it goes up need not be the one who wrote it.
        ...(entry.who ? { "X-Written-By": encodeURIComponent(entry.who) } : {}),
      },
      body: made,
      signal: AbortSignal.timeout(patience),
    });
    const text = await answer.text();
    state.linked = !NOT_NOW.has(answer.status);
    return judged(answer, text, mine);
  } catch {
    state.linked = false;
    return { outcome: "waiting" };
  }
}

function judged(answer, text, mine) {
  const page = answer.headers.get("content-type")?.startsWith("text/html") ?? false;
  const fresh = page ? new DOMParser().parseFromString(text, "text/html") : null;
  // A page without a form of ours is some other page that stands in the way, such as one that asks who is there.
  state.loginNeeded = answer.status === 401 || (answer.ok && page && !(mine && fresh.querySelector("form[data-keep]")));
  if (NOT_NOW.has(answer.status) || state.loginNeeded) return { outcome: "waiting" };
  if (answer.ok) return { outcome: "sent", answer, text, fresh };
  return { outcome: "refused", answer, text, fresh, told: wordsOf(text, fresh, answer.status) };
}

function wordsOf(text, fresh, status) {
  const unknown = `It was not taken (${status}).`;
  if (fresh) return fresh.querySelector(".problem")?.textContent.replace(/\s+/g, " ").trim() ?? unknown;
  try {
    const { what, where, remedy } = JSON.parse(text).error;
    const capital = what[0].toUpperCase() + what.slice(1);
    return `${capital}${where ? ` (${where})` : ""}${remedy ? `: ${remedy}` : ""}.`.replace(/\.\.$/, ".");
  } catch {
    return unknown;
  }
}

export function start() {
  addEventListener("online", () => flush());
  addEventListener("offline", () => {
    state.linked = false;
    events.dispatchEvent(new Event("change"));
  });
  addEventListener("pageshow", (event) => { if (event.persisted) flush(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) flush(); });
  others?.addEventListener("message", ({ data }) => {
    if (data.length) state.linked = true;
    events.dispatchEvent(new Event("change"));
    if (data.length) events.dispatchEvent(new CustomEvent("sent", { detail: data }));
  });
  flush();
}
