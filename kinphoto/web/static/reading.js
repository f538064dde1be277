// While the words on a back are typed: dates in them are looked for and offered, and another scan is shown large. The
// page does the same without scripts, by its buttons.

import { send } from "./page.js";

const WAIT = 300; // milliseconds without a key before the words are looked at
let waiting = 0, asked = 0;

const form = () => document.getElementById("reading");

/** Put the dates in what is typed beside it; what was chosen stays chosen while it is there. */
async function offer() {
  const number = ++asked, fields = new URLSearchParams(new FormData(form()));
  fields.set("do", "look");
  const answer = await fetch(form().action, { method: "POST", body: fields, headers: { "X-Part": "1" } }).catch(() => null);
  if (number !== asked) return;
  showLook(!answer?.ok); // what could not be looked at now can be asked for
  if (!answer?.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("read-offers");
  const here = document.getElementById("read-offers");
  if (fresh && here && fresh.innerHTML !== here.innerHTML) here.replaceChildren(...document.importNode(fresh, true).childNodes);
}

document.addEventListener("input", (event) => {
  if (!["read-text", "read-date"].includes(event.target.id)) return;
  clearTimeout(waiting);
  waiting = setTimeout(offer, WAIT);
});

document.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey) && event.target.form === form()) {
    form().requestSubmit(form().querySelector("[value=save]"));
  }
});

// Another scan: nothing is saved, and what is typed stays.
document.addEventListener("click", (event) => {
  const button = event.target.closest?.("button[name=scan]");
  if (!button) return;
  event.preventDefault();
  send(form(), button);
});

/** Show the button that looks for dates: what scripts do all the time needs none. */
function showLook(shown) { document.querySelector(".read-look").hidden = !shown; }
document.addEventListener("renewed", () => showLook(false));
showLook(false);
for (const id of ["read-text", "read-date"]) { // somebody typed before this was here
  const field = document.getElementById(id);
  if (field.value !== field.defaultValue) offer();
}
