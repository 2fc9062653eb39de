(function () {
  "use strict";
  document.querySelectorAll("figure[data-curve]").forEach(function (figure) {
    var rows = JSON.parse(figure.getAttribute("data-curve"));
    var unit = figure.getAttribute("data-unit");
    var weight = figure.getAttribute("data-weight");
    if (!rows.length) { return; }
    var box = document.createElement("div");
    box.className = "read-out";
    var label = document.createElement("label");
    var words = document.createElement("span");
    words.textContent = "Read out at an IAS at " + weight + ", " + unit;
    var slider = document.createElement("input");
    slider.type = "range";
    slider.min = "0";
    slider.max = String(rows.length - 1);
    slider.step = "1";
    slider.value = String(Math.floor(rows.length / 2));
    var answer = document.createElement("output");
    label.appendChild(words);
    label.appendChild(slider);
    box.appendChild(label);
    box.appendChild(answer);
    figure.insertBefore(box, figure.querySelector("figcaption"));
    function tell(index) {
      var row = rows[index];
      answer.textContent = "At " + row[0] + " " + unit + " IAS at " + weight +
        " add " + row[1] + " " + unit + ". " + (figure.hasAttribute("data-own") ? "This aircraft: " + row[4] + " to " + row[5]
          : "The group's mean: " + row[2] + " to " + row[3] +
          "; another aircraft of the group: " + row[4] + " to " + row[5]) + "." +
        (row[6] ? " " + row[6] : "");
      slider.value = String(index);
      slider.setAttribute("aria-valuetext", answer.textContent);
      figure.querySelectorAll("svg").forEach(function (drawing) {
        var line = drawing.querySelector(".pointer");
        var d = drawing.dataset;
        var share = (parseFloat(row[0]) - d.first) / (d.last - d.first);
        var x = parseFloat(d.left) + share * (d.right - d.left);
        line.setAttribute("x1", x);
        line.setAttribute("x2", x);
        line.style.visibility = "visible";
      });
    }
    slider.addEventListener("input", function () { tell(parseInt(slider.value, 10)); });
    figure.querySelectorAll("svg").forEach(function (drawing) {
      drawing.addEventListener("pointermove", function (event) {
        var place = drawing.getBoundingClientRect();
        var width = drawing.viewBox.baseVal.width;
        var x = (event.clientX - place.left) / place.width * width;
        var d = drawing.dataset;
        var speed = +d.first + (x - d.left) / (d.right - d.left) * (d.last - d.first);
        var nearest = 0;
        rows.forEach(function (row, index) {
          if (Math.abs(row[0] - speed) < Math.abs(rows[nearest][0] - speed)) { nearest = index; }
        });
        tell(nearest);
      });
    });
    tell(parseInt(slider.value, 10));
  });
})();
