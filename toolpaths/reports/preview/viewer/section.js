// The wood sawn open along a line: heights along it, the cuts in it, and how wide they are from wall to wall.

const LEAST_CUT = 0.03;

class Section {
  /** From a to b, each [x, y] mm. */
  constructor(a, b) {
    Object.assign(this, { a, b, length: Math.hypot(b[0] - a[0], b[1] - a[1]) });
    this.s = this.wood = this.target = this.targetS = new Float64Array(0);
    this.cuts = [];
  }

  place(s) {
    const t = this.length ? s / this.length : 0;
    return [this.a[0] + (this.b[0] - this.a[0]) * t, this.a[1] + (this.b[1] - this.a[1]) * t];
  }

  /**
   * Looks along the line in even steps and at the distances in `crossed`, mm, where a bit's middle went over it: no cut
   * is too narrow to be seen. `height(x, y)`: of the wood, exact, NaN beside it; `target(x, y)`: of what was asked for.
   */
  look(count, height, crossed, target) {
    const even = Float64Array.from({ length: count + 1 }, (_, i) => (this.length * i) / count);
    const along = (s, f) => s.map(far => f(...this.place(far)));
    this.s = Float64Array.from([...even, ...crossed]).sort();
    this.wood = along(this.s, height);
    this._sharpen(height);
    // What was asked for does not change with time: it is looked up once.
    if (target && !this.target.length) {
      this.targetS = even;
      this.target = along(even, target);
    }
    this.cuts = this._cuts()
      .map(cut => ({ ...cut, ...this.chord(cut.lowest, (cut.rim + cut.floor) / 2, height) }))
      .filter(cut => cut.width > 0);
    return this;
  }

  /** Adds the lowest and highest places between samples: the bottom of a V, the crest between two passes of a ball. */
  _sharpen(height) {
    const { s, wood: z } = this,
      found = Array.from(s, (far, i) => [far, z[i]]);
    for (let i = 1; i + 1 < s.length; i++) {
      const low = z[i] <= z[i - 1] && z[i] <= z[i + 1],
        high = z[i] >= z[i - 1] && z[i] >= z[i + 1];
      if (low !== high && Math.max(Math.abs(z[i] - z[i - 1]), Math.abs(z[i] - z[i + 1])) > 1e-5)
        found.push(this._extreme(i, low ? 1 : -1, height));
    }
    found.sort((a, b) => a[0] - b[0]);
    this.s = Float64Array.from(found, f => f[0]);
    this.wood = Float64Array.from(found, f => f[1]);
  }

  /** The lowest (`sign` 1) or highest (-1) place around a sample: [distance, height]. The best so far is kept. */
  _extreme(i, sign, height) {
    let [from, best, to] = this.s.subarray(i - 1, i + 2),
      least = sign * this.wood[i];
    while (to - from > 1e-5) {
      const probe = to - best > best - from ? (best + to) / 2 : (from + best) / 2,
        z = sign * height(...this.place(probe)),
        [left, right] = probe < best ? [probe, best] : [best, probe],
        leftIsBest = z < least === probe < best;
      if (leftIsBest) to = right;
      else from = left;
      if (z < least) (best = probe), (least = z);
    }
    return [best, sign * least];
  }

  /** Hollows that would hold water: each with its rim, floor and deepest sample. */
  _cuts() {
    const z = this.wood,
      n = z.length,
      right = new Float64Array(n),
      out = [];
    for (let i = n - 1, most = -Infinity; i >= 0; i--)
      right[i] = most = Math.max(most, z[i] >= -1e9 ? z[i] : -Infinity);
    let open = null;
    for (let i = 0, most = -Infinity; i < n; i++) {
      most = Math.max(most, z[i] >= -1e9 ? z[i] : -Infinity);
      const rim = Math.min(most, right[i]);
      if (rim - z[i] > LEAST_CUT) {
        if (open && rim > open.rim - 1e-6 && rim < open.rim + 1e-6) {
          if (z[i] < open.floor) {
            open.floor = z[i];
            open.lowest = i;
          }
        } else out.push((open = { rim, floor: z[i], lowest: i }));
      } else open = null;
    }
    return out;
  }

  /** Wall to wall around a sample at a height: {from, to, width}, mm along the line. */
  chord(sample, level, height) {
    const z = this.wood,
      wall = step => {
        let i = sample;
        while (i + step >= 0 && i + step < z.length && !(z[i + step] >= level)) i += step;
        if (i + step < 0 || i + step >= z.length) return this.s[i];
        let open = this.s[i],
          shut = this.s[i + step];
        for (let round = 0; round < 24 && Math.abs(shut - open) > 1e-5; round++) {
          const middle = (open + shut) / 2;
          if (height(...this.place(middle)) >= level) shut = middle;
          else open = middle;
        }
        return (open + shut) / 2;
      };
    const from = wall(-1),
      to = wall(1);
    return { from, to, level, width: to - from };
  }

  /** The cut at a distance along the line, or the nearest within `reach` mm. */
  cutAt(s, reach) {
    let best = null,
      least = reach;
    for (const cut of this.cuts) {
      const far = Math.max(cut.from - s, s - cut.to, 0);
      if (far <= least) {
        least = far;
        best = cut;
      }
    }
    return best;
  }
}
