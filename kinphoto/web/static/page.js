// What every page does once scripts run: forms are sent without leaving the page, parts that somebody else changed
// are brought up to date, and a line at the foot says what was done. Without scripts all of it works by loading pages.

import { WORDS } from "./words.js";

const status = document.getElementById("status");
const sent = new WeakMap(); // each live part as the server sent it, whatever scripts have done to it since
const typed = new WeakMap(); // when somebody last typed into each field, or chose in it
let silence = 0, pressed = null; // what is being pressed: a click is lost when that is replaced before it ends
let newest = changeOf(document); // the last change of the archive that is shown

for (const part of document.querySelectorAll("[data-live]")) sent.set(part, part.outerHTML);
document.addEventListener("pointerdown", (event) => { pressed = event.target; }, { capture: true });
document.addEventListener("click", () => { pressed = null; }, { capture: true });
for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, () => setTimeout(() => { pressed = null; }, 50));
document.addEventListener("input", (event) => typed.set(event.target, event.timeStamp), { capture: true });

/** Say something at the foot of the page for a while. */
export function tell(words, quietly = false) {
  status.textContent = words;
  status.classList.toggle("unseen", quietly); // it stands on the page already
  clearTimeout(silence);
  silence = setTimeout(() => { status.textContent = ""; }, 6000);
}

/** The number of the change of the archive as of which a page was made. */
function changeOf(page) { return Number.parseInt(page.body.dataset.change, 10); }

/** Put the parts of a freshly fetched page in the place of those shown. A part in which somebody is pressing waits until
 * that has ended, and one in which somebody is writing until that is sent; what is typed beside the form that was sent, and since, stays. Returns whether anything differed. */
function renew(text, address, sending) {
  const fresh = new DOMParser().parseFromString(text, "text/html");
  const change = changeOf(fresh);
  if (change < newest && !sending) return false; // made before something that is shown already
  newest = change;
  const focused = document.activeElement, form = sending?.form ?? null;
  let changed = false, waits = false;
  for (const part of document.querySelectorAll("[data-live]")) {
    const other = fresh.getElementById(part.id);
    if (!other || other.outerHTML === sent.get(part)) continue;
    const written = [...part.querySelectorAll("input, textarea, select")].filter((field) => dirty(field) && !isSent(field, sending));
    const busy = written.length || part.querySelector("[data-held]") || (pressed && part.contains(pressed));
    if (!part.contains(form) && busy) { waits = true; continue; }
    const next = document.importNode(other, true);
    sent.set(next, other.outerHTML);
    for (const field of written) {
      const twin = twinOf(field, next);
      if (!twin || field.type === "file") continue;
      [twin.value, twin.checked] = [field.value, field.checked];
      typed.set(twin, typed.get(field));
    }
    const open = [...part.querySelectorAll("details[open]")].filter((one) => !one.contains(form)).map(headed);
    for (const one of next.querySelectorAll("details")) one.open ||= open.includes(headed(one));
    part.replaceWith(next);
    changed = true;
  }
  if (address && address !== location.href) history.replaceState(null, "", address);
  document.title = fresh.title;
  if (!waits) document.body.dataset.change = fresh.body.dataset.change ?? "";
  document.dispatchEvent(new CustomEvent("renewed", { detail: fresh }));
  if (!focused.isConnected) twinOf(focused, document)?.focus({ preventScroll: true });
  return changed;
}

/** Whether something else stands in a field than what the page came with. */
function dirty(field) {
  if (field.type === "hidden" || !field.form) return false;
  if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
  if (field.options) return field.selectedIndex !== Math.max(0, [...field.options].findIndex((one) => one.defaultSelected));
  return field.value !== field.defaultValue;
}

/** Whether a field belongs to the form that was sent, and was not typed into since: the next face may be as old. */
function isSent(field, sending) {
  return field.form === sending?.form && !(typed.get(field) > sending.at);
}

function headed(details) { return details.querySelector("summary").textContent; }

/** The same field or button in a page that came later: of the same form, by its name. */
function twinOf(field, where) {
  if (field.id) return where.querySelector(`#${CSS.escape(field.id)}`);
  const form = field.form && [...where.querySelectorAll("form")].find((one) => called(one) === called(field.form));
  return [...(form?.elements ?? [])].find((one) => one.name === field.name && one.type === field.type);
}

/** What tells one form of a page from the others: where it goes, and what it says by itself. */
function called(form) {
  const hidden = [...form.querySelectorAll("input[type=hidden]:not([name=token])")];
  return form.id || [form.getAttribute("action"), ...hidden.map((field) => `${field.name}=${field.defaultValue}`)].join(" ");
}

/** Send a form and show what came of it. Resolves to the page that answered, or null when it was refused. */
export async function send(form, submitter, fields = new URLSearchParams(new FormData(form, submitter))) {
  const at = performance.now();
  forgive();
  const focused = document.activeElement;
  if (focused?.form === form) focused.blur(); // so that keys are the page's again
  const answer = await fetch(form.action, { method: "POST", body: fields, headers: { "X-Part": "1" } }).catch(() => null);
  if (toSignIn(answer)) { // nobody is signed in any more, and nothing was saved
    if (await signIn()) {
      fields.set("token", document.querySelector("input[name=token]").value);
      return send(form, submitter, fields); // as it was: the next may be typed already
    }
    tell(WORDS.signedOut);
    focused?.focus?.();
    return null;
  }
  const text = await answer?.text();
  if (!answer?.ok) {
    const shown = answer ? refuse(form, text) : tell(WORDS.noAnswerTyped);
    if (!shown && document.activeElement === document.body) focused?.focus?.();
    return null;
  }
  if (text.includes('class="card narrow asks-first"')) { form.submit(); return null; } // it is asked on a page of its own
  renew(text, form.dataset.stay === undefined ? answer.url : "", { form, at });
  return answer;
}

/** Whether an answer is the page on which one signs in. */
function toSignIn(answer) { return Boolean(answer?.redirected) && new URL(answer.url).pathname === "/sign-in"; }

/** Ask for the password over the page, on which everything stays as it was typed. Resolves to whether it was given. */
async function signIn() { return (await import("./signing.js")).signIn(); }

/** Say why a form was refused: beside the field it is about, with what may be meant, or at the foot of the page. */
function refuse(form, text) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const token = page.querySelector("input[name=token]")?.value; // of a new visit, where the last one has ended
  for (const one of token ? document.querySelectorAll("input[name=token]") : []) one.value = token;
  const words = [...page.querySelectorAll("[data-reason]")].map((part) => part.textContent.trim()).join(". ").replaceAll("..", ".");
  const field = form.elements[page.querySelector("[data-about]")?.dataset.about];
  const beside = field?.checkVisibility?.() ? field : null;
  if (beside) {
    const note = Object.assign(document.createElement("p"), { className: "problem red", id: "problem", textContent: words });
    for (const one of page.querySelectorAll("[data-suggests]")) {
      const button = Object.assign(document.createElement("button"), { type: "button", textContent: one.textContent });
      button.addEventListener("click", () => { beside.value = one.value; forgive(); beside.focus(); });
      note.append(" ", button);
    }
    (beside.closest("label") ?? beside).after(note);
    beside.setAttribute("aria-invalid", "true");
    beside.setAttribute("aria-describedby", "problem");
    beside.addEventListener("input", forgive, { once: true });
    beside.focus();
  }
  tell(words || text.trim(), Boolean(beside));
  return beside;
}

/** What was refused is being corrected, or was. */
function forgive() {
  document.getElementById("problem")?.remove();
  for (const field of document.querySelectorAll("[aria-describedby=problem]")) for (const name of ["aria-invalid", "aria-describedby"]) field.removeAttribute(name);
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-quick]") || event.defaultPrevented) return;
  event.preventDefault();
  const words = form.dataset.quick;
  if (await send(form, event.submitter)) tell(words || WORDS.saved);
});

// A form that leaves the page, where one can be signed out: what was typed into it would be lost. On `window`, so that
// whoever sends a form otherwise has said so before.
const known = new WeakSet(); // forms of which it is known that they may be sent
addEventListener("submit", async (event) => {
  const { target: form, submitter } = event;
  const leaves = form.method === "post" && !event.defaultPrevented && !form.matches("[action='/sign-out'], [action='/sign-in']");
  if (!leaves || known.has(form) || !document.querySelector("form[action='/sign-out']")) return;
  event.preventDefault();
  const answer = await fetch("/sign-in", { redirect: "manual" }).catch(() => null); // it sends on whoever is signed in
  if (answer?.ok && !(await signIn())) { tell(WORDS.signedOut); return; }
  known.add(form);
  form.requestSubmit(submitter);
  known.delete(form);
});

// A line of the evidence strip that is switched off or on: the same page without it, put in the place of this one.
document.addEventListener("click", async (event) => {
  const line = event.target.closest("a[data-switch]");
  if (!line || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const [address, which] = [line.getAttribute("href"), line.dataset.switch];
  const answer = await fetch(address).catch(() => null);
  if (!answer?.ok) { location.assign(address); return; }
  renew(await answer.text(), new URL(address, location.href).href);
  document.querySelector(`[data-switch="${CSS.escape(which)}"]`)?.focus({ preventScroll: true });
});

// A size of type or of pictures that is chosen is there at once; the browser remembers it for the pages that come.
document.addEventListener("click", async (event) => {
  const link = event.target.closest("a[data-view]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const answer = await fetch(link.href).catch(() => null);
  if (!answer?.ok) { location.assign(link.href); return; }
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  document.documentElement.className = fresh.documentElement.className;
  const [old, next] = [document, fresh].map((page) => [...page.querySelectorAll(".sizes")]);
  old.forEach((part, number) => { if (next[number]) part.replaceChildren(...document.importNode(next[number], true).childNodes); });
});

// The names of the boxes are fetched when one is to be typed: there can be hundreds.
document.addEventListener("focusin", async (event) => {
  const list = event.target.list;
  if (list?.id !== "boxes" || list.options.length) return;
  const answer = await fetch("/boxes/names").catch(() => null);
  if (!answer?.ok) return;
  list.replaceChildren(...(await answer.json()).map((name) => Object.assign(document.createElement("option"), { value: name })));
});

/** Whether keys typed now belong to a field and not to the page. */
export function typing(event) {
  return event.target.closest?.("input:not([type=checkbox], [type=radio]), textarea, select, [contenteditable]") !== null
    || event.ctrlKey || event.metaKey || event.altKey;
}

document.addEventListener("keydown", (event) => {
  if (typing(event) || event.defaultPrevented) return;
  if (event.key === " " && event.target.matches?.("[role=switch]")) {
    event.preventDefault();
    event.target.dispatchEvent(new MouseEvent("click", { bubbles: true, cancelable: true }));
    return;
  }
  if (event.key === "/") {
    const find = document.getElementById("find");
    if (!find.checkVisibility()) document.getElementById("menu").showPopover();
    find.focus();
    event.preventDefault();
    return;
  }
  const link = document.querySelector(`[data-key="${CSS.escape(event.key)}"]`);
  if (link) {
    event.preventDefault();
    link.click();
  }
});

/** Show the page as it is now, whatever changed. Returns whether anything did. What was just done is left for the page
 * that is opened next: a form of this page may be under way, or one of another window. */
export async function refresh() {
  const page = await fetch(location.href, { headers: { "X-Again": "1" } }).catch(() => null);
  return page !== null && page.ok && !toSignIn(page) && renew(await page.text(), "");
}

// Others may be at work on the same archive: ask now and then whether anything changed, and show it.
async function follow() {
  const seen = document.body.dataset.change;
  if (!seen || document.hidden) return;
  const answer = await fetch(`/pulse?after=${encodeURIComponent(seen)}`).catch(() => null);
  if (answer === null || answer.status !== 200) return;
  if ((await refresh()) && answer.headers.has("X-Elsewhere")) tell(WORDS.elsewhere);
}
setInterval(follow, 3000);
