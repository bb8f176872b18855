// Pages that were seen can be opened anew without the server, where the browser allows a helper for that:
// on this machine itself or over TLS. Over plain http there is none, and the strip on top says so.
const PAGES = "pages";
const AFTER = 3000;
// What is shown for a time only, or asks who is there, is never kept.
const NEVER = ["/shared/", "/login", "/people"];
const never = (path) => NEVER.some((start) => path.startsWith(start)) || document.querySelector("[data-asks]") !== null;

export function begin() {
  if (!self.isSecureContext || !("serviceWorker" in navigator)) return;
  navigator.serviceWorker.register("/worker.js").catch(() => {});
  if (document.body.dataset.kept) return;
  // The first page of all was not seen by the helper: what it is made of is kept when it is loaded,
  // and it is asked for once more when all is quiet.
  if (document.readyState === "complete") made();
  else addEventListener("load", made);
  setTimeout(first, AFTER);
}

async function made() {
  const used = performance.getEntriesByType("resource").map((entry) => new URL(entry.name));
  const here = used.filter(({ origin }) => origin === location.origin).map(({ pathname }) => pathname);
  const statics = [...new Set(here.filter((path) => path.startsWith("/static/")))];
  try {
    const pages = await caches.open(PAGES);
    const known = await Promise.all(statics.map((path) => pages.match(path)));
    // All of them or none: one script of the page missing stops every other.
    await pages.addAll(statics.filter((_, at) => !known[at]));
  } catch {
    // Not kept this time; the next page tries again.
  }
}

async function first() {
  if (never(location.pathname)) return;
  try {
    if (await (await caches.open(PAGES)).match(location.pathname)) return;
    const answer = await fetch(location.pathname, { headers: { Accept: "text/html" } });
    if (answer.ok && !answer.redirected) await remember(location.pathname, answer, await answer.text());
  } catch {
    // Not kept this time; the next page tries again.
  }
}

// Keeps a page as it was just seen, under the same rules for what it may load.
export async function remember(path, answer, text) {
  if (!self.isSecureContext || !("caches" in self) || never(path)) return;
  try {
    const headers = new Headers({ "Content-Type": "text/html; charset=utf-8", "X-Seen": String(Date.now()) });
    headers.set("Content-Security-Policy", answer.headers.get("Content-Security-Policy") ?? "default-src 'self'");
    await (await caches.open(PAGES)).put(path, new Response(text, { headers }));
  } catch {
    // No room: the page is simply not there without the server.
  }
}
