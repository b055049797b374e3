// Pictures kept as mosaics: which tile of some sheets is in each cell of each of them.

const NO_TILE = -1;

export class Mosaics {
  // `steps` has for each cell, row after row, how far it is to its tile from that of the cell before, in all pictures;
  // `sheets` are pictures themselves, decoded.
  constructor(grid, steps, sheets, brush) {
    Object.assign(this, {grid, steps, sheets, brush});
    this.drawn = new Int32Array(steps.length / grid.pictures).fill(NO_TILE);
    brush.canvas.addEventListener("contextrestored", () => this.drawn.fill(NO_TILE));  // a canvas that was lost is empty
  }

  // Draw a picture over the one before: the tiles in which it differs.
  draw(picture) {
    const {grid: {tile, across, columns, pictures}, steps, sheets, brush, drawn} = this, full = across * across;
    for (let cell = 0, number = 0; cell < drawn.length; cell++) {
      number += steps[cell * pictures + picture];
      if (number === drawn[cell]) { continue; }
      drawn[cell] = number;
      const place = number % full;
      brush.drawImage(
        sheets[Math.floor(number / full)],
        tile * (place % across), tile * Math.floor(place / across), tile, tile,
        tile * (cell % columns), tile * Math.floor(cell / columns), tile, tile,
      );
    }
  }
}
