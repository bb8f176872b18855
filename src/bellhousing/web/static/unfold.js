// A link to a hole, a step or a gate opens the fold it leads to.
export function unfold() {
  addEventListener("hashchange", show);
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("a[href^='#']");
    // The address of an SVG's link stands elsewhere; the same hole may be tapped twice.
    if (link && link.getAttribute("href") === location.hash) show();
  });
  show();
}

function show() {
  const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!target) return;
  for (let fold = target.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  const inside = target.matches(".hole, .step, [id^='pocket-'], .stage, .order-line") && target.querySelector("details");
  if (inside) inside.open = true;
  if (inside || target.closest("details")) target.scrollIntoView({ block: "start" });
}
