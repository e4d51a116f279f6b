// Which moves may have cut at a place: squares of the blank, each with the moves that reach into it, in order.

class Nearby {
  /** `box`: x0, y0, x1, y1 of the blank; `path`: `Path`. */
  constructor(box, path) {
    const size = Math.max(1, Math.sqrt(((box[2] - box[0]) * (box[3] - box[1])) / 8000));
    const cols = Math.max(1, Math.ceil((box[2] - box[0]) / size));
    const rows = Math.max(1, Math.ceil((box[3] - box[1]) / size));
    Object.assign(this, { x0: box[0], y0: box[1], size, cols, rows });
    this.first = new Uint32Array(rows * cols + 1);
    this._each(path, square => this.first[square + 1]++);
    for (let i = 0; i < rows * cols; i++) this.first[i + 1] += this.first[i];
    this.moves = new Uint32Array(this.first[rows * cols]);
    const next = this.first.slice();
    this._each(path, (square, move) => (this.moves[next[square]++] = move));
  }

  /** The square over a place. */
  square(x, y) {
    const col = Math.min(this.cols - 1, Math.max(0, Math.floor((x - this.x0) / this.size)));
    return Math.min(this.rows - 1, Math.max(0, Math.floor((y - this.y0) / this.size))) * this.cols + col;
  }

  _each({ start, end, reach, total }, act) {
    const { size, cols, rows } = this, corner = size * Math.SQRT1_2 + 1e-6;
    for (let i = 0; i < total; i++) {
      if (!(reach[i] > 0)) continue;
      const ax = start[3 * i] - this.x0, ay = start[3 * i + 1] - this.y0;
      const bx = end[3 * i] - this.x0, by = end[3 * i + 1] - this.y0;
      const far = reach[i] + 1e-6, dx = bx - ax, dy = by - ay, run = Math.sqrt(dx * dx + dy * dy);
      const c0 = Math.max(0, Math.floor((Math.min(ax, bx) - far) / size));
      const r0 = Math.max(0, Math.floor((Math.min(ay, by) - far) / size));
      const c1 = Math.min(cols - 1, Math.floor((Math.max(ax, bx) + far) / size));
      const r1 = Math.min(rows - 1, Math.floor((Math.max(ay, by) + far) / size));
      const slanted = dx !== 0 && dy !== 0 && run > size;
      for (let row = r0; row <= r1; row++) {
        for (let col = c0; col <= c1; col++) {
          if (slanted) {
            const x = (col + 0.5) * size - ax, y = (row + 0.5) * size - ay;
            if (Math.abs(x * dy - y * dx) > (far + corner) * run) continue;
          }
          act(row * cols + col, i);
        }
      }
    }
  }
}
