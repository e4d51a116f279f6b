// Pointer and keys on the map: pointing reads, dragging saws, two fingers or Ctrl and the wheel look closer.

const SQUARE = Math.tan((4 * Math.PI) / 180);

/** `on`: what happens: point(place or null), saw(a, b, done), look(), step(by), run(). */
class Fingers {
  constructor(canvas, view, on) {
    Object.assign(this, { canvas, view, on, down: new Map(), from: null, mark: null });
    const listen = (name, act) => canvas.addEventListener(name, event => act.call(this, event), { passive: false });
    listen("pointerdown", this._down);
    listen("pointermove", this._move);
    listen("pointerup", this._up);
    listen("pointercancel", this._up);
    listen("pointerleave", event => event.pointerType === "mouse" && !this.down.size && on.point(null));
    listen("wheel", this._wheel);
    listen("keydown", this._key);
  }

  _pixel(event) {
    const seen = this.canvas.getBoundingClientRect();
    return [event.clientX - seen.left - MARGIN.left, event.clientY - seen.top - MARGIN.top];
  }

  _down(event) {
    if (event.button > 0) return;
    try {
      this.canvas.setPointerCapture(event.pointerId);
    } catch {
      /* a pointer that is already gone */
    }
    this.down.set(event.pointerId, this._pixel(event));
    this.from = this.down.size === 1 ? this._pixel(event) : null;
    this.on.point(this.view().toWood(...this._pixel(event)));
  }

  _move(event) {
    const at = this._pixel(event),
      before = this.down.get(event.pointerId);
    if (this.down.size >= 2 && before) return this._pinch(event.pointerId, before, at);
    if (before) this.down.set(event.pointerId, at);
    this.on.point(this.view().toWood(...at));
    if (this.from && Math.hypot(at[0] - this.from[0], at[1] - this.from[1]) > 6) this._saw(at, false);
  }

  _up(event) {
    const at = this._pixel(event);
    if (this.from && event.type === "pointerup" && Math.hypot(at[0] - this.from[0], at[1] - this.from[1]) > 6)
      this._saw(at, true);
    this.down.delete(event.pointerId);
    this.from = null;
  }

  /** A line nearly along the neck or straight across it is meant to be just that. */
  _saw(at, done) {
    const a = this.view().toWood(...this.from),
      b = this.view().toWood(...at);
    const dx = Math.abs(b[0] - a[0]),
      dy = Math.abs(b[1] - a[1]);
    if (dy < dx * SQUARE) b[1] = a[1];
    else if (dx < dy * SQUARE) b[0] = a[0];
    this.on.saw(a, b, done);
  }

  _pinch(id, before, at) {
    const [other] = [...this.down].filter(([key]) => key !== id).map(([, value]) => value);
    const middle = p => [(p[0] + other[0]) / 2, (p[1] + other[1]) / 2],
      apart = p => Math.hypot(p[0] - other[0], p[1] - other[1]);
    const [m, n] = [middle(before), middle(at)],
      view = this.view();
    view.moveBy(n[0] - m[0], n[1] - m[1]);
    if (apart(before) > 8) view.closer(apart(at) / apart(before), ...n);
    this.down.set(id, at);
    this.on.look();
  }

  _wheel(event) {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    this.view().closer(Math.exp(-event.deltaY / 300), ...this._pixel(event));
    this.on.look();
  }

  _key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const view = this.view(),
      fine = event.shiftKey ? 0.1 : 1,
      arrows = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const acts = {
      "+": () => view.closer(1.5, ...this._cross()),
      "-": () => view.closer(1 / 1.5, ...this._cross()),
      0: () => view.whole(),
      "[": () => this.on.step(-1),
      "]": () => this.on.step(1),
      " ": () => this.on.run(),
      Enter: () => this._markEnd(),
    };
    if (event.key in arrows) {
      const [x, y] = this.on.pointer() ?? [view.x, view.y],
        [dx, dy] = arrows[event.key];
      const to = [x + dx * fine, y + dy * fine];
      view.show(...to);
      this.on.point(to);
    } else if (event.key in acts) acts[event.key]();
    else return;
    event.preventDefault();
    this.on.look();
  }

  _cross() {
    const at = this.on.pointer();
    return at ? this.view().toScreen(...at) : [];
  }

  /** The first press marks one end of a section at the cross, the second the other. */
  _markEnd() {
    const at = this.on.pointer();
    if (!at) return;
    if (this.mark) (this.on.saw(this.mark, at, true), (this.mark = null));
    else this.mark = at;
  }
}
