// Tables: sorted by a press on a heading, filtered by words, headings that stay in sight.
(function () {
  "use strict";
  const FEWEST_FILTERED = 8;

  function key(row, column) {
    const cell = row.cells[column];
    const words = cell.querySelector(".none") ? "" : cell.textContent.trim();
    // A true minus for the number; of a band the lower end.
    const number = words.replace("\u2212", "-").match(/^[+-]?\d+(\.\d+)?(?=$|\s+to\s)/);
    return number ? parseFloat(number[0]) : words;
  }

  function compare(a, b) {
    if (typeof a === "number" && typeof b === "number") { return a - b; }
    return String(a).localeCompare(String(b), "en", { numeric: true });
  }

  function sort(table, headings, column) {
    const falling = headings[column].getAttribute("aria-sort") === "ascending";
    headings.forEach((other) => other.removeAttribute("aria-sort"));
    headings[column].setAttribute("aria-sort", falling ? "descending" : "ascending");
    const rows = Array.from(table.tBodies[0].rows).map((row) => ({ row, is: key(row, column) }));
    rows.sort((one, other) => {
      if (one.is === "" || other.is === "") { return (one.is === "") - (other.is === ""); }
      return falling ? compare(other.is, one.is) : compare(one.is, other.is);
    });
    table.tBodies[0].append(...rows.map((one) => one.row));
  }

  document.querySelectorAll("table.sortable").forEach((table) => {
    const headings = Array.from(table.tHead.rows[0].cells);
    headings.forEach((heading, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...heading.childNodes);
      heading.append(button);
      button.addEventListener("click", () => sort(table, headings, column));
    });
  });

  // A row stays if it holds each of the words, in any cell; capitals and accents do not count.
  function plain(words) {
    return words.normalize("NFKD").replace(/[\u0300-\u036f\u00ad]/g, "").toLowerCase();
  }

  function filterOf(table) {
    const rows = Array.from(table.tBodies[0].rows).map((row) => ({
      row, words: plain(Array.from(row.cells, (cell) => cell.textContent).join(" ")),
    }));
    const label = document.createElement("label");
    const field = document.createElement("input");
    const count = document.createElement("output");
    field.type = "search";
    field.autocomplete = "off";
    field.spellcheck = false;
    label.className = "filter";
    label.append(table.dataset.filter, field);
    const bar = document.createElement("div");
    bar.className = "filters";
    bar.append(label, count);
    field.addEventListener("input", () => {
      const parts = plain(field.value).split(/\s+/).filter(Boolean);
      let shown = 0;
      rows.forEach((one) => {
        one.row.hidden = !parts.every((word) => one.words.includes(word));
        shown += one.row.hidden ? 0 : 1;
      });
      count.textContent = parts.length ? shown + " of " + rows.length + " shown" : "";
    });
    return bar;
  }

  document.querySelectorAll("table[data-filter]").forEach((table) => {
    if (table.tBodies[0].rows.length < FEWEST_FILTERED) { return; }
    const box = table.closest(".across");
    box.before(filterOf(table));
  });

  // A box that nothing needs to scroll in gives its headings to the window, where they stay.
  const boxes = Array.from(document.querySelectorAll(".across"));
  function settle() {
    boxes.forEach((box) => box.classList.remove("fits"));
    const fit = boxes.map((box) => box.clientWidth > 0 && box.scrollWidth <= box.clientWidth);
    boxes.forEach((box, place) => box.classList.toggle("fits", fit[place]));
  }
  settle();
  window.addEventListener("resize", settle);
  document.addEventListener("toggle", settle, true);
})();
