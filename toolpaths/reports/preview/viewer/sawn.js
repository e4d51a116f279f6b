// Draws a section: the wood, the target as a dashed line over it, and the widths that were measured.

const SAWN = { left: 52, right: 14, top: 22, bottom: 24 };

class Sawn {
  constructor(canvas) {
    this.canvas = canvas;
    this.ctx = canvas.getContext("2d");
  }

  /** Section and the heights that the drawing spans; mm above the bed. */
  show(section, { setup: { face, top }, words, ink, pointed }) {
    const { ctx } = this,
      [w, h] = fitted(this.canvas, ctx),
      box = SAWN;
    Object.assign(this, { section, w, h });
    const [low, high] = this._span(section, top, face, (h - box.top - box.bottom) / (w - box.left - box.right));
    this.x = s => box.left + (s / Math.max(section.length, 1e-9)) * (w - box.left - box.right);
    this.y = z => box.top + ((high - z) / (high - low)) * (h - box.top - box.bottom);
    ctx.clearRect(0, 0, w, h);
    this._wood(section, low, ink);
    this._line(section.s, section.wood, low, ink.ink, [], 1.4);
    this._line(section.targetS, section.target, low, ink.target, [5, 3], 1.4);
    this._scales(section, face, top, low, high, words, ink);
    const named = pointed ? [pointed] : section.cuts.length <= SAID_CUTS ? section.cuts : [];
    this.labels = [];
    for (const cut of named) this._width(cut, words, ink);
    const times = (this.y(0) - this.y(1)) / (this.x(1) - this.x(0));
    this._say(
      `depth drawn ${times >= 9.5 ? Math.round(times) : times.toFixed(1)} times larger than length`,
      w - box.right,
      12,
      ink.faint,
      "right",
    );
  }

  /** Lowest and highest of the drawing, mm: all of the wood; under a short line what comes up there, to scale if it fits. */
  _span({ wood, target, length }, top, face, shape) {
    const bed = -Math.max(0.05 * face, 0.3),
      all = Math.max(top, face) * 1.04 + 0.05;
    if (length > 60) return [bed, all];
    let least = Infinity,
      most = face;
    for (const heights of [wood, target]) for (const z of heights) (z < least && (least = z), z > most && (most = z));
    const high = most + 0.15 * Math.max(most - least, 0.4),
      span = Math.max(1.45 * (high - least), length * shape);
    return [Math.max(bed, high - span), high];
  }

  /** mm along the line under a pixel. */
  along(px) {
    const { left, right } = SAWN;
    return ((px - left) / (this.w - left - right)) * this.section.length;
  }

  _wood(section, low, ink) {
    const { ctx } = this;
    const { s, wood, under } = section;
    ctx.fillStyle = ink.wood;
    ctx.beginPath();
    // Each stretch of wood: along its top, and back along its underside.
    for (let i = 0; i < s.length; i++) {
      const first = i;
      for (; wood[i] > 0.02; i++) i > first ? ctx.lineTo(this.x(s[i]), this.y(wood[i])) : ctx.moveTo(this.x(s[i]), this.y(wood[i]));
      for (let k = i - 1; k >= first; k--) ctx.lineTo(this.x(s[k]), this.y(Math.max(under[k], low)));
    }
    ctx.fill();
  }

  _line(along, heights, low, colour, dash, width) {
    const { ctx } = this;
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.setLineDash(dash);
    ctx.beginPath();
    let pen = false;
    along.forEach((s, i) => {
      const z = heights[i];
      if (!(z > -1e9)) return void (pen = false);
      const at = [this.x(s), this.y(Math.max(z, low))];
      pen ? ctx.lineTo(...at) : ctx.moveTo(...at);
      pen = true;
    });
    ctx.stroke();
    ctx.setLineDash([]);
  }

  _scales(section, face, top, low, high, words, ink) {
    const { ctx, w, h } = this,
      { left, right, bottom } = SAWN;
    ctx.strokeStyle = ink.line;
    ctx.lineWidth = 1;
    for (const [mm, text] of words.ticks(face - high, face - Math.max(0, low), 4)) {
      const y = Math.round(this.y(face - mm)) + 0.5;
      line(ctx, left - 4, y, left, y);
      this._say(text, left - 7, y, ink.faint, "right");
    }
    ctx.strokeStyle = ink.ink;
    if (low < 0) line(ctx, left, Math.round(this.y(0)) + 0.5, w - right, Math.round(this.y(0)) + 0.5);
    ctx.strokeStyle = ink.line;
    line(ctx, left, h - bottom + 0.5, w - right, h - bottom + 0.5);
    // Along the neck or straight across it the line is measured as the map is; else from its first end.
    const axis = section.a[1] === section.b[1] ? 0 : section.a[0] === section.b[0] ? 1 : -1;
    const from = axis < 0 ? 0 : section.a[axis],
      to = axis < 0 ? section.length : section.b[axis];
    for (const [mm, text] of words.ticks(Math.min(from, to), Math.max(from, to), Math.max(2, w / 110))) {
      const x = this.x(((mm - from) / (to - from || 1)) * section.length);
      line(ctx, x, h - bottom, x, h - bottom + 4);
      this._say(text, Math.min(x, w - 16), h - bottom + 13, ink.faint, "center");
    }
    this._say(`depth, ${words.units}`, 4, 12, ink.faint, "left");
  }

  _width(cut, words, ink) {
    const { ctx } = this,
      a = this.x(cut.from),
      b = this.x(cut.to),
      y = this.y(cut.level);
    ctx.strokeStyle = ctx.fillStyle = ink.measure;
    ctx.lineWidth = 1.6;
    line(ctx, a, y, b, y);
    for (const x of [a, b]) line(ctx, x, y - 6, x, y + 6);
    const right = b + 130 < this.w,
      x = right ? b + 6 : a - 6,
      align = right ? "left" : "right",
      top = Math.min(this.y(cut.floor), this.h - 60);
    const lines = [`${words.say(cut.width)} wall to wall`, `${words.say(cut.rim - cut.floor)} deep`];
    ctx.font = fontOf({});
    const wide = Math.max(...lines.map(text => ctx.measureText(text).width)),
      from = right ? x : x - wide,
      box = [from - 3, top + 6, from + wide + 3, top + 37];
    // Two that would cover each other: the sentence below the section has both.
    if (this.labels.some(([a, b, c, d]) => box[0] < c && box[2] > a && box[1] < d && box[3] > b)) return;
    this.labels.push(box);
    ctx.fillStyle = ink.paper;
    ctx.fillRect(box[0], box[1], box[2] - box[0], box[3] - box[1]);
    lines.forEach((text, i) => this._say(text, x, top + 14 + 15 * i, ink.ink, align));
  }

  _say(text, x, y, colour, align, halo) {
    say(this.ctx, text, x, y, { colour, align, halo });
  }
}
