/** The table of legs: every change that the strips allow, in fields. */
import { clock } from "./flight_legs.js";

const WORDS = { run: "Run of", start: "Start, seconds, of", stop: "Stop, seconds, of" };

export class LegTable {
  /** @param body the table's body, with a template of a row beside it */
  constructor(body, row, legs) {
    Object.assign(this, { body, row, legs, rows: new Map(), answers: new Map() });
    legs.onChange(() => this.draw());
    body.addEventListener("change", (event) => this.changed(event.target));
    this.draw();
  }

  changed(field) {
    const id = field.closest("tr").dataset.leg, name = field.dataset.field;
    if (name === "use") { this.legs.toggle(id); return; }
    const value = Number(field.value);
    const sound = field.value !== "" && Number.isFinite(value) && (name !== "run" || (value >= 1 && value % 1 === 0));
    if (!sound) { this.draw(); return; }
    if (name === "run") { this.legs.change(id, { run: value }); }
    else { this.legs.move(id, name, value); }
    this.draw();
  }

  draw() {
    const here = new Set(this.legs.now.map((leg) => leg.id));
    this.rows.forEach((row, id) => { if (!here.has(id)) { row.remove(); this.rows.delete(id); } });
    this.legs.now.forEach((leg, place) => {
      const row = this.rows.get(leg.id) || this.made(leg);
      if (this.body.rows[place] !== row) { this.body.insertBefore(row, this.body.rows[place] || null); }
      this.fill(row, leg);
    });
  }

  made(leg) {
    const row = this.row.content.firstElementChild.cloneNode(true);
    row.dataset.leg = leg.id;
    this.rows.set(leg.id, row);
    return row;
  }

  fill(row, leg) {
    const named = `the leg from ${clock(leg.start)} to ${clock(leg.stop)}`;
    row.querySelectorAll("input").forEach((field) => {
      const name = field.dataset.field;
      if (name === "use") { field.checked = !leg.out; field.setAttribute("aria-label", `Use ${named}`); return; }
      field.setAttribute("aria-label", `${WORDS[name]} ${named}`);
      if (document.activeElement !== field || field.value === "" || Number(field.value) !== leg[name]) {
        field.value = String(leg[name]);
      }
    });
    row.classList.toggle("left-out", leg.out);
    const answer = this.answers.get(leg.id);
    row.querySelectorAll("[data-shown]").forEach((cell) => {
      const name = cell.dataset.shown;
      if (leg.out) { cell.textContent = name === "outcome" ? "left out" : ""; }
      else if (name === "leg" && !answer) { cell.textContent = this.legs.number(leg); }
      else { cell.textContent = answer ? answer[name] : ""; }
    });
  }

  /** Show what was answered of each leg. */
  answered(answers) {
    this.answers = answers;
    this.draw();
  }
}
