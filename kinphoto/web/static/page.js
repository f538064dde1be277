// What every page does once scripts run: forms are sent without leaving the page, parts that somebody else changed
// are brought up to date, and a line at the foot says what was done. Without scripts all of it works by loading pages.

const told = document.getElementById("told");
const sent = new WeakMap(); // each live part as the server sent it, whatever scripts have done to it since
let silence = 0;

for (const part of document.querySelectorAll("[data-live]")) sent.set(part, part.outerHTML);

/** Say something at the foot of the page for a while. */
export function tell(words) {
  told.textContent = words;
  clearTimeout(silence);
  silence = setTimeout(() => { told.textContent = ""; }, 6000);
}

/** Put the parts of a freshly fetched page in the place of those shown. Returns whether anything differed. */
export function renew(text, address) {
  const fresh = new DOMParser().parseFromString(text, "text/html");
  let changed = false;
  for (const part of document.querySelectorAll("[data-live]")) {
    const other = fresh.getElementById(part.id);
    if (!other || other.outerHTML === sent.get(part) || busy(part)) continue;
    const now = document.importNode(other, true);
    sent.set(now, other.outerHTML);
    part.replaceWith(now);
    changed = true;
  }
  if (address && address !== location.href) history.replaceState(null, "", address);
  document.title = fresh.title;
  document.body.dataset.change = fresh.body.dataset.change ?? "";
  document.dispatchEvent(new CustomEvent("renewed", { detail: fresh }));
  return changed;
}

/** Whether something is being typed into a part of the page. */
function busy(part) {
  const field = document.activeElement;
  return part.contains(field) && field.matches("input, textarea") && field.value !== field.defaultValue;
}

/** Send a form and show what came of it. Resolves to the page that answered, or null when it was refused. */
export async function send(form, submitter) {
  const fields = new URLSearchParams(new FormData(form, submitter));
  const answer = await fetch(form.action, { method: "POST", body: fields, headers: { "X-Part": "1" } }).catch(() => null);
  if (answer === null) {
    tell("The pages do not answer. Is kinphoto still running? What you typed is still here.");
    return null;
  }
  const text = await answer.text();
  if (!answer.ok) {
    const page = new DOMParser().parseFromString(text, "text/html");
    const words = [...page.querySelectorAll("main h1, main p:not(:last-child)")].map((e) => e.textContent.trim());
    tell(words.join(". ").replaceAll("..", ".") || text.trim());
    return null;
  }
  document.activeElement?.blur?.();
  renew(text, form.dataset.stay === undefined ? answer.url : "");
  return answer;
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-quick]") || event.defaultPrevented) return;
  event.preventDefault();
  const words = form.dataset.quick;
  if (await send(form, event.submitter)) tell(words || "Saved.");
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
  if (event.key === "/") {
    document.getElementById("find").focus();
    event.preventDefault();
    return;
  }
  const link = document.querySelector(`[data-key="${CSS.escape(event.key)}"]`);
  if (link) {
    event.preventDefault();
    link.click();
  }
});

// Others may be at work on the same archive: ask now and then whether anything changed, and show it.
async function follow() {
  const seen = document.body.dataset.change;
  if (!seen || document.hidden) return;
  const answer = await fetch(`/pulse?after=${encodeURIComponent(seen)}`).catch(() => null);
  if (answer === null || answer.status !== 200) return;
  const page = await fetch(location.href).catch(() => null);
  if (page !== null && page.ok && renew(await page.text(), "")) tell("Brought up to date: something was changed elsewhere.");
}
setInterval(follow, 3000);
