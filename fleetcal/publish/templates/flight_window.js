/** Shows a shorter stretch of the strips, drawn finer, or a longer one. */

const WAYS = {
  closer: ([start, stop]) => [start + (stop - start) / 4, stop - (stop - start) / 4],
  wider: ([start, stop]) => [start - (stop - start) / 2, stop + (stop - start) / 2],
  earlier: ([start, stop]) => [start - (stop - start) / 2, stop - (stop - start) / 2],
  later: ([start, stop]) => [start + (stop - start) / 2, stop + (stop - start) / 2],
  all: () => [0, Infinity],
};

/** Return a window moved or changed in length, inside the log. */
export function windowAfter(way, [start, stop], last) {
  let [low, high] = WAYS[way]([start, stop]);
  if (high - low >= last) { return [0, last]; }
  if (low < 0) { [low, high] = [0, high - low]; }
  if (high > last) { [low, high] = [low - (high - last), last]; }
  return [Math.round(low), Math.round(high)];
}

/**
 * @param buttons elements with data-window
 * @param strips where legs are drawn
 * @param address where a drawing comes from
 */
export function follow(buttons, strips, address) {
  const mark = () => buttons.forEach((button) => {
    const all = strips.start <= 0 && strips.stop >= strips.legs.last;
    button.disabled = all && button.dataset.window !== "closer";
  });
  buttons.forEach((button) => button.addEventListener("click", async () => {
    const [start, stop] = windowAfter(button.dataset.window, [strips.start, strips.stop], strips.legs.last);
    const reply = await fetch(`${address}?start_s=${start}&stop_s=${stop}`);
    if (!reply.ok) { return; }
    strips.box.innerHTML = await reply.text();
    strips.begin();
    mark();
  }));
  mark();
}
