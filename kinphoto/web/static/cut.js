// Outlines of prints on a scan: dragged on the picture, by mouse or finger; the numbers beside it stay what is sent.

import { dragging, make } from "./drawn.js";
import { WORDS } from "./words.js";

const bed = document.getElementById("on-bed"), drawing = bed.querySelector("svg"), rows = document.getElementById("rows");
const SIDES = ["left", "top", "width", "height", "turn"], LEAST = 5;

const field = (row, side) => row.querySelector(`[name="${side}"]`);
const read = (row) => Object.fromEntries(SIDES.map((side) => [side, Number(field(row, side).value) || 0]));
const isEmpty = (row) => SIDES.slice(0, 4).every((side) => field(row, side).value === "");
const isOut = (row) => row.querySelector('[name="out"]').checked || isEmpty(row);
const all = () => [...rows.querySelectorAll("fieldset")];

function write(row, place) {
  for (const side of SIDES) field(row, side).value = place[side].toFixed(2);
  draw();
}

/** The outlines as the numbers say. A handle at each corner changes the size, the one above the top turns. */
function draw() {
  drawing.querySelectorAll(".drawn").forEach((each) => each.remove());
  const shown = all().map((row, number) => ({ row, number, ...read(row) })).filter(({ row }) => !isOut(row));
  const group = ({ row, left, top, width, height, turn }) => {
    const made = make("g", drawing, {
      class: row.querySelector(".red") ? "drawn unsure" : "drawn",
      transform: `translate(${left + width / 2} ${top + height / 2}) rotate(${turn})`,
    });
    made.row = row;
    return made;
  };
  for (const one of shown) {
    const { width, height } = one, made = group(one);
    make("rect", made, { x: -width / 2, y: -height / 2, width, height, "data-part": "move" });
    make("text", made, {}, String(one.number + 1));
  }
  for (const one of shown) { // above all of them, so that none lies under a neighbour
    const wide = one.width / 2, high = one.height / 2, made = group(one);
    const handle = (part, x, y) => make("circle", made, { class: "handle", cx: x, cy: y, r: 3, "data-part": part });
    for (const [across, down] of [[-1, -1], [1, -1], [1, 1], [-1, 1]]) handle(`${across},${down}`, across * wide, down * high);
    handle("turn", 0, -high - 7);
  }
}

/** What a place becomes when `part` of it is dragged from one point to another. */
function dragged(place, part, from, to) {
  const middle = { x: place.left + place.width / 2, y: place.top + place.height / 2 };
  if (part === "move") return { ...place, left: place.left + to.x - from.x, top: place.top + to.y - from.y };
  if (part === "turn") {
    const angle = (Math.atan2(to.x - middle.x, middle.y - to.y) * 180) / Math.PI;
    return { ...place, turn: angle };
  }
  // A corner: the one opposite stays where it is.
  const [across, down] = part.split(",").map(Number), angle = (place.turn * Math.PI) / 180;
  const cos = Math.cos(angle), sin = Math.sin(angle);
  const x = (to.x - middle.x) * cos + (to.y - middle.y) * sin, y = (to.y - middle.y) * cos - (to.x - middle.x) * sin;
  const width = Math.max(LEAST, across * x + place.width / 2), height = Math.max(LEAST, down * y + place.height / 2);
  const dx = (across * (width - place.width)) / 2, dy = (down * (height - place.height)) / 2;
  return {
    ...place, width, height,
    left: middle.x + dx * cos - dy * sin - width / 2, top: middle.y + dx * sin + dy * cos - height / 2,
  };
}

dragging(drawing, (pressed) => {
  const part = pressed.dataset.part, row = pressed.closest("g")?.row;
  if (!part || !row) return null;
  const place = read(row);
  return (from, to) => write(row, dragged(place, part, from, to));
});

rows.addEventListener("input", draw);

const add = document.getElementById("add");
const blank = all().at(-1);
const fresh = blank.cloneNode(true);
blank.remove(); // without a script it is the one more print that can be typed
add.hidden = false;
add.addEventListener("click", () => {
  const row = fresh.cloneNode(true), number = all().length + 1;
  row.querySelector("legend").textContent = WORDS.print(number);
  row.querySelector('[name="out"]').value = number;
  rows.append(row);
  const width = Number(bed.dataset.width), height = Number(bed.dataset.height);
  write(row, { left: width / 3, top: height / 3, width: width / 3, height: height / 3, turn: 0 });
  field(row, "left").focus();
});

draw();
