// What is drawn over a picture and dragged on it, by mouse or finger.

const NS = "http://www.w3.org/2000/svg";

/** A new part of a drawing. */
export function make(name, parent, attributes, text = "") {
  const element = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.textContent = text;
  parent.append(element);
  return element;
}

/** Let parts of a drawing be dragged. `begin` is called with the part that is pressed; what it returns, if anything, is
 * called with where the press began and where it is, until it ends. */
export function dragging(drawing, begin) {
  const point = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
  drawing.addEventListener("pointerdown", (event) => {
    const drag = begin(event.target);
    if (!drag) return;
    event.preventDefault();
    drawing.setPointerCapture(event.pointerId);
    const from = point(event), move = (now) => drag(from, point(now));
    drawing.addEventListener("pointermove", move);
    for (const end of ["pointerup", "pointercancel"]) {
      drawing.addEventListener(end, () => drawing.removeEventListener("pointermove", move), { once: true });
    }
  });
}
