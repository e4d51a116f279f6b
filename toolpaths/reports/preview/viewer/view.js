// Which part of the wood is looked at: mm of the setup's frame (y away from the operator) to pixels of the canvas.

class View {
  /** `box`: x0, y0, x1, y1 of everything there is to see, mm. */
  constructor(box) {
    this.box = box;
    this.width = this.height = 1;
    this.scale = 0;
  }

  /** A canvas of another size, CSS pixels; what is in its middle stays there. */
  resize(width, height) {
    const first = this.scale === 0,
      was = this.fitting;
    const all = first || this.scale <= was * 1.001;
    this.width = width;
    this.height = height;
    if (all) this.whole();
    else this._held();
  }

  /** Pixels a mm at which everything is seen. */
  get fitting() {
    const [x0, y0, x1, y1] = this.box;
    return Math.min(this.width / (x1 - x0), this.height / (y1 - y0));
  }

  whole() {
    const [x0, y0, x1, y1] = this.box;
    this.scale = this.fitting;
    this.x = (x0 + x1) / 2;
    this.y = (y0 + y1) / 2;
  }

  toScreen(x, y) {
    return [this.width / 2 + (x - this.x) * this.scale, this.height / 2 - (y - this.y) * this.scale];
  }

  toWood(px, py) {
    return [this.x + (px - this.width / 2) / this.scale, this.y - (py - this.height / 2) / this.scale];
  }

  /** Closer by a factor, the place under a pixel staying under it. */
  closer(factor, px = this.width / 2, py = this.height / 2) {
    const [x, y] = this.toWood(px, py);
    this.scale = Math.min(400, Math.max(this.fitting, this.scale * factor));
    this.x = x - (px - this.width / 2) / this.scale;
    this.y = y + (py - this.height / 2) / this.scale;
    this._held();
  }

  moveBy(px, py) {
    this.x -= px / this.scale;
    this.y += py / this.scale;
    this._held();
  }

  /** A place in the middle, `across` mm of wood from left to right. */
  lookAt(x, y, across) {
    this.x = x;
    this.y = y;
    this.scale = Math.max(this.fitting, this.width / across);
    this._held();
  }

  /** The smallest move that brings a place into sight. */
  show(x, y) {
    const [px, py] = this.toScreen(x, y),
      edge = 24;
    if (px < edge || px > this.width - edge) this.x = x;
    if (py < edge || py > this.height - edge) this.y = y;
    this._held();
  }

  /** Nothing but what there is to see is looked at. */
  _held() {
    const [x0, y0, x1, y1] = this.box;
    this.scale = Math.max(this.scale, this.fitting);
    const w = this.width / this.scale / 2,
      h = this.height / this.scale / 2;
    this.x = 2 * w >= x1 - x0 ? (x0 + x1) / 2 : Math.min(x1 - w, Math.max(x0 + w, this.x));
    this.y = 2 * h >= y1 - y0 ? (y0 + y1) / 2 : Math.min(y1 - h, Math.max(y0 + h, this.y));
  }
}
