// The wood at any moment of the cut: exact at a place, and as a grid of heights that moves with time.
//
// A moment is a move's number and the fraction of it that is made; all moves before it are made whole.
// On its way through time the grid is kept now and then, in tiles, so that any moment is a little work from one of these.

/** About so many cells' worth of work lie between two keepings; more where that would come to too many. */
const KEEP_EVERY = 400_000, MOST_KEPT = 64;
const TILE = 32;
/** Cells' worth of work between two looks at the clock. */
const LOOK_EVERY = 20_000;

class Cutting {
  /** `data`: the setup's `replay`, its arrays unpacked. Nothing is cut yet: see `prepare`. */
  constructor(data) {
    this.path = new Path(data);
    this.moves = this.path.moves;
    this.top = data.top, this.stock = data.box;
    Object.assign(this, data.grid);
    this.mill = new Mill(data.grid);
    this.tileCols = Math.ceil(this.cols / TILE), this.tileRows = Math.ceil(this.rows / TILE);
    this.heights = new Float32Array(this.rows * this.cols).fill(data.top);
    this.at = { move: 0, fraction: 0 };
    this.dirty = null;
    this.swept = new SweptMove();
    this.cells = new Int32Array(4);
    this.touched = new Uint8Array(this.tileRows * this.tileCols);
    this._count(); // how much work there is
    const uncut = Array.from(this.touched, (_, n) => this._tile(this.heights, n));
    this.kept = [{ move: 0, work: 0, tiles: uncut }];
    this.front = { heights: this.heights.slice(), move: 0 };
    setTimeout(() => this._idle());
  }

  /** The radius of the bit that makes a move, mm; 0 where none is known. */
  radiusOf(move) {
    return this.path.shapes[this.moves.bit[move]]?.radius ?? 0;
  }

  /** The exact height of the wood, mm above the bed, at a place and a moment; NaN beside the blank. */
  heightAt(x, y, move, fraction = 1) {
    const [x0, y0, x1, y1] = this.stock, { path, swept } = this, now = move + path.earlier;
    if (!(x >= x0 && x <= x1 && y >= y0 && y <= y1)) return NaN;
    const { first, moves } = this._near, square = this.nearby.square(x, y);
    // Latest first: later passes mostly go deeper, and what lies above them need not be worked out.
    let last = first[square], after = first[square + 1];
    while (last < after) {
      const middle = (last + after) >> 1;
      if (moves[middle] <= now) last = middle + 1;
      else after = middle;
    }
    let height = this.top;
    for (let k = last - 1; k >= first[square]; k--) {
      const i = moves[k];
      if (path.low[i] >= height || !path.mayReach(i, x, y)) continue;
      const f = i < now ? 1 : fraction;
      if (!(f > 0)) continue;
      height = Math.min(height, path.sweep(i, f, swept).over(x, y));
    }
    return height;
  }

  /** Where moves up to one cross a line from a to b, each [x, y]: parts of the line. */
  crossings(a, b, move) {
    return this._near.crossings(a, b, this.path, move + this.path.earlier);
  }

  get _near() {
    return (this.nearby ??= new Nearby(this.stock, this.path));
  }

  /**
   * Brings `heights` to a moment; `dirty` is then the cells [r0, c0, r1, c1) that may have changed, or null.
   * Until all has been worked ahead a long way may take longer than a frame. With `milliseconds` it stops about then,
   * on its way, and is false: the same call again goes on from there.
   */
  seek(move, fraction = 1, milliseconds = Infinity) {
    this.dirty = null;
    if (!this.path.total) return true;
    const late = performance.now() + milliseconds, { at: from, work } = this;
    const target = this._moment(move + this.path.earlier, fraction);
    const back = target.move < from.move || (target.move === from.move && target.fraction < from.fraction);
    this.dirty = this._between(back ? target : from, back ? from : target);
    if (!this.dirty) return (this.at = target), true;
    const kept = this._keptBefore(target.move), ahead = this.front && this.front.move <= target.move ? this.front.move : -1;
    const best = Math.max(kept.move, ahead), copying = 60_000;
    if (back || work[from.move] + copying < work[best]) {
      if (ahead > kept.move) this.heights.set(this.front.heights);
      else this._restore(kept, this.dirty);
      this.at = { move: best, fraction: 0 };
    }
    // Past the last keeping the way there is kept too, so that nothing is cut twice.
    if (this.front && target.move > this.front.move && this.at.move <= this.front.move) {
      this._forward(target.move, late);
      this.heights.set(this.front.heights);
      this.at = { move: this.front.move, fraction: 0 };
      if (this.at.move < target.move) {
        if (back) this.dirty = this._between(this.at, from);
        return false;
      }
    }
    for (let i = this.at.move; i < target.move; i++) this._cut(this.heights, i, 1);
    if (target.fraction > 0) this._cut(this.heights, target.move, target.fraction);
    this.at = target;
    return true;
  }

  /** Works ahead for so many milliseconds, so that later jumps are short; true once all is done. */
  prepare(milliseconds = 6) {
    if (this.front) {
      this._forward(this.path.total, performance.now() + milliseconds);
      if (this.front.move === this.path.total) this.front = null;
    } else this._near;
    return Boolean(this.nearby);
  }

  _idle() {
    if (!this.prepare()) setTimeout(() => this._idle());
  }

  // Moments

  /** Within the moves there are; a move that is made whole is the next one, not begun. */
  _moment(move, fraction) {
    const { total } = this.path, whole = fraction >= 1;
    if (move < 0) return { move: 0, fraction: 0 };
    return move >= total || (move === total - 1 && whole) ? { move: total, fraction: 0 }
      : whole ? { move: move + 1, fraction: 0 } : { move, fraction: Math.max(0, fraction) };
  }

  /** The box of all cells that what is made between two moments may lower, or null. */
  _between(early, late) {
    const { path, mill, cells } = this, stop = Math.min(path.total, late.move + (late.fraction > 0 ? 1 : 0));
    let r0 = Infinity, c0 = Infinity, r1 = 0, c1 = 0;
    for (let i = early.move; i < stop; i++) {
      if (!mill.box(path, i, cells)) continue;
      (r0 = Math.min(r0, cells[0])), (c0 = Math.min(c0, cells[1]));
      (r1 = Math.max(r1, cells[2])), (c1 = Math.max(c1, cells[3]));
    }
    return r0 < r1 && c0 < c1 ? [r0, c0, r1, c1] : null;
  }

  // Work

  _cut(heights, i, fraction) {
    const { path, mill, swept } = this;
    if (path.reach[i] > 0) mill.cut(heights, path.sweep(i, fraction, swept), path.reach[i]);
  }

  /** `work`: cells' worth of work before each move: a level cut of a flat bit is one a cell, others cost more. */
  _count() {
    const { path, pitch } = this, { start, end, reach, bit, shapes, total } = path;
    this.work = new Float64Array(total + 1);
    for (let i = 0, sum = 0; i < total; i++) {
      if (reach[i] > 0) {
        const a = 3 * i, dx = end[a] - start[a], dy = end[a + 1] - start[a + 1], run = Math.sqrt(dx * dx + dy * dy);
        const area = (2 * reach[i] * run + Math.PI * reach[i] ** 2) / pitch ** 2;
        const rows = (2 * reach[i] + Math.abs(dy)) / pitch;
        const level = start[a + 2] === end[a + 2] || run < NO_RUN;
        const each = level && shapes[bit[i]].isFlat ? 1 : level && dy === 0 ? 2 : 10;
        sum += area * each + 20 * rows + 60;
      }
      this.work[i + 1] = sum;
    }
    this.every = Math.max(KEEP_EVERY, this.work[total] / MOST_KEPT);
  }

  /** The front goes on to a move, or until it is so late; it is kept on the way, and done with at the end. */
  _forward(to, late) {
    const { front, work, path, mill, cells, touched, tileCols } = this;
    for (let look = work[front.move]; front.move < to; ) {
      this._cut(front.heights, front.move, 1);
      if (mill.box(path, front.move, cells)) {
        for (let r = Math.floor(cells[0] / TILE); r * TILE < cells[2]; r++) {
          for (let c = Math.floor(cells[1] / TILE); c * TILE < cells[3]; c++) touched[r * tileCols + c] = 1;
        }
      }
      front.move++;
      if (work[front.move] - this.kept[this.kept.length - 1].work >= this.every || front.move === path.total) this._keep();
      if (work[front.move] > look) {
        if (performance.now() > late) break;
        look = work[front.move] + LOOK_EVERY;
      }
    }
  }

  // What is kept

  _keep() {
    const { front, touched, kept } = this, before = kept[kept.length - 1].tiles;
    const tiles = before.map((tile, n) => (touched[n] ? this._tile(front.heights, n) : tile));
    touched.fill(0);
    kept.push({ move: front.move, work: this.work[front.move], tiles });
  }

  _keptBefore(move) {
    let low = 0, high = this.kept.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (this.kept[middle].move <= move) low = middle;
      else high = middle - 1;
    }
    return this.kept[low];
  }

  /** A tile's heights; tiles that nothing has touched are shared. */
  _tile(heights, n) {
    const { cols, rows, tileCols } = this, r0 = Math.floor(n / tileCols) * TILE, c0 = (n % tileCols) * TILE;
    const high = Math.min(TILE, rows - r0), wide = Math.min(TILE, cols - c0), out = new Float32Array(high * wide);
    for (let r = 0; r < high; r++) out.set(heights.subarray((r0 + r) * cols + c0, (r0 + r) * cols + c0 + wide), r * wide);
    return out;
  }

  /** Puts back what was kept: within a box of cells, or everywhere. */
  _restore({ tiles }, box) {
    const { heights, cols, rows, tileCols } = this, [r0, c0, r1, c1] = box ?? [0, 0, rows, cols];
    for (let tr = Math.floor(r0 / TILE); tr * TILE < r1; tr++) {
      for (let tc = Math.floor(c0 / TILE); tc * TILE < c1; tc++) {
        const tile = tiles[tr * tileCols + tc], wide = Math.min(TILE, cols - tc * TILE), high = tile.length / wide;
        const at = tr * TILE * cols + tc * TILE;
        for (let r = 0; r < high; r++) heights.set(tile.subarray(r * wide, (r + 1) * wide), at + r * cols);
      }
    }
  }
}
