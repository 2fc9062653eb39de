"use strict";
// Draws a range of speeds larger; ticks, points and names follow, and the height fits what is seen.
(() => {
  const SVG = "http://www.w3.org/2000/svg", FEWEST_KT = 4, FARTHEST_PX = 8;
  const ticks = (low, high, most) => {
    const rough = (high - low) / most, power = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].map((f) => f * power).find((s) => s >= rough * (1 - 1e-9));
    const found = [];
    for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k += 1) {
      found.push(+(k * step).toFixed(9));
    }
    return found;
  };
  const signed = (value, digits) => (value > 0 ? "+" : value < 0 ? "\u2212" : "") +
    Math.abs(value).toFixed(digits);
  const made = (element, attributes, words) => {
    const it = document.createElementNS(SVG, element);
    Object.entries(attributes).forEach(([name, value]) => it.setAttribute(name, value));
    if (words !== undefined) { it.textContent = words; }
    return it;
  };
  // Places of a path made of M, L, h0 and V alone, in units of the drawing.
  const places = (path) => {
    const found = [];
    let x = 0;
    for (const [, letter, numbers] of path.getAttribute("d").matchAll(/([MLV])([-\d. ]+)/g)) {
      const [a, b] = numbers.trim().split(" ").map(Number);
      if (letter !== "V") { x = a; }
      found.push([x, letter === "V" ? a : b]);
    }
    return found;
  };

  const view = (drawing) => {
    const d = drawing.dataset, all = { ...d };
    const [left, right, top, floor] = [+d.left, +d.right, +d.top, +d.floor];
    const xOf = (v) => left + (v - all.first) / (all.last - all.first) * (right - left);
    const vOf = (y) => +all.low + (floor - y) / (floor - top) * (all.high - all.low);
    const yOf = (v) => floor - (v - all.low) / (all.high - all.low) * (floor - top);
    const kept = [...drawing.querySelectorAll(".ticks")].map((g) => [g, [...g.childNodes]]);
    const fitted = (first, last) => {
      const values = [];
      drawing.querySelectorAll(".stretch .fits, .point path").forEach((path) => {
        if (!path.getClientRects().length) { return; }
        places(path).forEach(([x, y]) => {
          if (x >= xOf(first) && x <= xOf(last)) { values.push(vOf(y)); }
        });
      });
      if (!values.length) { return [+all.low, +all.high]; }
      const low = Math.min(...values), high = Math.max(...values);
      const spare = Math.max(0.06 * (high - low), (1 - (high - low)) / 2);
      return [low - spare, high + spare];
    };
    const scale = (first, last, low, high) => {
      Object.assign(d, { first, last, low, high });
      const sx = (all.last - all.first) / (last - first), sy = (all.high - all.low) / (high - low);
      const across = left - xOf(first) * sx, up = floor - yOf(low) * sy;
      drawing.querySelectorAll(".stretch, .point path").forEach((part) => {
        part.setAttribute("transform", `matrix(${sx} 0 0 ${sy} ${across} ${up})`);
      });
      drawing.querySelectorAll(".point circle, .plot text").forEach((part) => {
        const x = +(part.getAttribute("cx") || part.getAttribute("x"));
        const y = +(part.getAttribute("cy") || part.getAttribute("y"));
        const moved = part.classList.contains("bound-name") ? 0 : y * sy + up - y;
        part.setAttribute("transform", `translate(${x * sx + across - x} ${moved})`);
      });
      drawing.querySelectorAll(".zero").forEach((line) => {
        line.setAttribute("d", `M${left} ${yOf(0) * sy + up}H${right}`);
        line.style.visibility = low < 0 && high > 0 ? "visible" : "hidden";
      });
      const [upward, along] = kept.map(([group]) => group);
      const marks = ticks(low, high, 8), digits = marks.every(Number.isInteger) ? 0 : 1;
      upward.replaceChildren(...marks.flatMap((value) => {
        const y = floor - (value - low) / (high - low) * (floor - top);
        return [made("path", { class: "grid", d: `M${left} ${y}H${right}` }),
          made("text", { class: "tick", x: left - 6, y: y + 4, "text-anchor": "end" },
            signed(value, digits))];
      }));
      along.replaceChildren(...ticks(first, last, right - left > 400 ? 9 : 5).flatMap((value) => {
        const x = left + (value - first) / (last - first) * (right - left);
        return [made("path", { class: "axis", d: `M${x} ${floor}v5` }),
          made("text", { class: "tick", x, y: floor + 18, "text-anchor": "middle" }, value)];
      }));
    };
    return {
      show(first, last) {
        if (first <= +all.first && last >= +all.last) {
          scale(+all.first, +all.last, +all.low, +all.high);
          kept.forEach(([group, parts]) => group.replaceChildren(...parts));
          return;
        }
        scale(first, last, ...fitted(first, last));
      },
    };
  };

  document.querySelectorAll("figure.curve").forEach((figure) => {
    const drawings = [...figure.querySelectorAll("svg")], views = drawings.map(view);
    const [low, high] = [+drawings[0].dataset.first, +drawings[0].dataset.last];
    let [first, last] = [low, high];
    const box = document.createElement("div"), range = document.createElement("output");
    box.className = "zoom";
    box.setAttribute("role", "group");
    box.setAttribute("aria-label", "Speeds that are drawn");
    const show = (from, to) => {
      const width = Math.min(Math.max(to - from, FEWEST_KT), high - low);
      first = Math.min(Math.max(from, low), high - width);
      last = first + width;
      figure.classList.toggle("zoomed", width < high - low);
      views.forEach((one) => one.show(first, last));
      range.textContent = `${first.toFixed(0)} to ${last.toFixed(0)} ${figure.dataset.unit}`;
      figure.dispatchEvent(new CustomEvent("view"));
    };
    const about = (factor) => {
      const at = +figure.dataset.at, width = (last - first) * factor;
      const middle = at >= first && at <= last ? at : (first + last) / 2;
      show(middle - width / 2, middle + width / 2);
    };
    [["Closer", () => about(0.5)], ["Wider", () => about(2)], ["All speeds", () => show(low, high)]]
      .forEach(([words, act]) => {
        const button = document.createElement("button");
        Object.assign(button, { type: "button", textContent: words });
        button.addEventListener("click", act);
        box.append(button);
      });
    box.append(range);
    figure.insertBefore(box, figure.querySelector(".key, figcaption"));
    figure.addEventListener("layers", () => show(first, last));
    figure.addEventListener("at", () => {
      const at = +figure.dataset.at, width = last - first;
      if (at < first || at > last) { show(at - width / 2, at + width / 2); }
    });

    drawings.forEach((drawing) => {
      const chosen = made("rect", { class: "chosen", y: drawing.dataset.top,
        height: drawing.dataset.floor - drawing.dataset.top, width: 0 });
      drawing.append(chosen);
      let from = null;
      const at = (event) => {
        const place = drawing.getBoundingClientRect(), d = drawing.dataset;
        const x = (event.clientX - place.left) / place.width * drawing.viewBox.baseVal.width;
        return Math.min(Math.max(x, +d.left), +d.right);
      };
      const speed = (x) => {
        const d = drawing.dataset;
        return +d.first + (x - d.left) / (d.right - d.left) * (d.last - d.first);
      };
      drawing.addEventListener("pointerdown", (event) => {
        if (event.pointerType !== "mouse" || event.button !== 0) { return; }
        drawing.setPointerCapture(event.pointerId);
        event.preventDefault();
        from = at(event);
      });
      drawing.addEventListener("pointermove", (event) => {
        if (from === null) { return; }
        chosen.setAttribute("x", Math.min(from, at(event)));
        chosen.setAttribute("width", Math.abs(at(event) - from));
      });
      const end = (event) => {
        if (from === null) { return; }
        const ends = [from, at(event)].sort((a, b) => a - b);
        from = null;
        chosen.setAttribute("width", 0);
        if (event.type === "pointerup" && ends[1] - ends[0] > FARTHEST_PX) {
          show(speed(ends[0]), speed(ends[1]));
        }
      };
      drawing.addEventListener("pointerup", end);
      drawing.addEventListener("pointercancel", end);
    });
    show(low, high);
  });
})();
