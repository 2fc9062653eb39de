/** Legs over the strips of a flight: drawn, dragged by pointer or finger, nudged by keys. */
import { clock } from "./flight_legs.js";

const NS = "http://www.w3.org/2000/svg";
const NEAR_PX = 14;
const CLICK_PX = 4;
const CROWDED_PX = 26;
/** A leg narrower than this shows its grips only while it is looked at. */
const NARROW_PX = 14;

function element(name, values, parent) {
  const made = document.createElementNS(NS, name);
  Object.entries(values).forEach(([key, value]) => made.setAttribute(key, value));
  if (parent) { parent.append(made); }
  return made;
}

export class LegStrips {
  /**
   * @param box holds the drawing, which may be replaced by one of another window of time
   * @param picking whether legs can be moved
   */
  constructor(box, legs, picking) {
    Object.assign(this, { box, legs, picking, drawn: new Map(), answers: new Map(), drag: null });
    legs.onChange(() => this.draw());
    this.begin();
    window.addEventListener("resize", () => this.draw());
  }

  /** Take the drawing that is in the box now. */
  begin() {
    this.svg = this.box.querySelector("svg.strips");
    this.layer = this.svg.querySelector(".legs");
    this.start = Number(this.svg.dataset.start);
    this.stop = Number(this.svg.dataset.stop);
    this.height = Number(this.svg.dataset.height);
    this.drawn.clear();
    const listen = (name, act) => this.svg.addEventListener(name, (event) => act.call(this, event));
    if (!this.picking) { return; }
    listen("pointerdown", this.pressed);
    listen("pointermove", this.moved);
    listen("pointerup", this.released);
    listen("pointercancel", () => { this.drag = null; this.band(); });
    listen("keydown", this.key);
    this.draw();
  }

  get width() {
    return this.svg.getBoundingClientRect().width || 1;
  }

  /** A length in pixels as a share of the width, so that paper of another width fits too. */
  along(pixels) {
    return `${(100 * pixels / this.width).toFixed(3)}%`;
  }

  share(seconds) {
    return (seconds - this.start) / (this.stop - this.start);
  }

  seconds(event) {
    const place = event.clientX - this.svg.getBoundingClientRect().left;
    return Math.round(this.start + (place / this.width) * (this.stop - this.start));
  }

  draw() {
    const here = new Set(this.legs.now.map((leg) => leg.id));
    this.drawn.forEach((parts, id) => { if (!here.has(id)) { parts.all.remove(); this.drawn.delete(id); } });
    let free = -CROWDED_PX;
    this.legs.now.forEach((leg) => {
      const parts = this.drawn.get(leg.id) || this.made(leg);
      if (parts.all.parentNode !== this.layer) { this.layer.append(parts.all); }
      free = this.place(leg, parts, free);
    });
  }

  made(leg) {
    const all = element("g", { class: "leg" }, this.layer);
    const parts = { all };
    parts.area = element("rect", { class: "leg-area", y: 22, height: this.height - 22 }, all);
    parts.name = element("g", { class: "leg-name", role: "checkbox", tabindex: "0" }, all);
    parts.chip = element("rect", { y: 0, height: 22, rx: 3 }, parts.name);
    parts.words = element("text", { y: 15, "text-anchor": "middle" }, parts.name);
    ["start", "stop"].forEach((edge) => {
      const handle = element("g", {
        class: "handle", role: "slider", tabindex: "0", "aria-valuemin": "0",
        "aria-valuemax": String(this.legs.last), "data-edge": edge,
      }, all);
      element("line", { y1: 22, y2: this.height }, handle);
      element("rect", { y: this.height / 2 - 14, width: 10, height: 28, rx: 4, transform: "translate(-5 0)" }, handle);
      parts[edge] = handle;
    });
    all.dataset.leg = leg.id;
    this.drawn.set(leg.id, parts);
    return parts;
  }

  place(leg, parts, free) {
    const [left, right] = [this.share(leg.start), this.share(leg.stop)].map((share) => share * this.width);
    const seen = right > 0 && left < this.width;
    parts.all.setAttribute("visibility", seen ? "visible" : "hidden");
    const answer = this.answers.get(leg.id);
    const state = leg.out ? "left out" : (answer ? answer.outcome : "not solved");
    const narrow = right - left < NARROW_PX ? " narrow" : "";
    parts.all.setAttribute("class", `leg ${state.replace(/ /g, "-")} run-${leg.run % 2}${narrow}`);
    const [from, to] = [Math.max(left, 0), Math.min(right, this.width)];
    parts.area.setAttribute("x", this.along(from));
    parts.area.setAttribute("width", this.along(Math.max(to - from, 1)));
    const middle = Math.min(Math.max((from + to) / 2, 12), this.width - 12);
    const number = answer ? answer.leg : this.legs.number(leg);
    const words = leg.out ? "\u00d7" : `${leg.run}.${number}`;
    const crowded = seen && middle - free < CROWDED_PX;
    parts.words.textContent = crowded ? "\u00b7" : words;
    parts.words.setAttribute("x", this.along(middle));
    parts.chip.setAttribute("x", this.along(middle));
    parts.chip.setAttribute("width", crowded ? 10 : 26);
    parts.chip.setAttribute("transform", `translate(${crowded ? -5 : -13} 0)`);
    const name = `leg ${leg.out ? "" : `${number} `}of run ${leg.run}, ${clock(leg.start)} to ${clock(leg.stop)}`;
    parts.name.setAttribute("aria-label", `Use ${name}${leg.out ? "" : `, ${state}`}`);
    parts.name.setAttribute("aria-checked", String(!leg.out));
    ["start", "stop"].forEach((edge) => this.placeHandle(parts[edge], leg, edge, name));
    return seen && !crowded ? middle : free;
  }

  placeHandle(handle, leg, edge, name) {
    const x = this.share(leg[edge]) * this.width;
    const [line, grip] = handle.children;
    const seen = x >= 0 && x <= this.width;
    handle.setAttribute("visibility", seen ? "inherit" : "hidden");
    line.setAttribute("x1", this.along(x));
    line.setAttribute("x2", this.along(x));
    grip.setAttribute("x", this.along(x));
    handle.setAttribute("aria-label", `${edge === "start" ? "Start" : "Stop"} of ${name}`);
    handle.setAttribute("aria-valuenow", String(leg[edge]));
    handle.setAttribute("aria-valuetext", `${clock(leg[edge])}, ${Math.round(leg[edge])} s`);
  }

  /** Return the edge nearest to a pointer, or the leg under it. */
  under(event) {
    const x = event.clientX - this.svg.getBoundingClientRect().left;
    let found = null, nearest = NEAR_PX;
    this.legs.now.forEach((leg) => ["start", "stop"].forEach((edge) => {
      const far = Math.abs(this.share(leg[edge]) * this.width - x) + (leg.out ? 4 : 0);
      if (far < nearest) { nearest = far; found = { id: leg.id, edge }; }
    }));
    const inside = this.legs.now.find((leg) => {
      const [left, right] = [this.share(leg.start) * this.width, this.share(leg.stop) * this.width];
      return left <= x && x <= right;
    });
    const y = event.clientY - this.svg.getBoundingClientRect().top;
    return found && y > 22 ? found : { id: inside ? inside.id : (found ? found.id : ""), edge: "" };
  }

  pressed(event) {
    if (event.button !== 0 || !event.isPrimary) { return; }
    const { id, edge } = this.under(event);
    const at = this.seconds(event);
    this.drag = { id, edge, from: at, x: event.clientX, key: `drag-${event.timeStamp}`, far: false };
    this.svg.setPointerCapture(event.pointerId);
    if (edge) {
      this.drag.slip = this.legs.leg(id)[edge] - (this.start +
        ((event.clientX - this.svg.getBoundingClientRect().left) / this.width) * (this.stop - this.start));
      this.drawn.get(id)[edge].focus({ preventScroll: true });
      event.preventDefault();
    }
  }

  moved(event) {
    const drag = this.drag;
    if (!drag) { return; }
    drag.far = drag.far || Math.abs(event.clientX - drag.x) > (drag.edge ? 0 : CLICK_PX);
    if (!drag.far) { return; }
    if (drag.edge) {
      this.legs.move(drag.id, drag.edge, Math.round(this.seconds(event) + drag.slip), drag.key);
    } else if (!drag.id) {
      this.band(drag.from, this.seconds(event));
    }
  }

  released(event) {
    this.moved(event); // a quick hand may lift where no move was reported
    const drag = this.drag;
    this.drag = null;
    this.band();
    if (!drag) { return; }
    if (!drag.far && drag.id && !drag.edge) { this.legs.toggle(drag.id); }
    if (drag.far && !drag.id) { this.legs.add(drag.from, this.seconds(event)); }
  }

  /** Show the stretch that is being drawn; nothing without times. */
  band(from, to) {
    const rect = this.svg.querySelector(".new-leg");
    const [left, right] = from === undefined ? [0, 0]
      : [Math.min(from, to), Math.max(from, to)].map((s) => this.share(s) * this.width);
    rect.setAttribute("x", this.along(left));
    rect.setAttribute("width", this.along(right - left));
  }

  key(event) {
    const leg = event.target.closest("[data-leg]");
    if (!leg) { return; }
    const id = leg.dataset.leg, edge = event.target.dataset.edge;
    const step = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1 }[event.key];
    if (edge && step) {
      const far = step * (event.shiftKey ? 10 : 1);
      this.legs.move(id, edge, this.legs.leg(id)[edge] + far, `keys-${id}-${edge}`);
    } else if (event.key === "Delete" || event.key === "Backspace" || (!edge && [" ", "Enter"].includes(event.key))) {
      this.legs.toggle(id);
    } else {
      return;
    }
    event.preventDefault();
  }

  /** Show what was answered of each leg. */
  answered(answers) {
    this.answers = answers;
    this.draw();
  }
}
