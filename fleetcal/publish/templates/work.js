// Says how far long work is, and shows its page again when it has ended.
(function () {
  "use strict";
  const place = document.getElementById("work");
  if (!place) { return; }
  async function look() {
    try {
      const answer = await fetch(place.dataset.state);
      const work = await answer.json();
      if (work.state !== "running") { window.location.reload(); return; }
      if (work.words) { place.textContent = work.words; }
    } catch (error) {
      place.textContent = "The program does not answer; it may have been ended.";
    }
    window.setTimeout(look, 500);
  }
  look();
})();
