// The corners of a photographed print: dragged on the picture, by mouse or finger; the numbers beside it stay what is sent.

import { dragging, make } from "./drawn.js";

const picture = document.getElementById("on-print"), drawing = picture.querySelector("svg");
const rows = [...document.querySelectorAll("#corners fieldset")];
const width = Number(picture.dataset.width), height = Number(picture.dataset.height);

const field = (row, name) => row.querySelector(`[name="${name}"]`);
const place = (row) => [(Number(field(row, "across").value) / 100) * width, (Number(field(row, "down").value) / 100) * height];
const within = (share) => Math.min(105, Math.max(-5, share * 100)).toFixed(2);

/** The outline as the numbers say, with a handle at each corner. */
function draw() {
  const unsure = drawing.querySelector(".unsure") !== null, places = rows.map(place);
  drawing.replaceChildren();
  make("polygon", drawing, { class: unsure ? "around unsure" : "around", points: places.map((each) => each.join(",")).join(" ") });
  places.forEach(([cx, cy], number) => make("circle", drawing, { class: "handle", cx, cy, r: Math.max(width, height) / 60, "data-corner": number }));
}

dragging(drawing, (pressed) => {
  const row = rows[pressed.dataset.corner];
  if (!row) return null;
  const [x, y] = place(row);
  return (from, to) => {
    field(row, "across").value = within((x + to.x - from.x) / width);
    field(row, "down").value = within((y + to.y - from.y) / height);
    draw();
  };
});

document.getElementById("corners").addEventListener("input", draw);
draw();
