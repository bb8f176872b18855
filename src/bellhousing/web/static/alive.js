// On a page shown as it was last seen, asks now and then whether the server is back, until the page is as it is now.
const EVERY = 3000;

export function watch(back) {
  if (!document.body.dataset.kept) return;
  let asking = false;
  const timer = setInterval(async () => {
    if (asking) return;
    asking = true;
    try {
      const answer = await fetch("/static/icon.svg?alive", { cache: "no-store" });
      if (answer.ok) await back();
      if (!document.body.dataset.kept) clearInterval(timer);
    } catch {
      // Still away.
    } finally {
      asking = false;
    }
  }, EVERY);
}
