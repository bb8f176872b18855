// Sends a logger's file and shows how far it is, sent and read; either can be stopped.
const ASK_EVERY = 500;
let stop = null;

export function send() {
  document.addEventListener("submit", (event) => {
    if (!("log" in event.target.dataset)) return;
    event.preventDefault();
    if (!stop) go(event.target);
  });
  document.addEventListener("click", (event) => {
    if (event.target.id === "road-stop") stop?.();
  });
}

function go(form) {
  const name = crypto.getRandomValues(new Uint32Array(4)).join("-");
  const path = new URL(form.action).pathname;
  const request = new XMLHttpRequest();
  let asking = null;
  const end = (text) => {
    clearInterval(asking);
    stop = null;
    form.removeAttribute("aria-busy");
    const way = document.getElementById("road-way");
    if (way) way.hidden = true;
    tell(text, form);
  };
  // The log may be there before its reading has begun: the wish is told again until it is heard.
  const wish = async () => {
    try {
      const { stopped } = await (await fetch(`${path}/reading/${name}/stop`, { method: "POST" })).json();
      if (!stopped && stop === wish) setTimeout(wish, ASK_EVERY);
    } catch {
      request.abort();
    }
  };
  form.querySelector(".problem")?.remove();
  form.setAttribute("aria-busy", "true");
  document.getElementById("road-way").hidden = false;
  show("Sending", 0);
  stop = () => request.abort();
  request.open("POST", `${path}?reading=${name}`);
  request.setRequestHeader("Accept", "application/json");
  request.upload.addEventListener("progress", (event) => show("Sending", event.loaded / event.total));
  request.upload.addEventListener("load", () => {
    show("Reading", 0);
    stop = wish;
    asking = setInterval(() => ask(`${path}/reading/${name}`), ASK_EVERY);
  });
  request.addEventListener("abort", () => end("Stopped. Nothing of the log was kept."));
  request.addEventListener("error", () => end("No connection: the log was not sent. Try again."));
  request.addEventListener("load", () => {
    if (request.status >= 400) {
      end(problem(request.responseText));
      return;
    }
    clearInterval(asking);
    history.replaceState(null, "", `${location.pathname}#road`);
    location.reload();
  });
  request.send(new FormData(form));
}

async function ask(reading) {
  try {
    const far = await (await fetch(reading)).json();
    if (stop && far?.total) show("Reading", far.done / far.total);
  } catch {
    // The next time it may be there.
  }
}

function show(word, share) {
  const bar = document.getElementById("road-far");
  if (!bar) return;
  const percent = Math.min(100, Math.floor(100 * share));
  bar.value = percent;
  document.getElementById("road-far-text").textContent = `${word}, ${percent} %`;
}

function problem(text) {
  try {
    const { what, remedy } = JSON.parse(text).error;
    const said = [what, remedy].filter(Boolean);
    return said.map((one) => `${one[0].toUpperCase()}${one.slice(1)}.`).join(" ");
  } catch {
    return "The log could not be read.";
  }
}

function tell(text, form) {
  document.getElementById("told").textContent = text;
  const box = document.createElement("p");
  box.className = "problem";
  box.textContent = text;
  form.append(box);
}
