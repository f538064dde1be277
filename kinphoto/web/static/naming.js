// Naming faces without leaving the keyboard: a face is framed or chosen, its age judged, Enter, a few letters of the
// name, Enter, and the next face is there. The form it fills is the one that works without scripts.

import { send, tell, typing } from "./page.js";
import { WORDS } from "./words.js";

const $ = (id) => document.getElementById(id);
const form = () => $("naming");
const faces = () => [...document.querySelectorAll("[data-face]")];
const looking = document.querySelector(".looking");
const over = looking?.querySelector("[data-over]");

let drawing = false; // the next drag over the picture frames a face
let frame = null; // the frame that is not saved yet: [left, top, width, height]
let moving = null; // the face (its region) whose frame that is, if it has one already
let current = null; // the face that is chosen, by its key; none while a new one is framed
let last = null; // the frame that was saved last, [left, top, width, height]: the next face is probably beside it
let several = false; // faces are framed one after the other, to be named afterwards
let active = -1; // the offer that Enter takes
let asked = 0; // the newest question for offers; answers to older ones are dropped
let answered = Promise.resolve(); // when the newest one is
let saving = Promise.resolve(); // when everything so far is saved: one face after the other

// Choosing a face -----------------------------------------------------------------------------------------------

function chosen() { return faces().find((face) => face.getAttribute("aria-current")); }

/** Make a face the one to be named. What is typed already stays with `typed`, since it was typed for this one. */
function choose(face, { focus = true, typed = false } = {}) {
  dropFrame();
  current = face?.dataset.face ?? null;
  for (const other of faces()) other.removeAttribute("aria-current");
  face?.setAttribute("aria-current", "true");
  mark(face ? `frame-${face.dataset.face}` : null);
  const fields = form().elements;
  fields.region.value = face?.dataset.region ?? "";
  if (!typed) fields.age.value = fields.person.value = "";
  close();
  $("whose").textContent = face ? WORDS.face(face.querySelector(".number").textContent.trim()) : WORDS.whoIsThis;
  delete form().dataset.idle;
  delete form().dataset.held;
  if (document.activeElement === fields.person) offer();
  else if (focus) askAge(face && $(`frame-${current}`));
}

/** The age is asked first. Where there is a frame the fields come beside its face, so the page stays where it is. */
function askAge(framed) { form().elements.age.focus({ preventScroll: Boolean(framed) }); }

function mark(id) {
  for (const other of over?.querySelectorAll(".frame") ?? []) other.classList.toggle("on", other.id === id);
}

/** The button that refuses the chosen frame, if it is only offered. */
function refusal() { return document.querySelector(`[data-refuse="${current}"]`); }

/** The next face to be named after this one: one without a name, else none. */
function nextFace(after) {
  const all = faces();
  const at = all.findIndex((face) => face.dataset.face === after);
  const turned = [...all.slice(at + 1), ...all.slice(0, at + 1)];
  return turned.find((face) => !face.dataset.named);
}

function step(by) {
  const all = faces();
  if (all.length === 0) return;
  const at = all.indexOf(chosen());
  choose(all[(at + by + all.length) % all.length], { focus: false });
  $("naming").scrollIntoView({ block: "nearest" });
}

// Framing a face ------------------------------------------------------------------------------------------------

const SIZE = "size of a frame"; // what the browser remembers it under

/** Where the next frame begins: beside the last one, or in the middle of what is seen, as large as the last. */
function begun() {
  const [x, y] = looking.toPicture(...["left", "top"].map((side, at) => looking.getBoundingClientRect()[side] + [looking.clientWidth, looking.clientHeight][at] / 2));
  const edge = looking.getBoundingClientRect(), [from, to] = [looking.toPicture(edge.left, edge.top), looking.toPicture(edge.right, edge.bottom)];
  const seen = [0, 1].map((at) => Math.min(1, Math.abs(to[at] - from[at])));
  let size = [0.1, 0.14];
  try { size = last?.slice(2) ?? JSON.parse(localStorage.getItem(SIZE)) ?? size; } catch { /* nothing is remembered here */ }
  const [width, height] = size.map((part, at) => Math.min(part, seen[at] * 0.6));
  if (last && seen[0] > 0.9 && last[0] + 2.5 * width < 1) return [last[0] + 1.6 * width, last[1], width, height];
  return [x - width / 2, y - height / 2, width, height];
}

function startDrawing(box) {
  if (!looking || !over) return;
  box ??= begun();
  drawing = true;
  press();
  looking.classList.add("drawing");
  looking.dispatchEvent(new CustomEvent("drawing", { detail: true }));
  showFrame(box);
  tell(matchMedia("(pointer: coarse)").matches ? WORDS.tapFace : WORDS.dragFrame);
  looking.focus();
}

/** What is on is seen on its button, also on one that came with an answer. */
function press() {
  $("frame")?.setAttribute("aria-pressed", String(drawing && !several));
  $("several")?.setAttribute("aria-pressed", String(several));
}

function stopDrawing() {
  drawing = false;
  press();
  looking?.classList.remove("drawing");
  looking?.dispatchEvent(new CustomEvent("drawing", { detail: false }));
}

/** Take hold of the frame of a face that has one. */
function startMoving(region) {
  const shape = $(`frame-${region}`);
  if (!shape) return;
  const [x, y, across, down] = ["cx", "cy", "rx", "ry"].map((name) => Number(shape.getAttribute(name)));
  startDrawing([x - across, y - down, 2 * across, 2 * down]);
  moving = region;
}

function dropFrame() {
  frame = null;
  moving = null;
  over?.querySelector(".new")?.remove();
  stopDrawing();
}

function showFrame(box) {
  const [left, top, width, height] = box;
  frame = [Math.max(0, Math.min(left, 1 - width)), Math.max(0, Math.min(top, 1 - height)), width, height];
  let shape = over.querySelector(".new");
  if (!shape) {
    shape = document.createElementNS("http://www.w3.org/2000/svg", "ellipse");
    shape.setAttribute("class", "frame new on");
    over.append(shape);
  }
  shape.setAttribute("cx", frame[0] + width / 2);
  shape.setAttribute("cy", frame[1] + height / 2);
  shape.setAttribute("rx", width / 2);
  shape.setAttribute("ry", height / 2);
}

/** A frame as the form sends it. */
function written(box) { return box.map((part) => part.toFixed(4)).join(","); }

/** The frame is in place: the next question is how old its face looks. */
function putDown() {
  const box = written(frame);
  if (moving) {
    const move = $("moving");
    move.elements.face.value = moving;
    move.elements.region.value = box;
    dropFrame();
    move.requestSubmit();
    return;
  }
  last = frame;
  try { localStorage.setItem(SIZE, JSON.stringify(frame.slice(2))); } catch { /* nothing is remembered here */ }
  if (several) { keepForLater(box); return; }
  stopDrawing();
  tell("");
  const fields = form().elements;
  fields.age.value = fields.person.value = "";
  current = null;
  hold(box);
  askAge(true);
}

/** The form is for the face in the new frame, also when the answer to what was sent before has brought another form. */
function hold(box) {
  for (const other of faces()) other.removeAttribute("aria-current");
  mark(null);
  over.querySelector(".new")?.classList.add("on");
  form().elements.region.value = box;
  $("whose").textContent = WORDS.newFace;
  delete form().dataset.idle;
  form().dataset.held = "";
}

/** Save a face without a name. The next one can be framed at once; this one stays in sight until it is there. */
function keepForLater(box) {
  const kept = over.querySelector(".new");
  kept?.setAttribute("class", "frame kept");
  startDrawing();
  tell(WORDS.nextFace);
  next(async () => {
    const fields = form().elements;
    [fields.region.value, fields.age.value, fields.person.value] = [box, "", ""];
    const answer = await send(form());
    kept?.remove();
    if (answer === null) frameSeveral(false);
  });
}

function frameSeveral(on) {
  several = on;
  if (on) { startDrawing(); return; }
  dropFrame();
  next(() => {
    const first = nextFace(null);
    if (first && !drawing && !frame) choose(first);
  });
}

// A press that framed a face or took a name has changed what lies under the finger. The click that ends it and the
// second tap of a double tap are no answer to what is there now.
const TWICE = 350, SLIP = 24; // ms between the taps of a double tap, px between their places
let decided = { time: -1e9, at: [0, 0] };
function decidedBy(event) { decided = { time: event.timeStamp, at: [event.clientX, event.clientY] }; }
for (const what of ["pointerdown", "click"]) addEventListener(what, (event) => {
  const [x, y] = decided.at;
  if (!event.isTrusted || event.timeStamp - decided.time > TWICE || Math.hypot(event.clientX - x, event.clientY - y) > SLIP) return;
  event.preventDefault();
  event.stopImmediatePropagation();
}, { capture: true });

let from = null;
looking?.addEventListener("pointerdown", (event) => {
  if (!drawing || event.target.closest("button")) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  if (!event.isPrimary) return;
  from = looking.toPicture(event.clientX, event.clientY);
  looking.setPointerCapture(event.pointerId);
}, { capture: true });
looking?.addEventListener("pointermove", (event) => {
  if (!drawing || !from) return;
  event.stopImmediatePropagation();
  const to = looking.toPicture(event.clientX, event.clientY).map((part) => Math.max(0, Math.min(1, part)));
  const size = [Math.abs(to[0] - from[0]), Math.abs(to[1] - from[1])];
  if (Math.max(...size) > 0.01) showFrame([Math.min(from[0], to[0]), Math.min(from[1], to[1]), Math.max(size[0], 0.01), Math.max(size[1], 0.01)]);
}, { capture: true });
looking?.addEventListener("pointerup", (event) => {
  if (!drawing || !from) return;
  event.stopImmediatePropagation();
  const to = looking.toPicture(event.clientX, event.clientY);
  const tapped = Math.max(Math.abs(to[0] - from[0]), Math.abs(to[1] - from[1])) < 0.01;
  if (tapped) showFrame([from[0] - frame[2] / 2, from[1] - frame[3] / 2, frame[2], frame[3]]);
  from = null;
  decidedBy(event);
  putDown();
}, { capture: true });
looking?.addEventListener("pointercancel", () => { from = null; }, { capture: true });

const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** The frame into the middle of one of nine parts of what is seen, counted as one reads. */
function jumpFrame(part) {
  const edge = looking.getBoundingClientRect(), at = part - 1;
  const [x, y] = looking.toPicture(edge.left + (edge.width * ((at % 3) + 0.5)) / 3, edge.top + (edge.height * (Math.floor(at / 3) + 0.5)) / 3);
  showFrame([x - frame[2] / 2, y - frame[3] / 2, frame[2], frame[3]]);
}

function moveFrame(event) {
  const [x, y] = MOVES[event.key];
  const by = 0.02;
  if (!event.shiftKey && !moving) { // a new one comes quickly, by half of itself
    showFrame([frame[0] + (x * frame[2]) / 2, frame[1] + (y * frame[3]) / 2, frame[2], frame[3]]);
    return;
  }
  if (event.shiftKey) {
    const width = Math.min(1, Math.max(0.02, frame[2] + x * by)), height = Math.min(1, Math.max(0.02, frame[3] + y * by));
    showFrame([frame[0] - (width - frame[2]) / 2, frame[1] - (height - frame[3]) / 2, width, height]);
  } else showFrame([frame[0] + x * by, frame[1] + y * by, frame[2], frame[3]]);
}

// Who it could be -----------------------------------------------------------------------------------------------

function offer() { answered = ask(); }

async function ask() {
  const fields = form().elements;
  const question = ++asked;
  const query = new URLSearchParams({ letters: fields.person.value, age: fields.age.value, region: fields.region.value });
  const address = `${form().dataset.offers}?${query}`;
  const answer = await fetch(address).then((one) => (one.ok ? one.json() : null)).catch(() => null);
  if (question !== asked || answer === null) return; // closed, or asked anew, meanwhile
  if (answer.unread) tell(answer.unread);
  show(answer.people, form().elements.person.value.trim());
}

function show(people, letters) {
  const list = $("offers");
  list.replaceChildren(...people.map((one, number) => option(one, number)));
  if (letters) {
    const other = option({ person: "", name: letters, years: "", kin: "", why: WORDS.addSomebody, fits: true }, people.length);
    other.dataset.newcomer = letters;
    list.append(other);
  }
  list.hidden = list.children.length === 0;
  form().elements.person.setAttribute("aria-expanded", String(!list.hidden));
  // Nothing typed: an arrow chooses, Enter alone leaves the face without a name. Somebody new is never marked by itself.
  activate(letters && people.length ? 0 : null);
  placeForm();
}

function option(one, number) {
  const item = document.createElement("li");
  item.id = `offer-${number}`;
  item.setAttribute("role", "option");
  item.dataset.person = one.person;
  if (!one.fits) item.classList.add("unfit");
  const name = document.createElement("span");
  name.className = "name";
  name.textContent = one.name || WORDS.noName;
  const facts = document.createElement("span");
  facts.className = "fact";
  facts.textContent = [one.years, one.kin, one.why].filter(Boolean).join(" · ");
  item.append(name, " ", facts);
  item.addEventListener("pointerdown", (event) => event.preventDefault());
  item.addEventListener("click", (event) => { decidedBy(event); take(item); });
  return item;
}

/** Mark an offer, the last one before the first; null marks none. */
function activate(number) {
  const items = [...$("offers").children];
  active = items.length && number !== null ? (number + items.length) % items.length : -1;
  items.forEach((item, at) => item.setAttribute("aria-selected", String(at === active)));
  items[active]?.scrollIntoView({ block: "nearest" });
  const person = form().elements.person;
  if (active >= 0) person.setAttribute("aria-activedescendant", items[active].id);
  else person.removeAttribute("aria-activedescendant");
}

/** Mark the offer below or above, when those for what was typed are there. */
function browse(down) {
  answered = Promise.resolve(answered).then(() => activate(down ? active + 1 : Math.max(active, 0) - 1));
}

function close() {
  asked++;
  active = -1;
  delete form().elements.person.dataset.moved;
  $("offers").hidden = true;
  $("offers").replaceChildren();
  form().elements.person.setAttribute("aria-expanded", "false");
  form().elements.person.removeAttribute("aria-activedescendant");
}

/** Do this when everything before it is saved. */
function next(step) { saving = saving.catch(() => {}).then(step); }

function take(item) {
  const { person, newcomer } = item.dataset;
  next(() => save({ person, newcomer }));
}

/** Enter in the field of the name: whoever is chosen in the list, which may still be on its way to a quick hand. */
async function decide() {
  await answered;
  const field = form().elements.person;
  const item = $("offers").children[active];
  if (!item && field.value.trim()) {
    tell(WORDS.nobodyCalled(field.value.trim()));
    return;
  }
  const named = item && (field.value.trim() || field.dataset.moved !== undefined);
  await save(named ? item.dataset : {}); // no name: the face and its age are saved, and somebody may be named later
}

/** Save who is chosen. Meanwhile the next face may be typed for. */
async function save({ person, newcomer }) {
  const here = form(), fields = here.elements;
  const [region, age, letters, key] = [fields.region.value, fields.age.value, fields.person.value, current];
  const before = new Set(faces().map((face) => face.dataset.face));
  const extra = document.createElement("input");
  Object.assign(extra, { type: "hidden", name: "new", value: newcomer ?? "" });
  if (person !== undefined) fields.person.value = person;
  here.append(extra);
  const waiting = frame;
  frame = null; // so that the answer may redraw the frames
  const sending = send(here);
  extra.remove();
  close();
  fields.age.value = fields.person.value = "";
  if (faces().some((face) => !face.dataset.named && face.dataset.face !== key)) fields.age.focus(); // else keys are the page's
  if (await sending === null) {
    if (current !== key) choose(faces().find((face) => face.dataset.face === key));
    frame = waiting;
    if (frame) form().dataset.held = "";
    const again = form().elements;
    [again.region.value, again.age.value, again.person.value] = [region, age, letters];
    (form().querySelector("[aria-invalid]") ?? again.person).focus();
    offer();
    return;
  }
  if (frame || current !== key) return; // another face was framed or chosen meanwhile
  const placed = faces().find((face) => !before.has(face.dataset.face)) ?? faces().find((face) => face.dataset.region === region);
  const following = nextFace(placed?.dataset.face);
  if (following) choose(following, { focus: document.activeElement.form !== form(), typed: true });
  else {
    dropFrame();
    form().dataset.idle = "";
    const covered = document.querySelector("#who[data-covered]");
    tell(matchMedia("(pointer: coarse)").matches ? WORDS.allNamed : covered ? WORDS.allNamedKeysCovered : WORDS.allNamedKeys);
  }
}

/** The frames over the picture, as the page that came has them. */
function redraw(fresh) {
  const frames = fresh.querySelector("[data-over]");
  if (!frames || !over) return;
  const held = [...over.querySelectorAll(frame ? ".new, .kept" : ".kept")];
  over.replaceChildren(...[...frames.children].map((child) => document.importNode(child, true)), ...held);
  if (held.length) return;
  mark(chosen() ? `frame-${chosen().dataset.face}` : null);
}

// The fields beside the face ------------------------------------------------------------------------------------

/** The fields stand beside the face while they are typed into, with the face enlarged, so that it is seen all the while;
 * where there is little room, in a sheet at the foot. */
function placeForm() {
  const here = form();
  if (!here || !looking || !over) return;
  const shape = frame ? over.querySelector(".new") : current && $(`frame-${current}`);
  const on = Boolean(shape) && here.contains(document.activeElement) && !drawing;
  here.classList.toggle("beside-face", on);
  here.style.cssText = "";
  if (!on) { here.querySelector(".face-now")?.remove(); return; }
  drawFace(here, shape);
  if (matchMedia("(max-width: 62rem)").matches) {
    const view = visualViewport;
    if (view) here.style.bottom = `${Math.max(0, innerHeight - view.offsetTop - view.height)}px`;
    return;
  }
  const face = shape.getBoundingClientRect(), room = here.getBoundingClientRect(), gap = 18;
  const right = face.right + gap, left = face.left - gap - room.width;
  here.style.left = `${right + room.width < innerWidth - 8 ? right : Math.max(8, left)}px`;
  here.style.top = `${Math.max(8, Math.min(face.top - 12, innerHeight - room.height - 8))}px`;
}

function drawFace(here, shape) {
  const photo = looking.querySelector("img"), part = (name) => Number(shape.getAttribute(name));
  let canvas = here.querySelector(".face-now");
  if (!canvas) {
    canvas = Object.assign(document.createElement("canvas"), { className: "face-now", width: 360, height: 360, ariaHidden: "true" });
    here.prepend(canvas);
  }
  const [across, down] = [photo.naturalWidth, photo.naturalHeight];
  const side = Math.min(1.8 * Math.max(2 * part("rx") * across, 2 * part("ry") * down), across, down);
  const corner = (at, length) => Math.max(0, Math.min(at * length - side / 2, length - side));
  canvas.getContext("2d").drawImage(photo, corner(part("cx"), across), corner(part("cy"), down), side, side, 0, 0, 360, 360);
}

for (const what of ["focusin", "looking"]) document.addEventListener(what, () => placeForm());
document.addEventListener("focusout", () => setTimeout(placeForm));
for (const what of ["resize", "scroll"]) addEventListener(what, () => placeForm(), { passive: true });
visualViewport?.addEventListener("resize", () => placeForm());

// Keys and clicks -----------------------------------------------------------------------------------------------

document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (field.form === form() && form()) {
    if (event.key === "Escape") { close(); field.blur(); event.preventDefault(); }
    else if (field.name === "age" && event.key === "Enter") { event.preventDefault(); form().elements.person.focus(); offer(); }
    else if (field.name === "person") {
      if (event.key === "ArrowDown" || event.key === "ArrowUp") { event.preventDefault(); field.dataset.moved = ""; browse(event.key === "ArrowDown"); }
      else if (event.key === "Enter") {
        event.preventDefault();
        next(decide);
      }
    }
    return;
  }
  if (drawing && frame) {
    if (MOVES[event.key]) { event.preventDefault(); event.stopImmediatePropagation(); moveFrame(event); }
    else if (event.key >= "1" && event.key <= "9") { event.preventDefault(); event.stopImmediatePropagation(); jumpFrame(Number(event.key)); }
    else if (event.key === "Enter") { event.preventDefault(); putDown(); }
    else if (event.key === "Escape") { if (several) frameSeveral(false); else dropFrame(); }
    return;
  }
  if (typing(event)) return;
  if (event.key >= "1" && event.key <= "9" && faces()[event.key - 1]) { event.preventDefault(); choose(faces()[event.key - 1]); }
  else if (event.key === "x" && !event.ctrlKey && !event.metaKey && !event.altKey && refusal()) { event.preventDefault(); refusal().click(); }
  else if (event.key === "ArrowDown" || event.key === "ArrowUp") { event.preventDefault(); step(event.key === "ArrowDown" ? 1 : -1); }
  else if (event.key === "Enter" && (field === document.body || field === looking) && chosen()) { event.preventDefault(); choose(chosen()); }
}, { capture: true });

document.addEventListener("input", (event) => {
  if (event.target.form === form() && event.target.name === "person") offer();
});
document.addEventListener("focusin", (event) => {
  if (event.target.form === form() && event.target.name === "person" && $("offers").hidden) offer();
});
document.addEventListener("submit", (event) => {
  if (event.target !== form()) return;
  event.preventDefault();
  next(decide);
});
document.addEventListener("click", (event) => {
  if (event.target.closest("#frame")) {
    if (drawing && !moving && !several) dropFrame();
    else { moving = null; several = false; startDrawing(); }
  }
  if (event.target.closest("#several")) frameSeveral(!several);
  if (event.target.closest(".not-now")) {
    close();
    if (frame) { dropFrame(); delete form().dataset.held; form().elements.region.value = ""; }
    document.activeElement.blur();
    placeForm();
  }
  const move = event.target.closest("[data-move]");
  if (move) startMoving(move.dataset.move);
  const number = event.target.closest("[data-face] > .number");
  if (number) { event.preventDefault(); choose(number.closest("[data-face]")); }
  const ellipse = event.target.closest?.("[data-over] .frame[id]");
  if (ellipse) choose($(ellipse.id.replace("frame-", "face-")));
});
document.addEventListener("renewed", (event) => {
  redraw(event.detail);
  press();
  if (frame && !drawing) hold(written(frame));
  const face = faces().find((one) => one.dataset.face === current);
  if (face && face !== chosen() && !frame) choose(face, { focus: false, typed: true });
});

const early = ["age", "person"].some((name) => form()?.elements[name]?.value); // typed before this was here
if (chosen()) choose(chosen(), { focus: !early && !form().hasAttribute("data-idle"), typed: early });
// An address with #naming takes the focus away again when the page is there. Whoever has pressed a key by then knows better.
let begunByKey = false;
addEventListener("keydown", () => { begunByKey = true; }, { capture: true, once: true });
addEventListener("load", () => requestAnimationFrame(() => {
  if (!begunByKey && chosen() && !form().hasAttribute("data-idle") && document.activeElement === document.body) form().elements.age.focus();
}));
