// The tiles of a scan in a layer over the whole picture, which shows through until they are there.

/** Tiles into `layer`, which covers the picture; `address` is that of their facts (…/tiles.json). */
export class Tiles {
  constructor(layer, address) {
    Object.assign(this, { layer, address, facts: null, asked: null });
  }

  /** Resolves to width, height, width of a tile, and levels; to null when the scan has none to give. Asks once. */
  fetch() {
    this.asked ??= fetch(this.address).then((answer) => (answer.ok ? answer.json() : null), () => null)
      .then((facts) => { this.facts = facts; return facts; });
    return this.asked;
  }

  /** Show a part of the picture, from left to right and top to lower in 0..1, all of it `pixels` wide on the screen. */
  draw(left, right, top, lower, pixels) {
    const { width, height, tile, levels } = this.facts;
    const level = Math.max(0, Math.min(levels - 1, Math.floor(Math.log2(width / pixels))));
    const span = tile * 2 ** level, view = new Set();
    const first = (part, length) => Math.floor((Math.max(0, part) * length) / span);
    const end = (part, length) => Math.ceil((Math.min(1, part) * length) / span);
    for (let row = first(top, height); row < end(lower, height); row++) {
      for (let column = first(left, width); column < end(right, width); column++) {
        const name = `${level}/${column}-${row}`;
        view.add([...this.layer.children].find((other) => other.name === name) ?? this.add(name, level, column, row));
      }
    }
    const tidy = () => {
      if ([...view].some((one) => !one.complete)) return;
      for (const one of [...this.layer.children]) if (!view.has(one)) one.remove();
    };
    for (const one of view) one.onload = one.onerror = tidy;
    tidy();
  }

  add(name, level, column, row) {
    const one = Object.assign(new Image(), { name, alt: "", draggable: false });
    const side = (at, length) => {
      const pixels = Math.min(this.facts.tile, Math.ceil(length / 2 ** level) - at * this.facts.tile);
      return [at * this.facts.tile, pixels].map((part) => `${(part * 2 ** level * 100) / length}%`);
    };
    [one.style.left, one.style.width] = side(column, this.facts.width);
    [one.style.top, one.style.height] = side(row, this.facts.height);
    one.src = this.address.replace(".json", `/${name}.jpg`);
    return this.layer.appendChild(one);
  }
}
