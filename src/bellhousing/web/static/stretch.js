// A log looked at closer without a new page: links, keys and taps ask for a stretch, its part is put in place.
const PLACE = "#stretch";
let asked = null;

function begin() {
  document.addEventListener("click", (event) => {
    const link = event.target.closest(`${PLACE} .zoom a`);
    if (link && !event.ctrlKey && !event.metaKey && !event.shiftKey) {
      event.preventDefault();
      show(link.href, link.textContent.trim());
    } else if (event.target.closest("#stretch-figure svg")) closer(event);
  });
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || !event.target.closest("#stretch-figure")) return;
    const key = event.key === "=" ? "+" : event.key;
    const link = [...document.querySelectorAll(`${PLACE} [data-key]`)].find((one) => one.dataset.key === key);
    if (!link) return;
    event.preventDefault();
    show(link.href, null);
  });
  window.addEventListener("popstate", () => { if (document.querySelector(PLACE)) show(location.href, null, false); });
}

// The stretch a third as long around what was tapped; the axis of time lies between the frames of the parts.
function closer(event) {
  const svg = event.target.closest("svg");
  const frame = svg.querySelector(".background[d], path.background") ?? svg;
  const box = frame.getBoundingClientRect();
  const { begin, end, stretch } = document.querySelector(PLACE).dataset;
  const share = Math.min(1, Math.max(0, (event.clientX - box.left) / box.width));
  const span = Number(end) - Number(begin);
  const middle = Number(begin) + share * span;
  const from = (middle - span / 6).toFixed(2);
  const to = (middle + span / 6).toFixed(2);
  show(`${stretch}?from=${from}&to=${to}`, null);
}

async function show(address, label, remember = true) {
  asked?.abort();
  asked = new AbortController();
  const url = new URL(address, location.href);
  const wide = matchMedia("(min-width: 40rem)").matches;
  const part = new URL(url);
  part.searchParams.set("only", wide ? "wide" : "narrow");
  try {
    const answer = await fetch(part, { headers: { Accept: "text/html" }, signal: asked.signal });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const next = page.querySelector(PLACE);
    if (!next) throw new Error("no stretch");
    const place = document.querySelector(PLACE);
    const inFigure = document.activeElement?.id === "stretch-figure";
    place.replaceWith(next);
    if (remember) history.pushState(null, "", url);
    if (inFigure) document.getElementById("stretch-figure").focus({ preventScroll: true });
    else if (label) focusLink(next, label);
  } catch (error) {
    if (error.name !== "AbortError") location.assign(url);
  }
}

function focusLink(place, label) {
  const links = [...place.querySelectorAll(".zoom a")];
  (links.find((one) => one.textContent.trim() === label) ?? links[0])?.focus({ preventScroll: true });
}

begin();
