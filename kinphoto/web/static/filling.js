// A photograph fills the screen: nothing beside it, names under pointer or finger, its back when it is turned over, and
// on through the box, the person, the search or the years by arrows, by swiping, or slowly by itself.
// look.js loads this when somebody wants to look.

import { tell, typing } from "./page.js";
import { WORDS } from "./words.js";

const AWAKE = 3600; // ms the caption stays after a key, a tap or a move
const SLOWLY = 8000; // ms of a photograph that gives way to the next by itself
const SWIPE = 50; // px
const still = matchMedia("(prefers-reduced-motion: reduce)");
const href = new URL("look.css", import.meta.url);
document.head.append(Object.assign(document.createElement("link"), { rel: "stylesheet", href }));

let room = null; // what fills the screen, while something does

/** The address of a scan's picture that is sharp on this screen. */
function picture(scan) {
  const pixels = Math.max(innerWidth, innerHeight) * devicePixelRatio, longest = Math.max(scan.width, scan.height);
  const size = pixels > 1800 && longest > 1700 ? "large" : pixels < 950 ? "middle" : "view";
  return `/scan/${scan.id}/${size}.jpg?v=${scan.v}`;
}

/** Photographs by their number in what is looked through, fetched a few at a time. */
class Through {
  constructor(question) { Object.assign(this, { question, known: [], count: null, back: "/" }); }

  async fetch(at) {
    if (this.known[at]) return this.known[at];
    const answer = await fetch(`/look/on?${this.question}&start=${Math.max(0, at - 4)}`).catch(() => null);
    if (!answer?.ok) return null;
    const found = await answer.json();
    [this.count, this.back] = [found.count, found.back];
    found.photographs.forEach((one, number) => { this.known[found.start + number] = one; });
    return this.known[at] ?? null;
  }

  /** Where a photograph is that was meant, should others have come or gone meanwhile. */
  at(code, otherwise) {
    const found = this.known.findIndex((one) => one?.code === code);
    return code && found >= 0 ? found : otherwise;
  }
}

function element(name, className, more = {}) { return Object.assign(document.createElement(name), { className, ...more }); }

class Room {
  constructor(question, from, leave) {
    Object.assign(this, { through: new Through(question), from, leave, at: 0, one: null, turned: false, going: 0 });
    this.box = element("div", "look", { role: "dialog", ariaModal: "true", ariaLabel: WORDS.looking, tabIndex: -1 });
    this.picture = element("img", "look-picture", { alt: "", draggable: false });
    this.name = element("p", "look-name");
    this.names = element("div", "look-names");
    this.title = element("i", "look-title");
    this.when = element("span", "look-when");
    this.note = element("span", "look-note");
    this.foot = element("div", "look-foot");
    this.far = element("div", "look-far");
    const words = element("p", "look-caption", { ariaLive: "polite" });
    words.append(this.title, " ", this.when, " ", this.note);
    const ways = element("div", "look-ways");
    this.ways = {};
    for (const [name, key, text, act] of [
      ["before", "←", WORDS.previous, () => this.step(-1)], ["after", "→", WORDS.next, () => this.step(1)],
      ["over", "B", WORDS.turnOver, () => this.turn()], ["who", "W", WORDS.who, () => this.who()],
      ["play", "Space", WORDS.slowly, () => this.play()], ["page", "Enter", WORDS.itsPage, () => this.page()],
      ["close", "Esc", WORDS.close, () => this.close()],
    ]) {
      const button = element("button", "", { type: "button" });
      button.append(Object.assign(document.createElement("kbd"), { textContent: key }), element("span", "", { textContent: text }));
      button.addEventListener("click", (event) => { event.stopPropagation(); act(); });
      ways.append(this.ways[name] = button);
    }
    this.foot.append(words, ways);
    this.box.append(this.picture, this.names, this.name, this.foot, this.far);
    this.picture.addEventListener("load", () => this.placeNames());
    this.listen();
  }

  async open(at, code) {
    this.others = [...document.body.children];
    for (const other of this.others) other.inert = true;
    document.body.append(this.box);
    document.documentElement.classList.add("looking-now");
    history.pushState({ look: true }, "");
    this.box.focus({ preventScroll: true });
    // Where the browser has no full screen, or nobody pressed anything, all of the window.
    if (navigator.userActivation?.isActive) this.box.requestFullscreen?.({ navigationUI: "hide" }).catch(() => {});
    await this.through.fetch(at);
    await this.show(this.through.at(code, at));
  }

  async show(at, way = 0) {
    const going = ++this.going, one = await this.through.fetch(at);
    if (going !== this.going) return; // somebody was quicker
    if (!one) { if (!this.one) { this.close(); tell(WORDS.noAnswer); } return; }
    Object.assign(this, { at, one, turned: false });
    this.names.replaceChildren();
    this.forget();
    await this.put(one.front, way);
    if (going !== this.going) return;
    this.say();
    this.wake();
    this.rest();
    const next = await this.through.fetch((at + 1) % this.through.count);
    if (next?.front) new Image().src = picture(next.front);
  }

  fill(src, { width, height }) {
    this.picture.src = src;
    this.picture.style.setProperty("--ratio", width / height);
  }

  /** Have the picture on the screen when it is there, and not before. */
  async put(scan, way) {
    const next = new Image();
    next.src = scan ? picture(scan) : "";
    if (scan) await next.decode().catch(() => {});
    this.picture.hidden = !scan;
    if (scan) this.fill(next.src, scan);
    this.picture.alt = [this.one.title, ...this.one.faces.map((face) => face.name)].filter(Boolean).join(", ");
    if (way && !still.matches) this.picture.animate([{ opacity: 0, transform: `translateX(${way * 3}vw)` }, { opacity: 1, transform: "none" }], { duration: 260, easing: "ease-out" });
    else if (!still.matches) this.picture.animate([{ opacity: 0 }, { opacity: 1 }], { duration: this.playing ? 1400 : 260 });
  }

  say(note = "") {
    this.title.textContent = this.one.title;
    this.when.textContent = this.one.when;
    this.note.textContent = note || WORDS.numbered(this.at + 1, this.through.count);
    this.ways.over.hidden = !this.one.back;
    this.ways.who.hidden = !this.one.faces.length;
    this.ways.over.lastChild.textContent = this.turned ? WORDS.turnBack : WORDS.turnOver;
    this.ways.play.lastChild.textContent = this.playing ? WORDS.stop : WORDS.slowly;
  }

  step(by) {
    const count = this.through.count;
    if (count) this.show((this.at + by + count) % count, by);
  }

  async turn() {
    if (!this.one?.back) { this.say(WORDS.noBack); this.wake(); return; }
    this.turned = !this.turned;
    if (this.turned && !this.one.judged) fetch(`/look/seen?code=${this.one.code}`).catch(() => {}); // it may tell the date
    const half = (from, to) => (still.matches ? null
      : this.picture.animate([{ transform: `perspective(200vw) rotateY(${from}deg)` }, { transform: `perspective(200vw) rotateY(${to}deg)` }], { duration: 220, easing: from ? "ease-out" : "ease-in", fill: "forwards" }).finished);
    this.names.replaceChildren();
    this.forget();
    await half(0, 90);
    const scan = this.turned ? this.one.back : this.one.front;
    const next = Object.assign(new Image(), { src: picture(scan) });
    await next.decode().catch(() => {});
    this.fill(next.src, scan);
    await half(-90, 0);
    this.picture.getAnimations().forEach((one) => one.cancel());
    this.say(this.turned ? WORDS.theBack : "");
    this.wake();
    this.rest();
  }

  // Names -------------------------------------------------------------------------------------------------------

  /** The face under a place of the window, if there is one with a name. */
  faceAt(x, y) {
    if (this.turned || !this.one) return null;
    const box = this.picture.getBoundingClientRect();
    const [across, down] = [(x - box.left) / box.width, (y - box.top) / box.height];
    const away = ({ box: [left, top, width, height] }) => Math.hypot((across - left - width / 2) / width, (down - top - height / 2) / height);
    const near = this.one.faces.filter((face) => away(face) < 0.75).sort((one, other) => away(one) - away(other));
    return near[0] ?? null;
  }

  label(face, label) {
    const box = this.picture.getBoundingClientRect(), [left, top, width, height] = face.box;
    label.textContent = face.name || WORDS.notNamed;
    label.style.left = `${box.left + (left + width / 2) * box.width}px`;
    label.style.top = `${Math.min(box.top + (top + height) * box.height + 8, innerHeight - 44)}px`;
    return label;
  }

  point(x, y) {
    const face = this.faceAt(x, y);
    if (face) this.label(face, this.name);
    this.name.classList.toggle("shown", face !== null);
    return face !== null;
  }

  forget() { this.name.classList.remove("shown"); }

  who() {
    this.forget();
    if (this.names.children.length) { this.names.replaceChildren(); return; }
    if (this.turned || !this.one) return;
    this.names.replaceChildren(...this.one.faces.map((face) => this.label(face, element("p", "look-name shown"))));
  }

  placeNames() { if (this.names.children.length) { this.names.replaceChildren(); this.who(); } }

  // By itself ---------------------------------------------------------------------------------------------------

  play() {
    this.playing = !this.playing;
    this.box.classList.toggle("playing", this.playing);
    if (this.playing) navigator.wakeLock?.request("screen").then((lock) => { this.lock = lock; }, () => {});
    else this.lock?.release();
    this.say();
    this.wake();
    this.rest();
  }

  /** Begin the time that this photograph has, when they give way by themselves. */
  rest() {
    clearTimeout(this.timer);
    this.far.getAnimations().forEach((one) => one.cancel());
    if (!this.playing) return;
    if (!still.matches) this.far.animate([{ transform: "scaleX(0)" }, { transform: "scaleX(1)" }], { duration: SLOWLY });
    this.timer = setTimeout(() => this.advance(), SLOWLY);
  }

  /** On to the next one that may be shown to somebody who did not ask for it. */
  async advance() {
    const count = this.through.count;
    for (let by = 1; by < count; by++) {
      const at = (this.at + by) % count, next = await this.through.fetch(at);
      if (!this.playing) return;
      if (next?.unasked && next.front) { this.show(at); return; }
    }
    this.play();
    this.say(WORDS.noOther);
  }

  // Keys, pointer, fingers --------------------------------------------------------------------------------------

  wake() {
    this.box.classList.add("awake");
    clearTimeout(this.silence);
    this.silence = setTimeout(() => { if (!this.foot.matches(":focus-within")) this.box.classList.remove("awake"); }, AWAKE);
  }

  listen() {
    const keys = {
      ArrowLeft: () => this.step(-1), ArrowRight: () => this.step(1), PageUp: () => this.step(-1), PageDown: () => this.step(1),
      Home: () => this.show(0), End: () => this.show(this.through.count - 1), b: () => this.turn(), w: () => this.who(),
      " ": () => this.play(), Enter: () => this.page(), Escape: () => this.close(), l: () => this.close(),
    };
    this.box.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      if (event.target.closest("button") && (event.key === "Enter" || event.key === " ")) { event.stopPropagation(); return; }
      const act = keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
      event.stopPropagation(); // no key is the page's that lies below
      if (!act) { this.wake(); return; }
      event.preventDefault();
      act();
    });
    let from = null, touched = -1e9, silenced = 0;
    const zoomed = () => (visualViewport?.scale ?? 1) > 1.05;
    this.box.addEventListener("pointerdown", (event) => {
      if (event.target.closest("button") || zoomed()) return;
      from = { x: event.clientX, y: event.clientY, id: event.pointerId };
    });
    this.box.addEventListener("pointermove", (event) => {
      if (event.pointerType === "mouse") {
        if (event.movementX || event.movementY) { this.wake(); this.point(event.clientX, event.clientY); }
      } else if (from?.id === event.pointerId) this.picture.style.translate = `${event.clientX - from.x}px`;
    });
    this.box.addEventListener("pointercancel", () => { from = null; this.picture.style.translate = ""; });
    this.box.addEventListener("pointerup", (event) => {
      const began = from;
      from = null;
      this.picture.style.translate = "";
      if (!began || began.id !== event.pointerId) return;
      const [x, y] = [event.clientX - began.x, event.clientY - began.y];
      if (event.pointerType === "mouse") {
        if (this.faceAt(event.clientX, event.clientY)) return;
        if (event.clientX < innerWidth / 3) this.step(-1);
        else if (event.clientX > (innerWidth * 2) / 3) this.step(1);
        return;
      }
      if (Math.abs(x) > SWIPE && Math.abs(x) > Math.abs(y)) this.step(x < 0 ? 1 : -1);
      else if (y > 1.6 * SWIPE) this.close();
      else if (y < -1.6 * SWIPE) this.turn();
      else if (event.timeStamp - touched < 350) this.turn();
      else {
        touched = event.timeStamp;
        clearTimeout(silenced);
        if (this.point(event.clientX, event.clientY)) silenced = setTimeout(() => this.forget(), AWAKE);
        else if (this.box.classList.contains("awake")) this.box.classList.remove("awake");
        else this.wake();
      }
    });
    this.foot.addEventListener("focusin", () => this.wake());
    this.box.addEventListener("fullscreenchange", () => { if (!document.fullscreenElement && this.full) this.close(); this.full = !!document.fullscreenElement; });
    addEventListener("resize", this.onresize = () => this.placeNames());
  }

  page() { if (this.one) location.assign(`/photograph/${this.one.code}`); }

  close() { if (history.state?.look) history.back(); else this.end(); }

  end() {
    clearTimeout(this.timer);
    clearTimeout(this.silence);
    this.going++;
    this.playing = false;
    this.lock?.release();
    removeEventListener("resize", this.onresize);
    for (const other of this.others) other.inert = false;
    document.documentElement.classList.remove("looking-now");
    this.full = false;
    if (document.fullscreenElement) document.exitFullscreen().catch(() => {});
    this.box.remove();
    room = null;
    if (this.leave) { location.assign(this.through.back); return; }
    const item = this.one && document.querySelector(`[data-code="${CSS.escape(this.one.code)}"] a`);
    (item ?? this.from)?.focus();
    item?.scrollIntoView({ block: "nearest" });
  }
}

addEventListener("popstate", () => room?.end());

/** Fill the screen from number `at` of what an element means. */
export function look(where, at, { code, from = document.activeElement, leave = false } = {}) {
  if (room) return;
  room = new Room(where.dataset.look, from, leave);
  room.open(at, code);
}
