// What fingers, a mouse and its wheel do to a picture that is looked at closely.

const SLIP = 6; // px a finger may move in a tap
const TWICE = 350; // ms between the taps of a double tap
const distance = (one, other) => Math.hypot(one[0] - other[0], one[1] - other[1]);
const place = (event) => [event.clientX, event.clientY];

let scrolled = -1e9; // when the page was, in ms
addEventListener("scroll", () => { scrolled = performance.now(); }, { passive: true });

/** Turn gestures on `stage` into move(across, down) in px, closer(factor, at), tap(target) and tapTwice(at), `at` in the
 *  window's coordinates. `whole()` says that all of the picture is shown, `free()` that dragging is ours at the moment. */
export function gestures(stage, { free, whole, move, closer, tap, tapTwice }) {
  const on = (names, act, options) => names.split(" ").forEach((name) => stage.addEventListener(name, act, options));
  const down = new Map(); // where each finger, or the mouse, was last
  let first = [0, 0], dragged = false, last = { time: -1e9 }, waiting = 0;

  on("pointerdown", (event) => {
    if (!free() || event.button > 0 || event.target.closest("button")) return;
    if (!down.size) first = place(event);
    dragged = down.size > 0;
    down.set(event.pointerId, place(event));
  });
  on("pointermove", (event) => {
    const was = down.get(event.pointerId), is = place(event);
    if (!was || (!dragged && distance(is, first) < SLIP)) return;
    if (!dragged) stage.setPointerCapture(event.pointerId);
    dragged = true;
    down.set(event.pointerId, is);
    const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
    move(...is.map((at, i) => (at - was[i]) / down.size));
    if (other) closer(distance(is, other) / (distance(was, other) || 1), is.map((at, i) => (at + other[i]) / 2));
  });
  on("pointerup pointercancel", (event) => {
    if (!down.delete(event.pointerId) || down.size) return;
    setTimeout(() => { dragged = false; }); // after the click that may follow
    if (dragged || event.type === "pointercancel") return;
    const twice = event.timeStamp - last.time < TWICE && distance(place(event), last.at) < 4 * SLIP;
    last = { time: twice ? -1e9 : event.timeStamp, at: place(event) };
    clearTimeout(waiting); // a tap is only one when no other follows
    if (twice) tapTwice(last.at);
    else waiting = setTimeout(tap, TWICE, event.target);
  });
  on("drawing", () => down.clear());
  on("click", (event) => { if (dragged) event.stopPropagation(); }, { capture: true });
  // Two fingers would scroll and pinch the whole page.
  on("touchstart touchmove", (event) => { if (event.touches.length > 1) event.preventDefault(); }, { passive: false });
  on("wheel", (event) => {
    // On the way out the page scrolls on at the end, and scrolling the page does not get caught here.
    if (!event.ctrlKey && whole() && (event.deltaY > 0 || performance.now() - scrolled < 400)) return;
    event.preventDefault();
    closer(Math.exp(-event.deltaY * (event.deltaMode ? 16 : 1) * (event.ctrlKey ? 0.01 : 0.002)), place(event));
  }, { passive: false });
}
