/** Joins what a page of one flight is made of: legs, strips, table, answer. */
import { Answer } from "./flight_answer.js";
import { Legs } from "./flight_legs.js";
import { LegStrips } from "./flight_strips.js";
import { LegTable } from "./flight_table.js";
import { follow } from "./flight_window.js";

const page = document.getElementById("flight");
const given = JSON.parse(page.dataset.legs);
const box = document.getElementById("strips");

/** Match what was answered of legs to the legs as they are picked now. */
function matched(legs, rows) {
  const answers = new Map();
  legs.now.forEach((leg) => {
    const near = rows.filter((row) => row.run === leg.run && row.outcome !== "left out")
      .map((row) => ({ row, far: Math.abs(row.start_s - leg.start) }))
      .sort((a, b) => a.far - b.far)[0];
    if (!leg.out && near && near.far < Math.max(15, (leg.stop - leg.start) / 2)) { answers.set(leg.id, near.row); }
  });
  return answers;
}

function buttons(legs) {
  const acts = { undo: () => legs.undo(), redo: () => legs.redo(), reset: () => legs.reset() };
  const found = [...document.querySelectorAll("[data-legs-act]")];
  const mark = () => found.forEach((button) => {
    button.disabled = { undo: !legs.past.length, redo: !legs.future.length, reset: legs.isAsFound }[button.dataset.legsAct];
  });
  found.forEach((button) => button.addEventListener("click", () => acts[button.dataset.legsAct]()));
  legs.onChange(mark);
  mark();
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.target.matches("input, select, textarea")) { return; }
    const key = event.key.toLowerCase();
    if (key === "z" || key === "y") {
      event.preventDefault();
      if (key === "y" || event.shiftKey) { legs.redo(); } else { legs.undo(); }
    }
  });
}

function begin() {
  const legs = new Legs(given.found, given.picked, given.last);
  const strips = new LegStrips(box, legs, given.picking);
  follow([...document.querySelectorAll("[data-window]")], strips, page.dataset.strips);
  if (given.picking) { pick(legs, strips); }
}

function pick(legs, strips) {
  const body = document.getElementById("legs-body");
  const table = new LegTable(body, document.getElementById("leg-row"), legs);
  const answered = (rows) => {
    const answers = matched(legs, rows);
    strips.answered(answers);
    table.answered(answers);
  };
  const answer = new Answer(page.dataset.solve, {
    sentences: document.getElementById("sentences"), numbers: document.getElementById("numbers"),
  }, answered);
  legs.onChange(() => answer.ask(legs.sent));
  answered(given.answered);
  buttons(legs);
  const form = document.querySelector(".flight-form");
  form.addEventListener("formdata", (event) => {
    event.formData.set("legs", JSON.stringify({ legs: legs.sent }));
  });
  const add = document.getElementById("add-leg");
  add.addEventListener("submit", (event) => {
    event.preventDefault();
    const values = new FormData(add);
    legs.add(Number(values.get("start")), Number(values.get("stop")), Number(values.get("run")));
    add.reset();
  });
}

if (box) { begin(); }
