// The map's own canvas: the relief under everything else, painted again only where it changed.

const MOST_PIXELS = 1.1e6;
/** Pixels to a cell from which on single cells can be seen. */
const SMALL = 0.8;

class Ground {
  constructor(canvas) {
    this.canvas = canvas;
    this.ctx = canvas.getContext("2d");
    this.painted = { key: "", relief: null };
  }

  /**
   * Paints a relief as the view sees it. `layers`: bits of marks; `changing`: whether this relief's heights follow the
   * time, `stale`: then the cells [r0, c0, r1, c1) that changed since it was painted, or null; `parts`: outlines of what
   * is no waste.
   */
  paint(relief, view, palette, layers, { changing, stale, parts }) {
    const { canvas } = this;
    const ratio = Math.min(pixelRatio(), Math.sqrt(MOST_PIXELS / (view.width * view.height)));
    const w = Math.max(1, Math.round(view.width * ratio)),
      h = Math.max(1, Math.round(view.height * ratio));
    if (canvas.width !== w || canvas.height !== h) {
      canvas.width = w;
      canvas.height = h;
      this.painter = new Painter(w, h);
    }
    const key = [view.x, view.y, view.scale, w, h, layers].join();
    const same = key === this.painted.key && relief === this.painted.relief;
    if (same && !changing) return;
    const box = same ? this._pixels(relief.grid, stale, view, w / view.width) : [0, 0, w, h];
    if (!same) this.painter.part = partMask(parts, view, w, h);
    this.painted = { key, relief, sharp: same && !box && this.painted.sharp, fine: relief.grid.pitch * view.scale * (w / view.width) };
    if (!box) return;
    this.row = 0;
    this.painter.paint(relief, view, w / view.width, palette, layers, box);
    const [x0, y0, x1, y1] = box;
    this.ctx.putImageData(this.painter.image, 0, 0, x0, y0, x1 - x0, y1 - y0);
  }

  /** Draws walls exactly, row after row, where one looks closer than the map's cells. See `Painter.sharpen`. */
  sharpen(palette, height) {
    clearTimeout(this.later);
    const { painted } = this;
    if (painted.sharp || !(painted.fine > SMALL)) return;
    this.rest = late => {
      const first = this.row ?? 0;
      this.row = this.painter.sharpen(painted.relief, palette, height, first, late);
      const { width, height: rows } = this.painter.image;
      this.ctx.putImageData(this.painter.image, 0, 0, 0, Math.max(0, first - 1), width, this.row + 1 - Math.max(0, first - 1));
      painted.sharp = this.row >= rows;
    };
    const on = () => {
      if (painted !== this.painted) return;
      this.rest(performance.now() + 12);
      if (!painted.sharp) this.later = setTimeout(on);
    };
    this.later = setTimeout(on);
  }

  /** Does at once what is still to be sharpened. */
  finish() {
    clearTimeout(this.later);
    if (this.rest && !this.painted.sharp && this.painted.fine > SMALL) this.rest(Infinity);
  }

  /** What is painted, on a canvas of its own. */
  picture() {
    const { image } = this.painter,
      copy = Object.assign(document.createElement("canvas"), { width: image.width, height: image.height });
    copy.getContext("2d").putImageData(image, 0, 0);
    return copy;
  }

  /** Pixels of the image that show some cells; null for none. */
  _pixels({ x0, y0, pitch }, cells, view, ratio) {
    if (!cells) return null;
    const [r0, c0, r1, c1] = cells,
      { width, height } = this.painter.image;
    const [px, py] = view.toScreen(x0 + (c0 - 1) * pitch, y0 + (r1 + 1) * pitch);
    const [qx, qy] = view.toScreen(x0 + (c1 + 1) * pitch, y0 + (r0 - 1) * pitch);
    const held = (v, most) => Math.min(most, Math.max(0, v)),
      grow = Math.ceil((4 * pitch * view.scale + 2) * ratio);
    const from = (v, most) => held(Math.floor(v * ratio) - grow, most),
      to = (v, most) => held(Math.ceil(v * ratio) + grow, most);
    const box = [from(px, width), from(py, height), to(qx, width), to(qy, height)];
    return box[2] > box[0] && box[3] > box[1] ? box : null;
  }
}
