// Somebody wants to look: what lets a photograph fill the screen is loaded then, and not with every page.
//
// An element with data-look says through what (the question of /look), data-look-start the number of its first
// photograph; its items have data-code. A link with data-look opens at data-look-at. Without scripts /look is a page.

import { typing } from "./page.js";

async function look(where, at, how) { (await import("./filling.js")).look(where, at, how); }

/** The item of a list at which to begin: the one with the focus, or else the first that is seen. */
function begun(list) {
  const items = [...list.querySelectorAll("[data-code]")];
  const focused = items.findIndex((item) => item.contains(document.activeElement));
  return focused >= 0 ? focused : Math.max(0, items.findIndex((item) => item.getBoundingClientRect().bottom > 80));
}

document.addEventListener("click", (event) => {
  if (event.ctrlKey || event.metaKey || event.shiftKey || event.defaultPrevented) return;
  const link = event.target.closest("a[href^='/look?']"), list = document.querySelector("[data-look-start]");
  if (!link) return;
  event.preventDefault();
  if (link.dataset.look !== undefined) look(link, Number(link.dataset.lookAt), { code: link.dataset.lookCode, from: link });
  else if (list) look(list, Number(list.dataset.lookStart) + begun(list), { from: link });
  else location.assign(link.href);
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "l" || typing(event) || event.defaultPrevented) return;
  const list = document.querySelector("[data-look-start]");
  if (!list || !list.contains(document.activeElement)) return; // else the link with that key is pressed
  event.preventDefault();
  event.stopImmediatePropagation();
  look(list, Number(list.dataset.lookStart) + begun(list));
}, { capture: true });

document.addEventListener("tapped", (event) => {
  const link = event.target.matches(".opens") && document.querySelector("a[data-look][data-key=l]");
  if (link) link.click();
});

const now = document.querySelector("[data-look-now]");
if (now) look(now, Number(now.dataset.lookNow), { leave: true });
