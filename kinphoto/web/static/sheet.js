// The contact sheet: says how many are ticked and in which order, and ticks a whole row with Shift.

const sheet = document.getElementById("sheet");
const count = document.getElementById("how-many");
let last = null;

function ticked() { return [...sheet.querySelectorAll("[name=photograph]:checked")]; }

sheet?.addEventListener("click", (event) => {
  const box = event.target.closest("[name=photograph]");
  if (!box) return;
  const all = [...sheet.querySelectorAll("[name=photograph]")];
  if (event.shiftKey && last) {
    const [from, to] = [all.indexOf(last), all.indexOf(box)].sort((a, b) => a - b);
    for (const other of all.slice(from, to + 1)) other.checked = box.checked;
  }
  last = box;
  const codes = ticked().map((one) => one.value);
  count.closest("fieldset").classList.toggle("some", codes.length > 0);
  count.textContent = codes.length === 0 ? "Tick photographs to group them or to move them."
    : `${codes.length} ticked: ${codes.slice(0, 6).join(", ")}${codes.length > 6 ? " …" : ""}`;
});
