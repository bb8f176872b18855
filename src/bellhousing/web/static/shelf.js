// What was written and not sent yet, kept by the browser itself so that a closed tab or an empty battery loses
// nothing. Entries lie in the order they were written, `place` says which; their files lie beside them.
const NAME = "bellhousing";
const STORES = { entries: { keyPath: "place", autoIncrement: true }, files: {}, turn: {} };

let opened = null;

function open() {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      for (const [store, how] of Object.entries(STORES)) asked.result.createObjectStore(store, how);
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  opened.catch(() => { opened = null; });
  return opened;
}

async function within(stores, mode, work, durability = "strict") {
  const base = await open();
  return new Promise((done, failed) => {
    // Strict: told as kept only once it is on the disk.
    const whole = base.transaction(stores, mode, { durability });
    const answer = work(...stores.map((name) => whole.objectStore(name)));
    whole.oncomplete = () => done(answer instanceof IDBRequest ? answer.result : answer?.value);
    whole.onerror = () => failed(whole.error);
    whole.onabort = () => failed(whole.error);
  });
}

// Keeps an entry and the bytes of its files, both or neither; its place.
export function keepNew(entry, datas) {
  return within(["entries", "files"], "readwrite", (entries, files) => {
    entry.files.forEach((file, at) => files.put(datas[at], file.id));
    return entries.add(entry);
  });
}

export const change = (entry) => within(["entries"], "readwrite", (entries) => entries.put(entry));
export const all = () => within(["entries"], "readonly", (entries) => entries.getAll());
export const get = (place) => within(["entries"], "readonly", (entries) => entries.get(place));
export const bytes = (file) => within(["files"], "readonly", (files) => files.get(file.id));

export function drop(entry, durability) {
  const remove = (entries, files) => {
    for (const file of entry.files) files.delete(file.id);
    return entries.delete(entry.place);
  };
  return within(["entries", "files"], "readwrite", remove, durability);
}

// If a loss of power brings one back that was sent, it is sent again: the server knows it by its key.
export const dropSent = (entry) => drop(entry, "relaxed");

// One tab sends at a time: true if it is this one's turn, which then lasts `milliseconds`.
export function takeTurn(tab, milliseconds) {
  const take = (turn) => {
    const answer = { value: false };
    turn.get("sender").onsuccess = ({ target }) => {
      const held = target.result;
      if (held && held.tab !== tab && held.until > Date.now()) return;
      turn.put({ tab, until: Date.now() + milliseconds }, "sender");
      answer.value = true;
    };
    return answer;
  };
  return within(["turn"], "readwrite", take, "relaxed");
}

export const endTurn = () => within(["turn"], "readwrite", (turn) => turn.delete("sender"), "relaxed");

// Plain http offers no randomUUID; this is as good and is offered everywhere.
export function ownId() {
  const random = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(random, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
