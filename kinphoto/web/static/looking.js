// Looking closely at a scan: closer and further away, moved about, the view turned. Nothing of it is stored.
//
// Takes each element with data-tiles that holds an <img>, all there is without scripts, and perhaps an <svg data-over
// viewBox="0 0 1 1" preserveAspectRatio="none"> to be kept on it. Gives it toPicture(clientX, clientY): [x, y] in 0..1,
// setView({ x, y, zoom }) and widthOfWhole(), how many px all of it is wide;
// sends it "looking" when the view changes, and "tapped" for a tap on the whole picture beside its frames. After "drawing" with detail true, drags are somebody else's.

import { gestures } from "./gestures.js";
import { Tiles } from "./tiles.js";
import { WORDS } from "./words.js";

const between = (low, value, high) => Math.max(low, Math.min(high, value));
/** A vector turned by quarters, clockwise on a screen whose y goes down. */
const spun = ([x, y], quarters) => [[x, y], [-y, x], [-x, -y], [y, -x]][quarters & 3];

function look(stage) {
  const img = stage.querySelector("img");
  const [plane, layer, tools] = ["looking-plane", "", "looking-tools"].map((className) =>
    Object.assign(document.createElement("div"), { className }));
  const whole = Object.assign(new Image(), { alt: "", draggable: false, src: img.src });
  plane.append(whole, layer, ...stage.querySelectorAll("[data-over]"));
  stage.append(plane, tools);
  const tiles = new Tiles(layer, stage.dataset.tiles);

  let ratio = img.getAttribute("height") / img.getAttribute("width") || img.naturalHeight / img.naturalWidth || 1;
  let x = 0.5, y = 0.5, zoom = 1, quarters = 0; // the part in the middle; 1 shows the whole
  let drawing = false;

  const room = () => [stage.clientWidth, stage.clientHeight];
  const fit = () => { // how wide all of it is
    const [across, down] = spun(room(), quarters).map(Math.abs);
    return Math.min(across, down / ratio);
  };
  /** From pixels of the screen to parts of the picture. */
  const parts = (vector) => {
    const [across, down] = spun(vector, -quarters), width = fit() * zoom;
    return [across / width, down / width / ratio];
  };
  const halves = () => parts(room()).map((part) => Math.abs(part) / 2);
  const middle = () => {
    const box = stage.getBoundingClientRect(), [across, down] = room();
    return [box.left + stage.clientLeft + across / 2, box.top + stage.clientTop + down / 2];
  };
  const toPicture = (clientX, clientY) => {
    const [midX, midY] = middle(), [across, down] = parts([clientX - midX, clientY - midY]);
    return [x + across, y + down];
  };
  const bounded = (factor) => { // up to four pixels of the screen for one of the scan
    const most = (4 * (tiles.facts?.width ?? img.naturalWidth)) / devicePixelRatio / fit();
    zoom = between(1, zoom * factor, Math.max(4, most));
  };

  function draw() {
    if (!fit()) return;
    bounded(1);
    const [halfX, halfY] = halves();
    x = halfX >= 0.5 ? 0.5 : between(halfX, x, 1 - halfX);
    y = halfY >= 0.5 ? 0.5 : between(halfY, y, 1 - halfY);
    const across = fit() * zoom, down = across * ratio, corner = spun([x * across, y * down], quarters);
    // On whole pixels of the screen, or all is a little blurred.
    const [left, top] = room().map((at, i) => Math.round((at / 2 - corner[i]) * devicePixelRatio) / devicePixelRatio);
    const transform = `translate(${left}px, ${top}px) rotate(${quarters * 90}deg)`;
    Object.assign(plane.style, { width: `${across}px`, height: `${down}px`, transform });
    stage.classList.toggle("closer", zoom > 1);
    const pixels = across * devicePixelRatio;
    if (pixels <= img.naturalWidth * 1.02) layer.replaceChildren(); // the whole is sharp enough
    else if (tiles.facts) tiles.draw(x - halfX, x + halfX, y - halfY, y + halfY, pixels);
    else if (!tiles.asked) fetchTiles();
    stage.dispatchEvent(new CustomEvent("looking", { bubbles: true, detail: { x, y, zoom, quarters } }));
  }

  async function fetchTiles() {
    stage.ariaBusy = "true";
    const facts = await tiles.fetch();
    stage.ariaBusy = null;
    if (facts) ratio = facts.height / facts.width;
    draw();
  }

  const pan = (across, down) => {
    const [partX, partY] = parts([across, down]);
    x -= partX;
    y -= partY;
  };
  /** Closer by a factor; what is at this place of the window stays there. */
  const closer = (factor, at = middle()) => {
    const before = toPicture(...at);
    bounded(factor);
    const after = toPicture(...at);
    x += before[0] - after[0];
    y += before[1] - after[1];
  };
  gestures(stage, {
    free: () => !drawing,
    whole: () => zoom === 1,
    move: (across, down) => { pan(across, down); draw(); },
    closer: (factor, at) => { closer(factor, at); draw(); },
    tap: (target) => {
      if (zoom === 1 && !drawing && !target.closest(".frame")) stage.dispatchEvent(new CustomEvent("tapped", { bubbles: true }));
    },
    tapTwice: (at) => {
      if (zoom > 1) zoom = 1;
      else closer(3, at);
      draw();
    },
  });

  const ways = {
    "+": [WORDS.zoomIn, "+=", () => closer(1.6)],
    "−": [WORDS.zoomOut, "-−", () => closer(1 / 1.6)],
    [WORDS.whole]: [WORDS.wholePicture, "0", () => { zoom = 1; }],
    [WORDS.turn]: [WORDS.turnView, "rR", () => { quarters = (quarters + 1) & 3; }],
  };
  const arrows = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  for (const [textContent, [title, , act]] of Object.entries(ways)) {
    const button = Object.assign(document.createElement("button"), { type: "button", textContent, title, ariaLabel: title });
    button.addEventListener("click", () => { act(); draw(); });
    tools.append(button);
  }
  stage.addEventListener("keydown", (event) => {
    if (drawing || event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
    const way = Object.values(ways).find(([, keys]) => keys.includes(event.key)), arrow = arrows[event.key];
    if (way) way[2]();
    else if (arrow && (zoom > 1 || event.shiftKey)) pan(...arrow.map((at, i) => at * room()[i] * 0.2));
    else return;
    event.preventDefault();
    draw();
  });
  stage.addEventListener("drawing", (event) => { drawing = event.detail; });

  /** Show a part of the picture: what is in the middle, in 0..1, and how close. */
  const setView = (view) => { ({ x = x, y = y, zoom = zoom } = view); draw(); };
  const ariaLabel = WORDS.picture;
  Object.assign(stage, { toPicture, setView, widthOfWhole: fit, tabIndex: 0, role: "group", ariaLabel });
  new ResizeObserver(draw).observe(stage);
  img.addEventListener("load", draw);
}

function lookAll() {
  for (const stage of document.querySelectorAll("[data-tiles]:has(> img)")) stage.toPicture ?? look(stage);
}
const href = new URL("looking.css", import.meta.url);
document.head.append(Object.assign(document.createElement("link"), { rel: "stylesheet", href, onload: lookAll }));
document.addEventListener("renewed", lookAll);
