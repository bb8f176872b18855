// A box file while it is typed: line numbers, what is wrong with it, and a copy kept until it is saved.
const PAUSE = 450;
const name = (of) => `box ${of}`;

function begin() {
  forgetKept();
  const form = document.querySelector("form[data-box]");
  if (!form) return;
  const field = form.elements.text;
  const check = document.getElementById("box-check");
  number(field);
  restore(form, field);
  listen(form, field, check);
  check.addEventListener("click", (event) => {
    const line = event.target.closest("[data-line]")?.dataset.line;
    if (line) goTo(field, Number(line));
  });
}

// Numbers beside the lines, as high as the lines are.
function number(field) {
  const beside = document.getElementById("box-lines");
  const draw = () => {
    const count = field.value.split("\n").length;
    if (beside.dataset.count !== String(count)) {
      beside.dataset.count = String(count);
      beside.textContent = Array.from({ length: count }, (_, place) => place + 1).join("\n");
    }
    beside.scrollTop = field.scrollTop;
  };
  field.addEventListener("input", draw);
  field.addEventListener("scroll", draw, { passive: true });
  draw();
}

function listen(form, field, check) {
  let timer = 0;
  let asked = null;
  const ask = async () => {
    asked?.abort();
    asked = new AbortController();
    try {
      const answer = await fetch(check.dataset.check, {
        method: "POST",
        headers: { Accept: "text/html" },
        body: new URLSearchParams({ text: field.value, replace: form.elements.replace.value }),
        signal: asked.signal,
      });
      if (answer.ok) check.innerHTML = await answer.text();
    } catch (error) {
      if (error.name !== "AbortError") check.textContent = "No connection: what you type is kept here and looked at again.";
    }
  };
  const changed = () => {
    store(name(form.dataset.box), JSON.stringify([field.value, field.defaultValue]));
    clearTimeout(timer);
    timer = setTimeout(ask, PAUSE);
  };
  field.addEventListener("input", changed);
  document.getElementById("box-anew").addEventListener("click", () => {
    field.value = field.defaultValue;
    field.dispatchEvent(new Event("input"));
    store(name(form.dataset.box), null);
    document.getElementById("box-again").hidden = true;
    field.focus();
  });
  form.addEventListener("submit", () => store("box sent", form.dataset.box));
  if (field.value !== field.defaultValue) ask();
}

// What was typed before and not kept comes back, unless the page itself brings it.
function restore(form, field) {
  const [text, began] = read(name(form.dataset.box)) ?? [];
  if (typeof text !== "string" || text === field.value || document.getElementById("box-problem")) return;
  if (form.dataset.box === "new" && began !== field.defaultValue && new URLSearchParams(location.search).has("from")) return;
  field.value = text;
  document.getElementById("box-again").hidden = false;
  field.dispatchEvent(new Event("scroll"));
}

function goTo(field, line) {
  const lines = field.value.split("\n");
  const start = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  field.focus();
  field.setSelectionRange(start, start + (lines[line - 1] ?? "").length);
  const high = parseFloat(getComputedStyle(field).lineHeight);
  field.scrollTop = Math.max(0, (line - 4) * high);
}

// The page of a box that was just kept: its copy is no longer needed.
function forgetKept() {
  if (!document.querySelector("[data-box-kept]")) return;
  const sent = read("box sent");
  if (sent) store(name(sent), null);
  store("box sent", null);
}

function store(key, value) {
  try {
    if (value === null) localStorage.removeItem(key);
    else localStorage.setItem(key, key === "box sent" ? JSON.stringify(value) : value);
  } catch {
    // A browser told to keep nothing.
  }
}

function read(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}

begin();
