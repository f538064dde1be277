// Choosing photographs of a box is a mode: until it is begun there is nothing on the pictures. In it a press on a
// picture chooses it, a press with Shift all up to it, and what can be done with them stands at the foot.

import { WORDS } from "./words.js";

const sheet = document.getElementById("sheet");
const button = document.getElementById("choose");
const count = document.getElementById("how-many");
let last = null;

const boxes = () => [...sheet.querySelectorAll("[name=photograph]")];
const on = () => !sheet.classList.contains("choosing-off");

function mode(begin) {
  sheet.classList.toggle("choosing-off", !begin);
  button.setAttribute("aria-pressed", String(begin));
  button.firstChild.textContent = `${begin ? WORDS.doneChoosing : WORDS.choose} `;
  if (!begin) for (const box of boxes()) box.checked = false;
  say();
}

function say() {
  const chosen = boxes().filter((one) => one.checked);
  sheet.querySelector(".chosen").classList.toggle("some", on());
  count.textContent = chosen.length ? WORDS.chosen(chosen.length) : WORDS.press;
}

function choose(box, checked, through) {
  const all = boxes();
  const [from, to] = through && last ? [all.indexOf(last), all.indexOf(box)].sort((one, other) => one - other) : [all.indexOf(box), all.indexOf(box)];
  for (const one of all.slice(from, to + 1)) one.checked = checked;
  last = box;
  say();
}

if (sheet && button && sheet.querySelector(".chosen")) {
  button.hidden = false;
  button.addEventListener("click", () => mode(!on()));
  sheet.addEventListener("click", (event) => {
    const box = event.target.closest("[name=photograph]"), link = event.target.closest("a.thumbnail");
    if (box) choose(box, box.checked, event.shiftKey);
    else if (link && on() && !event.ctrlKey && !event.metaKey) {
      event.preventDefault();
      const own = link.parentElement.querySelector("[name=photograph]");
      if (own) choose(own, !own.checked, event.shiftKey);
    }
  });
  sheet.addEventListener("keydown", (event) => { if (event.key === "Escape" && on()) { mode(false); button.focus(); } });
  mode(boxes().some((one) => one.checked)); // a browser that goes back remembers what was chosen
}
