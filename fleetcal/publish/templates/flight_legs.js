/** Legs of a flight as they are picked: what is now, what was before, what was undone. */
const SHORTEST_S = 1;
const MERGE_MS = 1500;

/** A time from the first sample, as the strips write it. */
export function clock(seconds) {
  const all = Math.round(seconds), rest = String(all % 60).padStart(2, "0");
  const minutes = Math.floor(all / 60), hours = Math.floor(minutes / 60);
  return hours ? `${hours}:${String(minutes % 60).padStart(2, "0")}:${rest}` : `${minutes}:${rest}`;
}

/** Whether two lists of legs are the same legs. */
function alike(one, other) {
  const words = (legs) => JSON.stringify(legs.map((l) => [l.run, l.start, l.stop, l.out]));
  return words(one) === words(other);
}

export class Legs {
  /**
   * @param found legs as the program found them: {run, start, stop}
   * @param picked legs as they are picked already
   * @param last time of the last sample
   */
  constructor(found, picked, last) {
    this.last = last;
    this.made = 0;
    this.found = found.map((leg) => this.named({ ...leg, out: false }));
    const same = alike(this.found, picked);
    this.now = same ? this.found : picked.map((leg) => this.named(leg));
    this.past = [];
    this.future = [];
    this.listeners = [];
    this.step = { key: "", at: 0 };
  }

  named(leg) {
    this.made += 1;
    return Object.freeze({ ...leg, id: `leg-${this.made}` });
  }

  onChange(listener) {
    this.listeners.push(listener);
  }

  leg(id) {
    return this.now.find((leg) => leg.id === id);
  }

  /** Number of a leg among those of its run that are in use; 0 if it is left out. */
  number(leg) {
    const own = this.now.filter((other) => other.run === leg.run && !other.out);
    return own.sort((a, b) => a.start - b.start).indexOf(leg) + 1;
  }

  get isAsFound() {
    return alike(this.now, this.found);
  }

  /** Take other legs; changes with the same key, soon after one another, are one step back. */
  take(legs, key = "") {
    if (alike(legs, this.now)) { return; }
    const at = Date.now();
    const merged = key !== "" && key === this.step.key && at - this.step.at < MERGE_MS;
    if (!merged) { this.past.push(this.now); }
    this.step = { key, at };
    this.future = [];
    this.now = legs;
    this.tell();
  }

  tell() {
    this.listeners.forEach((listener) => listener(this));
  }

  change(id, values, key = "") {
    this.take(this.now.map((leg) => (leg.id === id ? Object.freeze({ ...leg, ...values }) : leg)), key);
  }

  /** Move one edge of a leg, as far as its other edge and its neighbours in use let it. */
  move(id, edge, seconds, key = "") {
    const leg = this.leg(id);
    const others = this.now.filter((other) => other.id !== id && !other.out);
    let low = 0, high = this.last;
    if (edge === "start") {
      high = leg.stop - SHORTEST_S;
      others.forEach((other) => { if (other.stop <= leg.start) { low = Math.max(low, other.stop); } });
    } else {
      low = leg.start + SHORTEST_S;
      others.forEach((other) => { if (other.start >= leg.stop) { high = Math.min(high, other.start); } });
    }
    this.change(id, { [edge]: Math.min(Math.max(seconds, low), high) }, key);
  }

  toggle(id) {
    this.change(id, { out: !this.leg(id).out });
  }

  /** Add a leg, to the run of the leg in use that is nearest in time. */
  add(start, stop, run = 0) {
    const [low, high] = [Math.max(0, Math.min(start, stop)), Math.min(this.last, Math.max(start, stop))];
    if (!(high - low >= SHORTEST_S)) { return; }
    const middle = (low + high) / 2;
    const far = (leg) => Math.abs((leg.start + leg.stop) / 2 - middle);
    const near = [...this.now].sort((a, b) => a.out - b.out || far(a) - far(b))[0];
    const leg = this.named({ run: run || (near ? near.run : 1), start: low, stop: high, out: false });
    this.take([...this.now, leg].sort((a, b) => a.start - b.start));
  }

  undo() {
    if (this.past.length) { this.turn(this.past, this.future); }
  }

  redo() {
    if (this.future.length) { this.turn(this.future, this.past); }
  }

  turn(from, to) {
    to.push(this.now);
    this.now = from.pop();
    this.step = { key: "", at: 0 };
    this.tell();
  }

  reset() {
    this.take(this.found);
  }

  /** Legs as they are sent to be solved. */
  get sent() {
    return this.now.map((leg) => (
      { run: leg.run, start_s: leg.start, stop_s: leg.stop, left_out: leg.out }
    ));
  }
}
