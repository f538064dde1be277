// The shelf of boxes goes on as it is scrolled: the link to more boxes is followed when it is nearly seen.

const near = new IntersectionObserver((seen) => {
  for (const { isIntersecting, target } of seen) if (isIntersecting) { near.unobserve(target); more(target); }
}, { rootMargin: "900px" });

async function more(link) {
  const answer = await fetch(link.href).catch(() => null);
  if (!answer?.ok) return; // the link stays, to be pressed
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const [list, next] = [page.querySelector(".box-list"), page.querySelector(".more-boxes")];
  link.closest(".more-boxes").replaceWith(...[list, next].filter(Boolean).map((part) => document.importNode(part, true)));
  watch();
}

function watch() { document.querySelectorAll("a[data-more]").forEach((link) => near.observe(link)); }
watch();
