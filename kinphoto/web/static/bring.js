// Shows how far the work has got that was begun on this page, and the result when it is done.

async function watch() {
  const bar = document.querySelector("#far[data-running]");
  if (!bar) return;
  const answer = await fetch("/bring-in/progress").catch(() => null);
  if (answer?.ok) {
    const job = await answer.json();
    if (!job.running) { location.reload(); return; }
    if (job.total) { bar.max = job.total; bar.value = job.done; }
  }
  setTimeout(watch, 700);
}
watch();
