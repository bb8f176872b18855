// Says what is understood of a line while it is typed; nothing is kept by it.
const PAUSE = 250;

export function listen() {
  const form = document.querySelector("form[data-live]");
  if (!form) return;
  const field = form.elements.text;
  const place = document.getElementById("understood");
  let timer = 0;
  let asked = null;

  async function ask() {
    if (asked) asked.abort();
    if (!field.value.trim()) {
      place.replaceChildren();
      return;
    }
    asked = new AbortController();
    try {
      const answer = await fetch(form.dataset.live, {
        method: "POST",
        headers: { Accept: "text/html" },
        body: new URLSearchParams({ text: field.value }),
        signal: asked.signal,
      });
      if (answer.ok) place.innerHTML = await answer.text();
    } catch (error) {
      if (error.name !== "AbortError") place.textContent = "No connection: noted all the same, it is kept here and understood when it is sent.";
    }
  }

  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, PAUSE);
  });
  form.addEventListener("submit", () => {
    clearTimeout(timer);
    asked?.abort();
  });
  if (field.value.trim()) ask();
}
