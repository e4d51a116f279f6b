// The whole wood in a narrow strip, with a frame around what the map shows: drag it to look elsewhere.

class Strip {
  constructor(canvas, moved) {
    this.canvas = canvas;
    this.ctx = canvas.getContext("2d");
    const take = event => {
      if (event.type === "pointermove" && !event.buttons) return;
      if (event.type === "pointerdown") canvas.setPointerCapture(event.pointerId);
      const seen = canvas.getBoundingClientRect();
      moved(...this.whole.toWood(event.clientX - seen.left, event.clientY - seen.top));
    };
    canvas.addEventListener("pointerdown", take);
    canvas.addEventListener("pointermove", take);
  }

  /** There is something to move about as soon as not everything is seen. Returns whether a picture is missing. */
  appear(view) {
    this.canvas.hidden = view.scale <= view.fitting * 1.01;
    return !this.canvas.hidden && (!this.image || this.image.width !== this.canvas.clientWidth);
  }

  /** A picture of the whole wood, painted once for each surface. */
  paint(relief, palette, box, parts) {
    const [w, h] = fitted(this.canvas, this.ctx, 1);
    if (!w || !h) return;
    this.whole = new View(box);
    this.whole.resize(w, h);
    const painter = new Painter(this.canvas.width, this.canvas.height);
    painter.part = partMask(parts, this.whole, this.canvas.width, this.canvas.height);
    painter.paint(relief, this.whole, 1, palette, 0, null);
    this.image = painter.image;
  }

  draw(view, ink) {
    const { ctx, whole } = this;
    if (this.canvas.hidden || !this.image) return;
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.putImageData(this.image, 0, 0);
    const [x, y] = whole.toScreen(...view.toWood(0, 0)),
      [u, v] = whole.toScreen(...view.toWood(view.width, view.height));
    outlined(ctx, ink.measure, 2, "#ffffffd0", () =>
      ctx.rect(x, Math.max(1, y), u - x, Math.min(whole.height - 1, v) - Math.max(1, y)),
    );
  }
}
