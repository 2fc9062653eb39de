"use strict";
// Makes each line of a figure's key a box that hides what it names.
document.querySelectorAll("figure.curve").forEach((figure) => {
  figure.querySelectorAll(".key [data-hides]").forEach((line) => {
    const box = document.createElement("input"), label = document.createElement("label");
    const drawn = line.dataset.hides.split(",").map((kind) => `svg ${kind}`).join(",");
    Object.assign(box, { type: "checkbox", checked: true });
    label.append(box, ...line.childNodes);
    line.append(label);
    box.addEventListener("change", () => {
      figure.querySelectorAll(drawn).forEach((part) => part.classList.toggle("gone", !box.checked));
      figure.dispatchEvent(new CustomEvent("layers"));
    });
  });
});
