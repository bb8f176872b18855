// Pages that were seen can be opened anew without the server, where the browser allows a helper for that:
// on this machine itself or over TLS. Over plain http there is none, and the strip on top says so.
const PAGES = "pages";
const AFTER = 3000;

export function begin() {
  if (!self.isSecureContext || !("serviceWorker" in navigator)) return;
  navigator.serviceWorker.register("/worker.js").catch(() => {});
  if (document.body.dataset.kept) return;
  // The first page of all was not seen by the helper; asked for once more when all is quiet.
  setTimeout(first, AFTER);
}

async function first() {
  try {
    const pages = await caches.open(PAGES);
    const statics = performance.getEntriesByType("resource").map((entry) => new URL(entry.name));
    for (const { origin, pathname } of statics) {
      if (origin === location.origin && pathname.startsWith("/static/") && !(await pages.match(pathname))) {
        await pages.add(pathname);
      }
    }
    if (await pages.match(location.pathname)) return;
    const answer = await fetch(location.pathname, { headers: { Accept: "text/html" } });
    if (answer.ok) await remember(location.pathname, answer, await answer.text());
  } catch {
    // Not kept this time; the next page tries again.
  }
}

// Keeps a page as it was just seen, under the same rules for what it may load.
export async function remember(path, answer, text) {
  if (!self.isSecureContext || !("caches" in self)) return;
  try {
    const headers = new Headers({ "Content-Type": "text/html; charset=utf-8", "X-Seen": String(Date.now()) });
    headers.set("Content-Security-Policy", answer.headers.get("Content-Security-Policy") ?? "default-src 'self'");
    await (await caches.open(PAGES)).put(path, new Response(text, { headers }));
  } catch {
    // No room: the page is simply not there without the server.
  }
}
