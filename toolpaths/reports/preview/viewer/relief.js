// A grid of heights as relief: each pixel takes the lowest height under it, so that no line vanishes; the colour is
// that of the legend wherever the part is level, waste is paler, and slopes are lit from the upper left.

const BELOW = 4096;
/** Heights of neighbouring cells that differ by more are a wall's, mm. */
const STEEP = 0.04;
const LEFT_MARK = 1,
  DEEP_MARK = 2;

/** Colours of heights, as the canvas stores pixels. `table`: 256 colours from the face to the deepest. */
class Palette {
  constructor(table, face, rules) {
    Object.assign(this, { face, through: rules.through, above: face + rules.above });
    this.steps = new Uint32Array(BELOW + 1);
    for (let i = 0; i <= BELOW; i++) {
      const at = 3 * Math.round(Math.sqrt(i / BELOW) * 255);
      this.steps[i] = pixel(table[at], table[at + 1], table[at + 2]);
    }
    this.perMm = BELOW / Math.max(face, 1e-6);
    this.aboveColour = pixel(...rules.aboveColour);
    this.paper = pixel(...rules.paper);
    this.stroke = pixel(...rules.stroke);
    this.rim = pixel(...rules.rim);
    this.left = pixel(...rules.leftColour);
    this.deep = pixel(...rules.deepColour);
  }

  /** Colour of a depth below the face, for a legend: CSS. */
  css(depth) {
    const c = this.steps[Math.min(BELOW, Math.max(0, Math.round(depth * this.perMm)))];
    return `rgb(${c & 255} ${(c >> 8) & 255} ${(c >> 16) & 255})`;
  }
}

function pixel(r, g, b) {
  return ((255 << 24) | (b << 16) | (g << 8) | r) >>> 0;
}

/** A colour as it looks in waste: faded toward grey. */
function paled(colour) {
  const faded = (v, grey) => v + (grey - v) * 0.7;
  return pixel(faded(colour & 255, 222), faded((colour >> 8) & 255, 224), faded((colour >> 16) & 255, 226));
}

/** Where the part lies in an image: a byte in four of what is drawn, 255 within. Null where nothing is waste. */
function partMask(parts, view, width, height) {
  if (!parts.length) return null;
  const canvas = Object.assign(document.createElement("canvas"), { width, height }),
    ctx = canvas.getContext("2d", { willReadFrequently: true }),
    ratio = width / view.width;
  ctx.scale(ratio, ratio);
  for (const part of parts) {
    ctx.beginPath();
    for (const place of part) ctx.lineTo(...view.toScreen(...place));
    ctx.fill();
  }
  return ctx.getImageData(0, 0, width, height).data;
}

/** The same heights ever coarser, by the lowest of four, and marks beside them (a byte a cell) by "any of four". */
class Relief {
  /** `open`: for each cell the height up to which nothing stands there, where the other side was cut; it shows as 0. */
  constructor(grid, open = null) {
    Object.assign(this, { grid, open, bounds: null });
    const heights = open ? new Float32Array(grid.heights) : grid.heights;
    this.levels = [{ rows: grid.rows, cols: grid.cols, heights, marks: null }];
    for (let { rows, cols } = grid; rows > 1 && cols > 1 && this.levels.length < 6;) {
      rows = (rows + 1) >> 1;
      cols = (cols + 1) >> 1;
      this.levels.push({ rows, cols, heights: new Float32Array(rows * cols), marks: null });
    }
    this.refresh();
  }

  /** Takes up what changed in a box of cells [r0, c0, r1, c1), or everything. */
  refresh(box = null) {
    const fine = this.levels[0];
    let [r0, c0, r1, c1] = box ?? [0, 0, fine.rows, fine.cols];
    if (this.bounds) this._mark(fine, this.bounds, r0, c0, r1, c1);
    if (this.open) this._see(fine, r0, c0, r1, c1);
    for (let n = 1; n < this.levels.length; n++) {
      r0 >>= 1;
      c0 >>= 1;
      r1 = (r1 + 1) >> 1;
      c1 = (c1 + 1) >> 1;
      this._coarser(this.levels[n - 1], this.levels[n], r0, c0, r1, c1);
    }
  }

  /** Marks where wood is left or cut too deep. `bounds`: {low, high}; kept only where the heights will change. */
  mark(bounds, keep) {
    for (const level of this.levels) level.marks = new Uint8Array(level.rows * level.cols);
    this.bounds = bounds;
    this.refresh();
    if (!keep) this.bounds = null;
  }

  get isMarked() {
    return this.levels[0].marks !== null;
  }

  _see({ cols, heights }, r0, c0, r1, c1) {
    const { open, grid } = this;
    for (let r = r0; r < r1; r++) {
      for (let i = r * cols + c0, end = r * cols + c1; i < end; i++)
        heights[i] = grid.heights[i] > open[i] || !(open[i] > 0) ? grid.heights[i] : 0;
    }
  }

  _mark({ cols, marks }, { low, high }, r0, c0, r1, c1) {
    const { heights } = this.grid;
    for (let r = r0; r < r1; r++) {
      for (let i = r * cols + c0, end = r * cols + c1; i < end; i++) {
        marks[i] = heights[i] > high[i] ? LEFT_MARK : heights[i] < low[i] ? DEEP_MARK : 0;
      }
    }
  }

  _coarser(from, to, r0, c0, r1, c1) {
    const h = from.heights,
      m = from.marks;
    for (let r = r0; r < r1; r++) {
      const a = 2 * r * from.cols,
        b = 2 * r + 1 < from.rows ? a + from.cols : a;
      for (let c = c0; c < c1; c++) {
        const p = 2 * c,
          q = p + 1 < from.cols ? p + 1 : p,
          at = r * to.cols + c;
        const u = h[a + p] < h[a + q] ? h[a + p] : h[a + q],
          v = h[b + p] < h[b + q] ? h[b + p] : h[b + q];
        to.heights[at] = u < v ? u : v;
        if (m) to.marks[at] = m[a + p] | m[a + q] | m[b + p] | m[b + q];
      }
    }
  }
}

/** Paints reliefs into an image as large as the canvas; keeps what it painted, so that little changes cost little. */
class Painter {
  constructor(width, height) {
    this.image = new ImageData(width, height);
    this.pixels = new Uint32Array(this.image.data.buffer);
    this.heights = new Float32Array(width * height);
  }

  /**
   * Paints a box of pixels [x0, y0, x1, y1). `view` with `ratio` image pixels a CSS pixel; `layers`: bits of marks
   * to show. Where no wood stands in the grid the image is clear.
   */
  paint(relief, view, ratio, palette, layers, box) {
    const { width, height } = this.image,
      size = 1 / (view.scale * ratio),
      { grid } = relief;
    // Cells of at most half a pixel, each of which belongs to the pixel over its middle: a line is drawn at its true
    // width to about a pixel, and none vanishes.
    const n = Math.max(0, Math.min(relief.levels.length - 1, Math.floor(Math.log2(size / grid.pitch)) - 1));
    const level = relief.levels[n],
      cell = grid.pitch * 2 ** n;
    const x0 = grid.x0 - grid.pitch / 2,
      y0 = grid.y0 - grid.pitch / 2;
    const [left, top] = view.toWood(0, 0);
    const [px0, py0, px1, py1] = box ?? [0, 0, width, height];
    const grown = [Math.max(0, px0 - 1), Math.max(0, py0 - 1), Math.min(width, px1 + 1), Math.min(height, py1 + 1)];
    const marks = layers ? level.marks : null,
      seen = marks ? (this.marks ??= new Uint8Array(width * height)) : null;
    const from = new Int32Array(width),
      to = new Int32Array(width);
    for (let px = grown[0]; px < grown[2]; px++) {
      [from[px], to[px]] = cellsUnder((left + px * size - x0) / cell, (left + (px + 1) * size - x0) / cell, level.cols);
    }
    for (let py = grown[1]; py < grown[3]; py++) {
      const [low, high] = cellsUnder((top - (py + 1) * size - y0) / cell, (top - py * size - y0) / cell, level.rows);
      for (let px = grown[0], at = py * width + px; px < grown[2]; px++, at++) {
        let least = Infinity,
          any = 0;
        for (let r = low; r <= high; r++) {
          for (let i = r * level.cols + from[px], end = r * level.cols + to[px]; i <= end; i++) {
            if (level.heights[i] < least) least = level.heights[i];
            if (marks) any |= marks[i];
          }
        }
        this.heights[at] = least;
        if (seen) seen[at] = any;
      }
    }
    this.shown = { size, seen, layers, left, top };
    this._colour(px0, py0, px1, py1, palette);
  }

  /**
   * Puts exact heights where a pixel is smaller than a cell and walls are near, in rows from `row` on, until `late`;
   * returns the next row. `height(x, y)`: exact.
   */
  sharpen(relief, palette, height, row, late) {
    const { width, height: rows } = this.image,
      { size, left, top } = this.shown,
      { grid } = relief,
      first = row;
    for (; row < rows && (row === first || performance.now() < late); row++) {
      const y = top - (row + 0.5) * size;
      for (let px = 0, at = row * width; px < width; px++, at++) {
        const x = left + (px + 0.5) * size;
        if (this.heights[at] !== Infinity && isSteep(relief.levels[0], grid, x, y)) {
          const z = height(x, y);
          if (z > -Infinity) this.heights[at] = z;
        }
      }
    }
    this._colour(0, Math.max(0, first - 1), width, Math.min(rows, row + 1), palette);
    return row;
  }

  _colour(px0, py0, px1, py1, palette) {
    const { width, height } = this.image,
      { size, seen, layers } = this.shown,
      h = this.heights,
      out = this.pixels,
      { part } = this;
    for (let py = py0; py < py1; py++) {
      for (let px = px0, at = py * width + px; px < px1; px++, at++) {
        const z = h[at];
        if (z === Infinity) {
          out[at] = 0;
          continue;
        }
        if (seen && seen[at] & layers) {
          // Patterns in which a mark of one pixel's width shows too.
          const deep = seen[at] & layers & DEEP_MARK;
          if (deep ? (px + py) % 5 < 3 : ((px >> 1) + (py >> 1)) % 2 === 0) {
            out[at] = deep ? palette.deep : palette.left;
            continue;
          }
        }
        const a = px > 0 ? h[at - 1] : z,
          b = px + 1 < width ? h[at + 1] : z;
        const c = py > 0 ? h[at - width] : z,
          d = py + 1 < height ? h[at + width] : z;
        let colour;
        if (z <= palette.through) {
          // A dark rim where wood begins: open is not the same as deep.
          const rim = isWood(a, palette) || isWood(b, palette) || isWood(c, palette) || isWood(d, palette);
          out[at] = rim ? palette.rim : (px + py) % 9 < 1 ? palette.stroke : palette.paper;
          continue;
        }
        if (z > palette.above) colour = palette.aboveColour;
        else colour = palette.steps[Math.min(BELOW, Math.max(0, ((palette.face - z) * palette.perMm + 0.5) | 0))];
        if (part && part[4 * at + 3] < 128) colour = paled(colour);
        const rise = b - a + (d - c);
        // Level wood, and what borders on the open (infinite, or NaN), keeps its colour.
        if ((rise > 1e-4 && rise < 1e4) || (rise < -1e-4 && rise > -1e4)) colour = lit(colour, rise / (2 * size));
        out[at] = colour;
      }
    }
  }
}

/** First and last cell of a row of `count` whose middles lie from a to b, in cells; the one there if a cell is larger. */
function cellsUnder(a, b, count) {
  let from = Math.ceil(a - 0.5),
    to = Math.ceil(b - 0.5) - 1;
  if (to < from) from = to = Math.floor((a + b) / 2);
  return to < 0 || from >= count ? [0, -1] : [Math.max(0, from), Math.min(count - 1, to)];
}

function isWood(z, { through }) {
  return z > through && z < Infinity;
}

/** Whether the cells around a place differ as at a wall. */
function isSteep({ rows, cols, heights }, { x0, y0, pitch }, x, y) {
  const col = Math.round((x - x0) / pitch),
    row = Math.round((y - y0) / pitch);
  let low = Infinity,
    high = -Infinity;
  for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++) {
    for (let c = Math.max(0, col - 1); c <= Math.min(cols - 1, col + 1); c++) {
      const z = heights[r * cols + c];
      if (z < low) low = z;
      if (z > high) high = z;
    }
  }
  return high - low > STEEP;
}

/** A colour on a slope that faces the light (positive) or turns away from it. */
function lit(colour, slope) {
  const s = Math.max(-1, Math.min(1, slope * 0.6)),
    t = s > 0 ? 255 : 0,
    f = Math.abs(s) * (s > 0 ? 0.35 : 0.45);
  const r = colour & 255,
    g = (colour >> 8) & 255,
    b = (colour >> 16) & 255;
  return ((255 << 24) | ((b + (t - b) * f) << 16) | ((g + (t - g) * f) << 8) | (r + (t - r) * f)) >>> 0;
}
