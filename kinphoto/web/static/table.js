// The table: what lies side by side is looked at closely together, its faces at the same size, or one over the other;
// what lies below is put in order by dragging, or by keys.

import { send, tell } from "./page.js";
import { WORDS } from "./words.js";

const beside = document.getElementById("beside");
const stages = () => [...beside.querySelectorAll("[data-tiles]")].filter((stage) => stage.setView);
const pressed = (button) => button?.getAttribute("aria-pressed") === "true";
const press = (button, on) => button.setAttribute("aria-pressed", String(on));

if (beside) {
  document.getElementById("ways-of-beside").hidden = false;
  const [linked, over] = ["linked", "over"].map((id) => document.getElementById(id));
  const through = document.getElementById("through");
  let following = false;

  document.addEventListener("looking", (event) => {
    if (following || !pressed(linked)) return;
    following = true; // what follows does not lead in its turn
    for (const stage of stages()) if (stage !== event.target) stage.setView(event.detail);
    following = false;
  });
  linked.addEventListener("click", () => press(linked, !pressed(linked)));

  document.getElementById("same-faces").addEventListener("click", () => {
    const faced = stages().map((stage) => [stage, stage.closest("figure").dataset.faceAt?.split(" ").map(Number)]);
    if (!faced.some(([, face]) => face)) { tell(WORDS.noFrames); return; }
    press(linked, false);
    for (const [stage, face] of faced) {
      if (!face) continue;
      const [x, y, high] = face, photo = stage.querySelector("img");
      const whole = (stage.widthOfWhole() * photo.getAttribute("height")) / photo.getAttribute("width");
      stage.setView({ x, y, zoom: Math.max(1, (stage.clientHeight * 0.4) / (whole * high)) });
    }
  });

  over?.addEventListener("click", () => {
    press(over, !pressed(over));
    beside.classList.toggle("over", pressed(over));
    through.hidden = !pressed(over);
  });
  through?.addEventListener("input", (event) => beside.style.setProperty("--through", event.target.value / 100));
}

// The order in which they lie -------------------------------------------------------------------------------------

const tray = document.getElementById("tray");
let dragged = null;

async function keep() {
  const form = document.getElementById("order");
  const fields = [...tray.children].map((item) => Object.assign(document.createElement("input"), { type: "hidden", name: "order", value: item.dataset.code }));
  form.querySelectorAll("[name=order]").forEach((one) => one.remove());
  form.append(...fields);
  if (await send(form)) tell(WORDS.inOrder);
}

for (const item of tray?.children ?? []) {
  item.draggable = true;
  item.querySelectorAll("a, img").forEach((one) => { one.draggable = false; });
}
tray?.addEventListener("dragstart", (event) => {
  dragged = event.target.closest("li");
  dragged.classList.add("dragged");
  event.dataTransfer.effectAllowed = "move";
});
tray?.addEventListener("dragover", (event) => {
  const onto = event.target.closest("li");
  if (!dragged || !onto) return;
  event.preventDefault();
  const box = onto.getBoundingClientRect();
  if (onto !== dragged) tray.insertBefore(dragged, event.clientX < box.left + box.width / 2 ? onto : onto.nextElementSibling);
});
tray?.addEventListener("dragend", () => { dragged?.classList.remove("dragged"); dragged = null; keep(); });
tray?.addEventListener("keydown", (event) => {
  const item = event.target.closest("li"), by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  if (!event.altKey || !by || !item) return;
  event.preventDefault();
  const other = by < 0 ? item.previousElementSibling : item.nextElementSibling;
  if (!other) return;
  if (by < 0) other.before(item); else other.after(item);
  event.target.focus();
  keep();
});

// A finger cannot drag here, as it moves the page: the chosen ones go a step with a button.
const steps = document.getElementById("steps");
if (steps) steps.hidden = false;
steps?.addEventListener("click", (event) => {
  const by = Number(event.target.dataset.by), items = [...tray.children].filter((item) => item.querySelector(":checked"));
  if (!by || !items.length) return;
  for (const item of by < 0 ? items : items.reverse()) {
    const other = by < 0 ? item.previousElementSibling : item.nextElementSibling;
    if (!other || items.includes(other)) continue;
    if (by < 0) other.before(item); else other.after(item);
  }
  keep();
});
