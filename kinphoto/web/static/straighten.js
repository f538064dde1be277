// The corners of a photographed print: dragged on the picture, by mouse or finger; the numbers beside it stay what is sent.

const picture = document.getElementById("on-print"), drawing = picture.querySelector("svg");
const rows = [...document.querySelectorAll("#corners fieldset")];
const NS = "http://www.w3.org/2000/svg", width = Number(picture.dataset.width), height = Number(picture.dataset.height);

const field = (row, name) => row.querySelector(`[name="${name}"]`);
const place = (row) => [(Number(field(row, "across").value) / 100) * width, (Number(field(row, "down").value) / 100) * height];
const within = (share) => Math.min(105, Math.max(-5, share * 100)).toFixed(2);

function make(name, attributes) {
  const element = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  drawing.append(element);
  return element;
}

/** The outline as the numbers say, with a handle at each corner. */
function draw() {
  const unsure = drawing.querySelector(".unsure") !== null, places = rows.map(place);
  drawing.replaceChildren();
  make("polygon", { class: unsure ? "around unsure" : "around", points: places.map((each) => each.join(",")).join(" ") });
  places.forEach(([cx, cy], number) => make("circle", { class: "handle", cx, cy, r: Math.max(width, height) / 60, "data-corner": number }));
}

const point = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());

drawing.addEventListener("pointerdown", (event) => {
  const row = rows[event.target.dataset.corner];
  if (!row) return;
  event.preventDefault();
  drawing.setPointerCapture(event.pointerId);
  const from = point(event), [x, y] = place(row);
  const move = (now) => {
    const to = point(now);
    field(row, "across").value = within((x + to.x - from.x) / width);
    field(row, "down").value = within((y + to.y - from.y) / height);
    draw();
  };
  drawing.addEventListener("pointermove", move);
  for (const end of ["pointerup", "pointercancel"]) {
    drawing.addEventListener(end, () => drawing.removeEventListener("pointermove", move), { once: true });
  }
});

document.getElementById("corners").addEventListener("input", draw);
draw();
