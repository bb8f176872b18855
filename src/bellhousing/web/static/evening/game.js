// The guessing game: evidence step by step, hands counted, then the room's votes beside the program's own odds.
import { html, say } from "./svg.js";
import { odds } from "./words.js";

const KEPT = "bellhousing-evening-game";

export class Game {
  constructor(section, place, status) {
    this.section = section;
    this.place = place;
    this.status = status;
    this.case = null;
    this.step = -1;
    this.votes = [];
    this.open = false;
  }

  async choose(name) {
    this.place.replaceChildren(html("p", { role: "status" }, "Working the case out …"));
    this.wanted = name;
    let found = null;
    try {
      const answer = await fetch(`/evening/case/${name}.json`);
      if (answer.ok) found = await answer.json();
    } catch {
      // Said below.
    }
    // Only the case that was chosen last is told.
    if (this.wanted !== name) return;
    if (!found) {
      this.place.replaceChildren(html("p", { class: "problem", role: "alert" }, "The case could not be fetched. Choose it again."));
      return;
    }
    this.case = found;
    this.open = false;
    this.step = -1;
    this.votes = this.case.steps.map(() => this.case.options.map(() => 0));
    this.restore(name);
    this.section.classList.add("chosen");
    this.draw(true);
  }

  // A reload in the middle of an evening loses no votes.
  restore(name) {
    try {
      const kept = JSON.parse(sessionStorage.getItem(KEPT) ?? "null");
      if (!kept || kept.name !== name || kept.votes.length !== this.votes.length) return;
      this.step = kept.step;
      this.votes = kept.votes;
    } catch {
      // Votes that cannot be read are begun anew.
    }
  }

  keep() {
    try {
      sessionStorage.setItem(KEPT, JSON.stringify({ name: this.case.id, step: this.step, votes: this.votes }));
    } catch {
      // Without storage a reload begins the case anew.
    }
  }

  vote(option, by) {
    if (!this.case || this.step < 0 || this.open || !this.votes[this.step] || option >= this.case.options.length) return false;
    const row = this.votes[this.step];
    row[option] = Math.min(Math.max(row[option] + by, 0), 999);
    this.fields[option].value = row[option];
    this.count();
    return true;
  }

  count() {
    const hands = this.votes[this.step].reduce((a, b) => a + b, 0);
    say(this.sum, hands === 1 ? "1 hand" : `${hands} hands`);
    this.keep();
  }

  next() {
    this.step += 1;
    this.keep();
    this.draw(true);
  }

  draw(focus = false) {
    const { title, opening, steps } = this.case;
    const heard = steps.slice(0, this.step + 1);
    const last = this.step === steps.length - 1;
    const heading = html("h3", { tabindex: "-1" }, title);
    const evidence = html("ol", { class: "evidence" }, ...heard.map((step) => html("li", {}, step.tell)));
    const parts = [heading, html("p", { class: "opening" }, opening), evidence];
    if (this.step >= 0 && !this.open) parts.push(this.ballot());
    const buttons = html("p", { class: "game-go" });
    if (!last) buttons.append(this.button(this.step < 0 ? "First evidence" : "Next evidence", () => this.next()));
    if (this.step >= 0 && !this.open) buttons.append(this.button("Reveal", () => this.reveal(), last ? "" : "plain"));
    buttons.append(this.button("Another case", () => this.leave(), "plain"));
    if (this.step >= 0) buttons.append(this.button("Begin this case again", () => this.again(), "plain"));
    parts.push(buttons);
    if (this.open) parts.push(this.answer());
    this.place.replaceChildren(...parts);
    if (focus) heading.focus({ preventScroll: true });
    if (this.step >= 0) say(this.status, heard[this.step].tell);
  }

  button(text, act, kind = "") {
    const made = html("button", { type: "button", class: kind }, text);
    made.addEventListener("click", act);
    return made;
  }

  leave() {
    this.section.classList.remove("chosen");
    this.place.replaceChildren();
    this.section.querySelector(`[data-case="${CSS.escape(this.case.id)}"]`).focus();
    this.case = null;
  }

  again() {
    this.step = -1;
    this.open = false;
    this.votes = this.votes.map((row) => row.map(() => 0));
    this.keep();
    this.draw(true);
  }

  ballot() {
    this.fields = [];
    const rows = this.case.options.map((option, i) => {
      const id = `vote-${i}`;
      const field = html("input", { id, type: "number", min: "0", max: "999", value: String(this.votes[this.step][i]), inputmode: "numeric" });
      field.addEventListener("input", () => {
        const typed = Number.parseInt(field.value, 10);
        this.votes[this.step][i] = Number.isFinite(typed) ? Math.min(Math.max(typed, 0), 999) : 0;
        this.count();
      });
      this.fields.push(field);
      const less = this.button("−", () => this.vote(i, -1), "hand");
      const more = this.button("+", () => this.vote(i, 1), "hand");
      less.setAttribute("aria-label", `One hand less for: ${option.says}`);
      more.setAttribute("aria-label", `One hand more for: ${option.says}`);
      return html("li", {}, html("label", { for: id }, html("b", {}, String(i + 1)), ` ${option.says}`), html("span", { class: "hands" }, less, field, more));
    });
    this.sum = html("p", { class: "sum" });
    const made = html("div", { class: "ballot", role: "group", "aria-label": "Hands" }, html("ul", {}, ...rows), this.sum);
    this.count();
    return made;
  }

  reveal() {
    this.open = true;
    this.draw(true);
    say(this.status, this.case.reveal);
  }

  answer() {
    const { options, steps, truth, reveal } = this.case;
    const told = steps.slice(0, this.step + 1);
    const right = options.findIndex((option) => option.fault === truth[0]);
    const head = ["Evidence", ...options.map((option) => option.says)];
    const rows = told.map((step, i) => {
      const votes = this.votes[i];
      const most = Math.max(...votes);
      const best = step.options.indexOf(Math.max(...step.options));
      return html(
        "tr",
        {},
        html("th", { scope: "row" }, step.tell),
        ...options.map((_, k) =>
          html(
            "td",
            k === right ? { class: "right" } : {},
            html(most > 0 && votes[k] === most ? "b" : "span", { class: "room" }, votes[k] === 1 ? "1 hand" : `${votes[k]} hands`),
            html(k === best ? "b" : "span", { class: "program" }, odds(step.options[k])),
          ),
        ),
      );
    });
    const room = this.first(told, (_, i) => this.votes[i]);
    const program = this.first(told, (step) => step.options);
    function first(found, who) {
      return found < 0 ? `${who} never put it first` : `${who} put it first from evidence ${found + 1} on`;
    }
    return html(
      "div",
      { class: "answer" },
      html("p", { class: "truth" }, options[right].says, "."),
      html("p", {}, reveal),
      html("p", { class: "race" }, `${first(room, "The room")}; ${first(program, "the program")}.`),
      html(
        "div",
        { class: "scroll", tabindex: "0", role: "region", "aria-label": "Hands and odds by evidence" },
        html(
          "table",
          {},
          html("caption", {}, "Hands of the room above, the program’s own odds below; the highest in bold."),
          html("thead", {}, html("tr", {}, ...head.map((text) => html("th", { scope: "col" }, text)))),
          html("tbody", {}, ...rows),
        ),
      ),
    );
  }

  // From which evidence on the truth stayed alone in front, -1 if it never was at the end.
  first(told, values) {
    const right = this.case.options.findIndex((option) => option.fault === this.case.truth[0]);
    let from = -1;
    told.forEach((step, i) => {
      const row = values(step, i);
      const leads = row[right] > 0 && row.every((value, k) => k === right || value < row[right]);
      if (!leads) from = -1;
      else if (from < 0) from = i;
    });
    return from;
  }
}
