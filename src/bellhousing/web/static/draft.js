// The line being written outlives a closed tab for a day, until it is noted.
const DAY = 24 * 3600 * 1000;
const name = () => `draft ${location.pathname}`;

export function keepDraft() {
  const field = document.getElementById("text");
  if (!field) return;
  field.addEventListener("input", () => {
    try {
      if (field.value.trim()) localStorage.setItem(name(), JSON.stringify([field.value, Date.now()]));
      else forgetDraft();
    } catch {
      // A browser told to keep nothing.
    }
  });
  if (!field.value) field.value = found();
}

function found() {
  try {
    const [text, at] = JSON.parse(localStorage.getItem(name())) ?? ["", 0];
    return Date.now() - at < DAY ? text : "";
  } catch {
    return "";
  }
}

export function forgetDraft() {
  try {
    localStorage.removeItem(name());
  } catch {
    // Nothing was kept.
  }
}
