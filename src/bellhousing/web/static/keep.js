// Sends a form and puts the new page in place of the old one, without losing place, folds or focus.
const WHAT = "#page";

export function keep(begin) {
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!("keep" in form.dataset)) return;
    event.preventDefault();
    const body = new URLSearchParams(new FormData(form, event.submitter));
    form.setAttribute("aria-busy", "true");
    let answer;
    let text;
    try {
      answer = await fetch(form.action, { method: "POST", headers: { Accept: "text/html" }, body });
      text = await answer.text();
    } catch {
      form.removeAttribute("aria-busy");
      tell("No connection: not sent. What you typed is still here; try again.", form);
      return;
    }
    const fresh = new DOMParser().parseFromString(text, "text/html");
    if (!fresh.querySelector(WHAT) || !fresh.querySelector("form[data-live]")) {
      form.removeAttribute("aria-busy");
      tell(fresh.querySelector(".problem")?.textContent ?? "That could not be kept.", form);
      return;
    }
    put(fresh, form, answer);
    begin();
  });
}

function put(fresh, form, answer) {
  const folds = new Map([...document.querySelectorAll("details[id]")].map((fold) => [fold.id, fold.open]));
  const writing = form.id === "write";
  const place = form.closest("[id]")?.id;
  const top = window.scrollY;
  document.querySelector(WHAT).replaceWith(document.adoptNode(fresh.querySelector(WHAT)));
  document.title = fresh.title;
  for (const fold of document.querySelectorAll("details[id]")) {
    // A fold that a problem opened stays open.
    if (folds.has(fold.id) && !fold.querySelector(".problem")) fold.open = folds.get(fold.id);
  }
  if (answer.redirected) history.replaceState(null, "", new URL(answer.url).pathname);
  window.scrollTo({ top, behavior: "instant" });
  const target = writing ? document.getElementById("text") : place && document.getElementById(place);
  focus(target ?? document.getElementById("main"));
  const said = document.querySelector(".problem") ?? document.getElementById("just-noted");
  if (said) tell(said.textContent.replace(/\s+/g, " ").trim());
}

function focus(target) {
  if (!target.matches("input, button, a, summary, textarea")) target.tabIndex = -1;
  target.focus({ preventScroll: true });
}

function tell(text, form) {
  document.getElementById("told").textContent = text;
  if (!form) return;
  let box = form.querySelector(".problem");
  if (!box) {
    box = document.createElement("p");
    box.className = "problem";
    form.append(box);
  }
  box.textContent = text;
}
