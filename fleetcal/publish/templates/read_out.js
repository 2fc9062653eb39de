"use strict";
// Reads a curve out at one speed: by slider and keys, under the mouse, under a finger.
(() => {
  const made = (element, words = "", kind = "") => {
    const it = document.createElement(element);
    it.textContent = words;
    it.className = kind;
    return it;
  };
  document.querySelectorAll("figure[data-curve]").forEach((figure) => {
    const { unit, weight, own, above, aboveWords } = figure.dataset;
    // ias, cas, correction, mean from, to, next from, to
    const rows = figure.dataset.curve.split(";").map((row) => row.split(" "));
    if (!figure.dataset.curve) { return; }
    const box = made("div", "", "read-out");
    const label = made("label");
    const slider = made("input");
    Object.assign(slider, { type: "range", min: 0, max: rows.length - 1, step: 1 });
    const answer = made("output");
    const near = made("p", "", "near");
    label.append(made("span", `Read out at an indicated airspeed (IAS at ${weight}, ${unit})`));
    label.append(slider);
    box.append(label, answer, near);
    figure.insertBefore(box, figure.querySelector(".key, figcaption"));

    const words = ([ias, cas, add, meanLow, meanHigh, nextLow, nextHigh]) => {
      const bands = own ? `This aircraft: ${meanLow} to ${meanHigh}.`
        : `The group's mean: ${meanLow} to ${meanHigh}; ` +
          `another aircraft of the group: ${nextLow} to ${nextHigh}.`;
      const bound = above && +ias > +above ? ` ${aboveWords}` : "";
      return `${ias} ${unit} indicated is ${cas} calibrated: add ${add} ${unit}. ${bands}${bound}`;
    };
    const show = (index) => {
      slider.value = index;
      answer.textContent = words(rows[index]);
      slider.setAttribute("aria-valuetext", answer.textContent);
      figure.dataset.at = rows[index][0];
      point();
    };
    const point = () => figure.querySelectorAll("svg").forEach((drawing) => {
      const d = drawing.dataset, line = drawing.querySelector(".pointer");
      const share = (figure.dataset.at - d.first) / (d.last - d.first);
      const x = +d.left + share * (d.right - d.left);
      line.setAttribute("x1", x);
      line.setAttribute("x2", x);
      line.style.visibility = share >= 0 && share <= 1 ? "visible" : "hidden";
    });
    const nearest = (speed) => rows.reduce(
      (best, row, index) => (Math.abs(row[0] - speed) < Math.abs(rows[best][0] - speed) ? index : best), 0);

    // Who of the others has a point near a speed, for whoever does not point at it.
    const drawing = figure.querySelector("svg"), whole = { ...drawing.dataset };
    const dots = [...drawing.querySelectorAll(".others")].filter((path) => path.querySelector("title"))
      .flatMap((path) => [...path.getAttribute("d").matchAll(/M([-\d.]+)/g)].map(([, x]) => ({
        tag: path.querySelector("title").textContent,
        speed: +whole.first + (x - whole.left) / (whole.right - whole.left) * (whole.last - whole.first),
      })));
    const around = (speed) => {
      const tags = dots.filter((dot) => Math.abs(dot.speed - speed) <= 1).map((dot) => dot.tag);
      return tags.length ? `Others within 1 ${unit}: ${[...new Set(tags)].join(", ")}` : "";
    };

    slider.addEventListener("input", () => {
      show(+slider.value);
      near.textContent = around(+figure.dataset.at);
      figure.dispatchEvent(new CustomEvent("at"));
    });
    figure.addEventListener("view", point);
    figure.querySelectorAll("svg").forEach((drawing) => {
      const follow = (event) => {
        const place = drawing.getBoundingClientRect(), d = drawing.dataset;
        const x = (event.clientX - place.left) / place.width * drawing.viewBox.baseVal.width;
        show(nearest(+d.first + (x - d.left) / (d.right - d.left) * (d.last - d.first)));
        const below = document.elementFromPoint(event.clientX, event.clientY);
        const title = below && below.closest(".point, .others") &&
          below.closest(".point, .others").querySelector("title");
        near.textContent = title ? title.textContent : "";
      };
      drawing.addEventListener("pointerdown", (event) => {
        if (event.pointerType !== "mouse") { drawing.setPointerCapture(event.pointerId); }
        follow(event);
      });
      drawing.addEventListener("pointermove", follow);
    });
    show(Math.floor((rows.length - 1) / 2));
  });
})();
