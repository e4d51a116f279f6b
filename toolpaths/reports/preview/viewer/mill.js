// Lowers a grid of heights by straight moves, each cell to the exact height over its centre.

class Mill {
  /** `grid`: rows, cols, x0, y0 (centre of the first cell), pitch. */
  constructor(grid) {
    Object.assign(this, grid);
  }

  /** Cells [r0, c0, r1, c1) that a move of a `Path` may lower, into `out`; false where there are none. */
  box({ start, end, reach: reaches }, i, out) {
    const { rows, cols, pitch } = this, reach = reaches[i], a = 3 * i;
    if (!(reach > 0)) return false;
    const x0 = start[a], y0 = start[a + 1], x1 = end[a], y1 = end[a + 1];
    out[0] = Math.max(0, Math.ceil((Math.min(y0, y1) - reach - this.y0) / pitch));
    out[1] = Math.max(0, Math.ceil((Math.min(x0, x1) - reach - this.x0) / pitch));
    out[2] = Math.min(rows, Math.floor((Math.max(y0, y1) + reach - this.y0) / pitch) + 1);
    out[3] = Math.min(cols, Math.floor((Math.max(x0, x1) + reach - this.x0) / pitch) + 1);
    return out[0] < out[2] && out[1] < out[3];
  }

  /** One `SweptMove`, where it comes below the top. `reach`: how far aside it does so at its lowest. */
  cut(heights, move, reach) {
    const { pitch, cols, rows } = this, { bit, x: x0, y: y0, endX: x1, endY: y1, ux, uy, run } = move;
    const first = Math.max(0, Math.ceil((Math.min(y0, y1) - reach - this.y0) / pitch));
    const last = Math.min(rows - 1, Math.floor((Math.max(y0, y1) + reach - this.y0) / pitch));
    const square = reach * reach, level = move.slope === 0, sideX = uy * reach, sideY = ux * reach;
    for (let row = first; row <= last; row++) {
      // What a disc passes over on its straight way is convex: one run of cells a row, between a disc's rim or a side.
      const y = this.y0 + row * pitch, dy0 = y - y0, dy1 = y - y1;
      let low = Infinity, high = -Infinity;
      const left0 = square - dy0 * dy0, left1 = square - dy1 * dy1;
      if (left0 >= 0) {
        const half = Math.sqrt(left0);
        (low = x0 - half), (high = x0 + half);
      }
      if (run > 0) {
        if (left1 >= 0) {
          const half = Math.sqrt(left1);
          (low = Math.min(low, x1 - half)), (high = Math.max(high, x1 + half));
        }
        if (uy !== 0) {
          for (let side = -1; side <= 1; side += 2) {
            const along = (dy0 - side * sideY) / uy;
            if (along >= 0 && along <= run) {
              const x = x0 + along * ux - side * sideX;
              (low = Math.min(low, x)), (high = Math.max(high, x));
            }
          }
        }
      }
      let col = Math.ceil((low - this.x0) / pitch), stop = Math.floor((high - this.x0) / pitch) + 1;
      if (col < 0) col = 0;
      if (stop > cols) stop = cols;
      if (!(col < stop)) continue;
      if (level && bit.isFlat) lowerLevel(heights, row * cols + col, row * cols + stop, move.z);
      else this._lowerRow(heights, move, y, row * cols, col, stop, level && uy === 0);
    }
  }

  /** `steady`: the middle of the row lies at one distance from a level move along it. */
  _lowerRow(heights, move, y, at, col, stop, steady) {
    const { x0, pitch } = this;
    if (steady && move.run > 0) {
      const from = Math.min(move.x, move.endX), to = Math.max(move.x, move.endX);
      const a = Math.max(col, Math.ceil((from - x0) / pitch)), b = Math.min(stop, Math.floor((to - x0) / pitch) + 1);
      if (a < b) {
        lowerLevel(heights, at + a, at + b, move.z + move.bit.profile(Math.abs(y - move.y)));
        this._lowerCells(heights, move, y, at, col, a);
        col = b;
      }
    }
    this._lowerCells(heights, move, y, at, col, stop);
  }

  _lowerCells(heights, move, y, at, col, stop) {
    const { x0, pitch } = this, { low } = move;
    for (; col < stop; col++) {
      if (heights[at + col] <= low) continue;
      const z = move.over(x0 + col * pitch, y);
      if (z < heights[at + col]) heights[at + col] = z;
    }
  }
}

function lowerLevel(heights, from, to, z) {
  for (let i = from; i < to; i++) if (heights[i] > z) heights[i] = z;
}
