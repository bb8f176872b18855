// On a page shown as it was last seen, asks now and then whether the server is back.
const EVERY = 3000;

export function watch(back) {
  if (!document.body.dataset.kept) return;
  const timer = setInterval(async () => {
    try {
      const answer = await fetch("/static/icon.svg?alive", { cache: "no-store" });
      if (!answer.ok) return;
      clearInterval(timer);
      await back();
    } catch {
      // Still away.
    }
  }, EVERY);
}
