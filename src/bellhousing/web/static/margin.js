// Marks in the margin which part of the sheet is being read.
let watching = null;

export function follow() {
  if (watching) watching.disconnect();
  const links = new Map(
    [...document.querySelectorAll(".margin a[href^='#']")].map((link) => [link.hash.slice(1), link]),
  );
  if (!links.size) return;
  const seen = new Set();
  watching = new IntersectionObserver(
    (changes) => {
      for (const { target, isIntersecting } of changes) {
        if (isIntersecting) seen.add(target.id);
        else seen.delete(target.id);
      }
      const current = [...links.keys()].find((id) => seen.has(id));
      for (const [id, link] of links) {
        if (id === current) link.setAttribute("aria-current", "location");
        else link.removeAttribute("aria-current");
      }
    },
    { rootMargin: "-15% 0px -60% 0px" },
  );
  for (const id of links.keys()) {
    const part = document.getElementById(id);
    if (part) watching.observe(part);
  }
}
