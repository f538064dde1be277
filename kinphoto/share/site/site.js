// Looking at photographs one after another: arrow keys turn the page, a click or F shows the picture on the full screen.
"use strict";
addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || /INPUT|TEXTAREA/.test(event.target.tagName)) return;
  const turn = { ArrowLeft: "before", ArrowRight: "after" }[event.key];
  const link = turn && document.querySelector(`[data-turn=${turn}]`);
  if (link) location.href = link.href;
  if (event.key === "f") show(document.querySelector("[data-full]"));
});
document.querySelector("[data-full]")?.addEventListener("click", (event) => {
  if (event.ctrlKey || event.metaKey || event.shiftKey || !document.fullscreenEnabled) return;
  event.preventDefault();
  show(event.currentTarget);
});
function show(link) {
  const picture = link?.querySelector("img");
  if (!picture) return;
  if (document.fullscreenElement) document.exitFullscreen();
  else picture.requestFullscreen?.();
}
