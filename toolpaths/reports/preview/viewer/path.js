// The moves that were read back, unpacked: in time order, those made before the setup's own first.

class Path {
  /** `data`: what `toolpaths/reports/preview/viewer_data.py` describes, its arrays unpacked. */
  constructor(data) {
    const total = data.bit.length, { earlier, quantum, top } = data, count = total - earlier;
    this.start = new Float64Array(3 * total);
    this.end = new Float64Array(3 * total);
    for (let axis = 0; axis < 3; axis++) {
      for (let i = axis, at = 0; i < 3 * total; i += 3) {
        this.start[i] = (at += data.start[i]) * quantum;
        this.end[i] = (at += data.run[i]) * quantum;
      }
    }
    this.shapes = data.bits.map(bit => new BitShape(bit));
    this.bit = data.bit;
    // How far from its line each move comes below the uncut top; 0 where it never does.
    this.reach = new Float64Array(total);
    this.low = new Float64Array(total);
    for (let i = 0; i < total; i++) {
      this.low[i] = Math.min(this.start[3 * i + 2], this.end[3 * i + 2]);
      const bit = this.shapes[data.bit[i]], inAir = i >= earlier && data.onBed[data.program[i - earlier]];
      if (bit && !inAir) this.reach[i] = bit.reachAt(top - this.low[i]);
    }
    Object.assign(this, { total, earlier, moves: this._own(data, count) });
  }

  /** Whether a move may come below the uncut top over a place: by the box of its reach. */
  mayReach(i, x, y) {
    const { start, end } = this, a = 3 * i, far = this.reach[i] + 1e-6;
    return x >= Math.min(start[a], end[a]) - far && x <= Math.max(start[a], end[a]) + far
      && y >= Math.min(start[a + 1], end[a + 1]) - far && y <= Math.max(start[a + 1], end[a + 1]) + far;
  }

  /** A fraction of a move, into a `SweptMove`. */
  sweep(i, fraction, into) {
    const { start, end } = this, a = 3 * i, f = fraction;
    const x = start[a], y = start[a + 1], z = start[a + 2], toX = end[a], toY = end[a + 1], toZ = end[a + 2];
    const bit = this.shapes[this.bit[i]];
    return f >= 1 ? into.set(bit, x, y, z, toX, toY, toZ)
      : into.set(bit, x, y, z, x + (toX - x) * f, y + (toY - y) * f, z + (toZ - z) * f);
  }

  /** The setup's own moves, numbered from 0; `seconds` as they have passed when each is done. */
  _own(data, count) {
    const seconds = new Float64Array(count), line = new Uint32Array(count);
    for (let i = 0, time = 0, at = 0; i < count; i++) {
      seconds[i] = time += data.seconds[i];
      line[i] = at += data.line[i];
    }
    const { kind, program, feature, programs, features, earlier } = data;
    return {
      count, seconds, line, kind, program, feature, programs, features,
      start: this.start.subarray(3 * earlier), end: this.end.subarray(3 * earlier),
      bit: data.bit.subarray(earlier), bits: this.shapes,
    };
  }
}
