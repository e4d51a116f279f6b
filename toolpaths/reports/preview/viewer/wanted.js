// What was asked for: the target's surface, and how low and how high the wood may be, by the judge's own rules.

/** Whether a place lies in a region: inside an odd number of its rings. A ring is x, y, x, y, ... */
function within(region, x, y) {
  const [x0, y0, x1, y1] = region.box;
  if (x < x0 || x > x1 || y < y0 || y > y1) return false;
  let inside = false;
  for (const ring of region.rings) {
    for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
      const ya = ring[i + 1],
        yb = ring[j + 1];
      if (ya > y !== yb > y && x < ring[i] + ((ring[j] - ring[i]) * (y - ya)) / (yb - ya)) inside = !inside;
    }
  }
  return inside;
}

/** Calls visit(first cell, cell past the last, y) for every run of cells of a grid whose centres lie in a region. */
function eachRun(region, grid, visit) {
  const [, low, , high] = region.box,
    { rows, cols, x0, y0, pitch } = grid;
  const first = Math.max(0, Math.ceil((low - y0) / pitch)),
    last = Math.min(rows - 1, Math.floor((high - y0) / pitch));
  const crossings = [];
  for (let row = first; row <= last; row++) crossings.push([]);
  for (const ring of region.rings) {
    for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
      const ya = (ring[i + 1] - y0) / pitch,
        yb = (ring[j + 1] - y0) / pitch;
      const from = Math.max(first, Math.ceil(Math.min(ya, yb))),
        to = Math.min(last, Math.ceil(Math.max(ya, yb)) - 1);
      for (let row = from; row <= to; row++) {
        crossings[row - first].push((ring[i] + ((ring[j] - ring[i]) * (row - ya)) / (yb - ya) - x0) / pitch);
      }
    }
  }
  crossings.forEach((at, n) => {
    at.sort((a, b) => a - b);
    const base = (first + n) * cols;
    for (let i = 0; i + 1 < at.length; i += 2) {
      const from = Math.max(0, Math.ceil(at[i])),
        to = Math.min(cols, Math.ceil(at[i + 1]));
      if (to > from) visit(base + from, base + to, y0 + (first + n) * pitch);
    }
  });
}

class Wanted {
  constructor(data) {
    Object.assign(this, { top: data.top, tooDeep: data.tooDeep, left: data.left, tolerance: data.tolerance });
    let at = 0;
    const region = sizes => {
      const box = [Infinity, Infinity, -Infinity, -Infinity];
      const rings = sizes.map(size => {
        const ring = data.points.subarray(at, (at += 2 * size));
        for (let i = 0; i < ring.length; i += 2) {
          box[0] = Math.min(box[0], ring[i]);
          box[2] = Math.max(box[2], ring[i]);
          box[1] = Math.min(box[1], ring[i + 1]);
          box[3] = Math.max(box[3], ring[i + 1]);
        }
        return ring;
      });
      return { rings, box };
    };
    this.demands = data.demands.map(d => ({
      ...d,
      floor: floorOf(d.floor),
      asked: region(d.asked),
      may: region(d.may),
      must: region(d.must),
    }));
  }

  /** The target at a place: its height above the bed, and the demand that decides it (null where nothing is asked). */
  at(x, y) {
    let height = this.top,
      demand = null;
    for (const d of this.demands) {
      if (!d.wanted || !within(d.asked, x, y)) continue;
      const z = d.floor.height(x, y);
      if (z < height || demand === null) {
        height = Math.min(height, z);
        demand = d;
      }
    }
    return { height, demand };
  }

  /** The demand that allows cutting deepest at a place, asked for or not; null where nothing may be cut. */
  allowing(x, y) {
    let least = Infinity,
      demand = null;
    for (const d of this.demands) {
      if (!within(d.may, x, y)) continue;
      const z = d.floor.height(x, y);
      if (z < least) {
        least = z;
        demand = d;
      }
    }
    return demand;
  }

  /** The target over a grid. */
  target(grid) {
    const out = new Float32Array(grid.rows * grid.cols).fill(this.top);
    for (const d of this.demands) if (d.wanted) lower(out, grid, d.asked, d.floor, () => 0);
    return out;
  }

  /** Least and greatest allowed heights over a grid. */
  bounds(grid) {
    const size = grid.rows * grid.cols,
      { tolerance, tooDeep, left } = this;
    const low = new Float32Array(size).fill(this.top - tooDeep),
      high = new Float32Array(size).fill(Infinity);
    for (const d of this.demands) {
      const f = d.floor;
      lower(low, grid, d.may, f, (x, y) => -d.reach - tooDeep - tolerance * f.slope(x, y));
      lower(high, grid, d.must, f, (x, y) => left + d.scallop + tolerance * f.slope(x, y));
    }
    return { low, high };
  }
}

/** Lowers an array over a grid to a floor, and what is added to it, within a region. */
function lower(out, grid, region, floor, more) {
  eachRun(region, grid, (from, to, y) => {
    if (floor.level !== undefined) {
      const z = floor.level + more(0, y);
      for (let i = from; i < to; i++) if (out[i] > z) out[i] = z;
      return;
    }
    const start = grid.x0 - (from - (from % grid.cols)) * grid.pitch;
    for (let i = from; i < to; i++) {
      const x = start + i * grid.pitch,
        z = floor.height(x, y) + more(x, y);
      if (out[i] > z) out[i] = z;
    }
  });
}
