// Nothing of the shop stays to be looked at on a screen whose session has ended. What was written and not sent yet
// stays in the outbox, marked with who wrote it.
const PAGES = "pages";

export async function forget() {
  if ("caches" in self) await caches.delete(PAGES).catch(() => {});
}

export function leave() {
  if (document.querySelector("[data-asks]")) forget();
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!("leave" in form.dataset)) return;
    event.preventDefault();
    await forget();
    form.submit();
  });
}
