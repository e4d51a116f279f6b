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

  /** Where the middles of a path's moves, up to the `last`, cross a line from a to b: parts of the line, in no order. */
  crossings(a, b, { start, end }, last) {
    const dx = b[0] - a[0], dy = b[1] - a[1], steps = Math.ceil((2 * Math.hypot(dx, dy)) / this.size), near = new Set();
    for (let i = 0; i <= steps; i++) {
      const square = this.square(a[0] + (dx * i) / steps, a[1] + (dy * i) / steps);
      for (let k = this.first[square]; k < this.first[square + 1] && this.moves[k] <= last; k++) near.add(this.moves[k]);
    }
    const out = [];
    for (const i of near) {
      const px = start[3 * i] - a[0], py = start[3 * i + 1] - a[1];
      const ux = end[3 * i] - start[3 * i], uy = end[3 * i + 1] - start[3 * i + 1], across = dx * uy - dy * ux;
      const part = (px * uy - py * ux) / across, along = (px * dy - py * dx) / across;
      if (part > 0 && part < 1 && along >= 0 && along <= 1) out.push(part);
    }
    return out;
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
