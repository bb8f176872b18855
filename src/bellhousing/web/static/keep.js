// Sends a form and puts the new page in place of the old one, without losing place, folds, focus or what is typed.
import * as outbox from "./outbox.js";
import * as shelf from "./shelf.js";
import { awaited, draw } from "./unsent.js";
import { remember } from "./anew.js";
import { forgetDraft } from "./draft.js";

const WHAT = "#page";
// How long a form waits for an answer before what it said is shown as not sent yet.
const SHOWN_AFTER = 4000;

export function keep(begin) {
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!("keep" in form.dataset)) return;
    event.preventDefault();
    if (form.getAttribute("aria-busy") === "true") return;
    form.setAttribute("aria-busy", "true");
    try {
      const { entry, datas, whole } = await entryOf(form, event.submitter);
      if (whole && "outbox" in form.dataset) await throughOutbox(form, entry, datas, begin);
      else await straight(form, entry, datas, begin);
    } finally {
      form.removeAttribute("aria-busy");
    }
  });
  outbox.onChange(() => draw());
  outbox.onSent((pages) => { if (pages.includes(location.pathname)) renew(begin); });
  outbox.start();
}

// How often a page was put in place of another: an answer asked for before the last time may be older than it.
let puts = 0;

// What a form says, and whether it says anything that is worth waiting with.
async function entryOf(form, submitter) {
  const fields = [];
  const files = [];
  const datas = [];
  for (const [name, value] of new FormData(form, submitter)) {
    if (typeof value === "string") {
      if (name !== "key") fields.push([name, value]);
    } else if (value.size) {
      files.push({ id: shelf.ownId(), name, called: value.name, type: value.type });
      datas.push(await value.arrayBuffer());
    }
  }
  const key = shelf.ownId();
  fields.push(["key", key]);
  const main = form.querySelector("input[type=text], textarea")?.name ?? "";
  const typed = fields.find(([name]) => name === main)?.[1].trim() ?? "";
  const entry = {
    key,
    action: new URL(form.action).pathname,
    page: location.pathname,
    title: document.title,
    at: form.id || form.closest("[id]").id,
    says: typed || saysOf(form, submitter, files),
    main,
    fields,
    files,
    written: Date.now(),
    who: document.body.dataset.who ?? "",
  };
  return { entry, datas, whole: files.length > 0 || (!form.querySelector("input[type=file]") && told(form, submitter)) };
}

// Whether anything was written, ticked or chosen, or the button itself says something.
function told(form, submitter) {
  const fields = [...form.elements].filter((field) => field.matches("input, textarea, select"));
  const open = fields.filter((field) => field.type !== "hidden");
  if (!open.length || submitter?.name) return true;
  return open.some((field) => (/checkbox|radio/.test(field.type) ? field.checked : field.value.trim() !== ""));
}

function saysOf(form, submitter, files) {
  if (form.dataset.says) return form.dataset.says;
  if (files.length) return files.map((file) => file.called).join(", ");
  const asked = form.querySelector("legend")?.textContent.trim();
  return [asked, submitter?.textContent.trim()].filter(Boolean).join(" ");
}

async function throughOutbox(form, entry, datas, begin) {
  const before = puts;
  awaited.add(entry.key);
  try {
    await outbox.keepEntry(entry, datas);
  } catch {
    // No room, or a browser told to keep nothing: the form itself still holds it.
    awaited.delete(entry.key);
    await straight(form, entry, datas, begin);
    return;
  }
  const sending = outbox.flush(entry.place);
  const late = new Promise((done) => { setTimeout(done, SHOWN_AFTER, null); });
  const result = await Promise.race([sending, late]);
  if (result && result.outcome !== "waiting") {
    // Refused at once, it stands in the form again with the reason beside it.
    if (result.outcome === "refused") await outbox.drop(entry);
    awaited.delete(entry.key);
    const newer = puts !== before;
    shown(result, form, entry, begin);
    if (newer) await renew(begin);
    return;
  }
  awaited.delete(entry.key);
  clear(form, entry);
  await draw();
  tell(`Not sent yet: ${entry.says}. It is kept here and sent when the connection is back.`);
  if (!result) sending.then((later) => { if (later.outcome === "sent") arrived(later, before, begin); });
}

// The answer came when the form had long been given back for the next line.
function arrived({ answer, text, fresh }, before, begin) {
  if (puts !== before) {
    renew(begin);
    return;
  }
  put(fresh, null);
  remember(location.pathname, answer, text);
  begin();
}

function clear(sent, entry) {
  // Another answer may have put a new page in place meanwhile.
  const form = sent.isConnected ? sent : (document.getElementById(sent.id) ?? sent);
  for (const field of form.querySelectorAll("input[type=text], input[type=file], textarea")) {
    if (field.type !== "file" && since(field, entry)) continue;
    field.value = form.dataset.outbox === "stays" && field.type !== "file" ? field.defaultValue : "";
  }
  form.querySelector(".problem")?.remove();
  if (form.id !== "write" || form.elements.text.value) return;
  document.getElementById("understood").replaceChildren();
  forgetDraft();
}

async function straight(form, entry, datas, begin) {
  let answer;
  let text;
  try {
    const headers = { Accept: "text/html" };
    answer = await fetch(entry.action, { method: "POST", headers, body: outbox.body(entry, datas) });
    if (answer.status === 401) {
      tell("Nobody is logged in here any more. Log in in another tab, then send it again.", form);
      return;
    }
    text = await answer.text();
  } catch {
    tell("No connection: not sent. What you typed is still here; try again.", form);
    return;
  }
  shown({ answer, text, fresh: new DOMParser().parseFromString(text, "text/html") }, form, entry, begin);
}

function shown({ answer, text, fresh }, form, entry, begin) {
  if (!fresh?.querySelector(WHAT) || !fresh.querySelector("form[data-keep]")) {
    tell(fresh?.querySelector(".problem")?.textContent ?? "That could not be kept.", form);
    return;
  }
  put(fresh, form, answer.ok ? entry : null);
  if (answer.redirected) history.replaceState(null, "", new URL(answer.url).pathname);
  if (answer.ok && form.id === "write" && !document.getElementById("text")?.value) forgetDraft();
  if (answer.ok) remember(location.pathname, answer, text);
  begin();
}

// Shows the page as it is now, because something of it went up meanwhile.
export async function renew(begin) {
  const before = puts;
  try {
    const answer = await fetch(location.pathname + location.search, { headers: { Accept: "text/html" } });
    // A form that was refused has no page of its own to be fetched: it stays as it stands.
    if (!answer.ok || answer.redirected) return;
    const text = await answer.text();
    if (puts !== before) {
      await renew(begin);
      return;
    }
    const fresh = new DOMParser().parseFromString(text, "text/html");
    if (!fresh.querySelector(WHAT) || fresh.querySelector("[data-asks]")) return;
    put(fresh, null);
    delete document.body.dataset.kept;
    remember(location.pathname, answer, text);
    begin();
  } catch {
    // Gone again: what is on the page stays, and the outbox tries on.
  }
}

function put(fresh, form, entry = null) {
  puts += 1;
  const folds = new Map([...document.querySelectorAll("details[id]")].map((fold) => [fold.id, fold.open]));
  const typed = typing(form, entry);
  const { id: active, selectionStart: caret } = document.activeElement ?? {};
  const writing = form?.id === "write";
  const place = form?.closest("[id]")?.id;
  const top = window.scrollY;
  document.querySelector(WHAT).replaceWith(document.adoptNode(fresh.querySelector(WHAT)));
  document.title = fresh.title;
  for (const fold of document.querySelectorAll("details[id]")) {
    // A fold that a problem opened stays open.
    if (!folds.has(fold.id) || fold.querySelector(".problem")) continue;
    // One that follows the work opens by itself when its turn comes, unless its own form was sent.
    const follows = form && "follow" in fold.dataset && !(place && fold.querySelector(`#${CSS.escape(place)}`));
    if (!follows) fold.open = folds.get(fold.id);
  }
  for (const [id, value] of typed) {
    const field = document.getElementById(id);
    if (field) field.value = value;
  }
  window.scrollTo({ top, behavior: "instant" });
  if (!form) {
    const field = active && document.getElementById(active);
    if (field) field.focus({ preventScroll: true });
    if (field && caret != null) field.setSelectionRange(caret, caret);
    return;
  }
  const target = writing ? document.getElementById("text") : place && document.getElementById(place);
  focus(target ?? document.getElementById("main"));
  const said = document.querySelector(".problem") ?? document.getElementById("just-noted");
  if (said) tell(said.textContent.replace(/\s+/g, " ").trim());
}

// Whether something else stands in a field than what was sent of it.
const since = (field, entry) => !entry.fields.some(([name, value]) => name === field.name && plain(value) === plain(field.value));
const plain = (text) => text.replaceAll("\r\n", "\n");

// What stands half-written in the fields of other forms, or was written into the one that was sent since then.
function typing(sent, entry) {
  const other = ({ form }) => form !== sent && !(sent?.id && form?.id === sent.id);
  return [...document.querySelectorAll(`${WHAT} input[type=text][id], ${WHAT} textarea[id]`)]
    .filter((field) => (other(field) || (entry && since(field, entry))) && field.value !== field.defaultValue)
    .map((field) => [field.id, field.value]);
}

function focus(target) {
  if (!target.matches("input, button, a, summary, textarea")) target.tabIndex = -1;
  target.focus({ preventScroll: true });
}

function tell(text, form) {
  document.getElementById("told").textContent = text;
  if (!form) return;
  let box = form.querySelector(".problem");
  if (!box) {
    box = document.createElement("p");
    box.className = "problem";
    form.append(box);
  }
  box.textContent = text;
}
