/** Lets the answer follow the legs: one question at a time, and only the newest counts. */

/** An answer that was overtaken is dropped, unless nothing new was shown for so long. */
const STILL_MS = 300;

/** Put paragraphs in place; those that stay the same are not touched, so none is read out twice. */
export function put(box, html) {
  const made = document.createElement("template");
  made.innerHTML = html;
  const fresh = [...made.content.children];
  fresh.forEach((element, place) => {
    const old = box.children[place];
    if (!old) { box.append(element); }
    else if (old.outerHTML !== element.outerHTML) { old.replaceWith(element); }
  });
  while (box.children.length > fresh.length) { box.lastElementChild.remove(); }
}

export class Answer {
  /**
   * @param address where legs are sent to
   * @param boxes {sentences, numbers}: elements that show the answer
   * @param answered called with what was said of each leg
   */
  constructor(address, boxes, answered) {
    Object.assign(this, { address, boxes, answered, waiting: null, busy: false, newest: 0, shown: 0 });
  }

  /** Ask what the flight says with these legs; what was waiting to be asked is forgotten. */
  ask(legs) {
    this.newest += 1;
    this.waiting = { legs, number: this.newest };
    this.boxes.sentences.setAttribute("aria-busy", "true");
    if (!this.busy) { this.next(); }
  }

  async next() {
    const { legs, number } = this.waiting;
    this.waiting = null;
    this.busy = true;
    try {
      const reply = await fetch(this.address, {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ legs }),
      });
      if (!reply.ok) { throw new Error(`the program answered ${reply.status}`); }
      const found = await reply.json();
      if (number === this.newest || performance.now() - this.shown > STILL_MS) { this.show(found); }
    } catch (error) {
      this.fail(error);
    }
    this.busy = false;
    if (this.waiting) { this.next(); } else { this.boxes.sentences.removeAttribute("aria-busy"); }
  }

  show(found) {
    this.shown = performance.now();
    put(this.boxes.sentences, found.sentences);
    put(this.boxes.numbers, found.numbers);
    this.boxes.sentences.classList.toggle("refused", found.refused);
    this.answered(found.legs);
  }

  fail(error) {
    const words = document.createElement("p");
    words.textContent = `No answer came (${error.message}). Is the program still running? ` +
      "Load this page again; the legs are kept.";
    this.boxes.sentences.replaceChildren(words);
    this.boxes.sentences.classList.add("refused");
  }
}
