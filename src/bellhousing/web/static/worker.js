// Answers with the page as it was last seen when the server does not answer; everything else goes straight through.
const PAGES = "pages";
const PATIENCE = 8000;
const MOST = 400;
// What is shown for a time only, or asks who is there, is never shown from memory.
const NEVER = ["/shared/", "/login", "/people"];
// What of the server's answer goes on holding for a page that is shown later.
const CARRIED = ["Content-Type", "Content-Security-Policy", "X-Content-Type-Options", "Referrer-Policy"];

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname, search } = new URL(request.url);
  if (request.method !== "GET" || origin !== location.origin || search === "?alive") return;
  if (NEVER.some((start) => pathname.startsWith(start))) return;
  if (request.mode === "navigate") event.respondWith(page(request, pathname));
  else if (pathname.startsWith("/static/") || pathname.includes("/photo/")) event.respondWith(part(request, pathname));
});

async function page(request, pathname) {
  const asked = fetch(request);
  asked.then((answer) => seen(pathname, answer)).catch(() => {});
  // A server that is only slow is waited for where there is nothing else to show.
  const late = wait(PATIENCE).then(() => asSeen(pathname)).then((page) => page ?? asked);
  try {
    return await Promise.race([asked, late]);
  } catch {
    return (await asSeen(pathname)) ?? notSeen();
  }
}

const wait = (milliseconds) => new Promise((done) => { setTimeout(done, milliseconds); });

function seen(pathname, answer) {
  if (!answer.ok || answer.redirected || !isPage(answer)) return;
  keep(pathname, new Response(answer.clone().body, { headers: headersOf(answer) }));
}

const isPage = (answer) => answer.headers.get("Content-Type")?.startsWith("text/html") ?? false;

function headersOf(answer) {
  const kept = CARRIED.map((name) => [name, answer.headers.get(name)]).filter(([, value]) => value);
  return new Headers([...kept, ["X-Seen", String(Date.now())]]);
}

async function keep(path, answer) {
  try {
    const pages = await caches.open(PAGES);
    await pages.put(path, answer);
    const known = await pages.keys();
    for (const old of known.slice(0, Math.max(0, known.length - MOST))) await pages.delete(old);
  } catch {
    // No room: the page is simply not there without the server.
  }
}

async function asSeen(path) {
  const seen = await (await caches.open(PAGES)).match(path);
  if (!seen) return null;
  const text = (await seen.text()).replace("<body", `<body data-kept="${Number(seen.headers.get("X-Seen"))}"`);
  return new Response(text, { headers: seen.headers });
}

function notSeen() {
  const text = `<!doctype html><html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>No connection · Bellhousing</title>
<link rel="stylesheet" href="/static/ink.css"><link rel="stylesheet" href="/static/sheet.css"></head>
<body><main class="single"><h1>No connection</h1><p>This page was not opened on this machine before, so it cannot be
shown without the server. What was written on other pages is kept and sent when the connection is back.</p>
<p><a class="tap" href="/">Cars and jobs</a></p></main></body></html>`;
  const headers = { "Content-Type": "text/html; charset=utf-8", "Content-Security-Policy": "default-src 'self'" };
  return new Response(text, { status: 503, headers });
}

async function part(request, path) {
  try {
    const answer = await fetch(request);
    if (answer.ok) keep(path, answer.clone());
    return answer;
  } catch (error) {
    const seen = await (await caches.open(PAGES)).match(path);
    if (seen) return seen;
    throw error;
  }
}
