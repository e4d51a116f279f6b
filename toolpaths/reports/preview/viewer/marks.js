// What lies over the map: scales and frets around it; outline, clamps, moves, the bit, findings and the section on it.

const MARGIN = { left: 46, right: 8, top: 40, bottom: 42 };
const TRAIL = 600;

/** Makes the stage as high as the view wants it. */
function placed(canvas, view) {
  const [x0, y0, x1, y1] = view.box;
  const narrow = matchMedia("(max-width: 40rem)").matches;
  const aside = MARGIN.left + MARGIN.right;
  const above = MARGIN.top + MARGIN.bottom;
  const { style } = canvas.parentElement;
  const wanted = ((canvas.clientWidth - aside) * (y1 - y0)) / (x1 - x0) + above;
  const least = document.documentElement.classList.contains("paper") ? 190 : narrow ? 270 : 290;
  style.height = `${Math.round(Math.max(least, Math.min(460, wanted)))}px`;
  const w = canvas.clientWidth - aside;
  const h = canvas.clientHeight - above;
  if (!(w > 0 && h > 0) || (w === view.width && h === view.height)) return;
  const first = view.scale === 0;
  view.resize(w, h);
  // A long board on a narrow screen begins at its nut end, large enough to be read.
  if (first && narrow) view.lookAt(x0, (y0 + y1) / 2, (1.15 * (y1 - y0) * w) / h);
}

class Marks {
  constructor(canvas) {
    this.canvas = canvas;
    this.ctx = canvas.getContext("2d");
  }

  /** `state`: the bench. `said`: every word that is drawn, with its box: [text, x0, y0, x1, y1]. */
  draw(state) {
    const { ctx } = this,
      [w, h] = fitted(this.canvas, ctx),
      { work, view, ink } = state,
      { setup } = work;
    ctx.clearRect(0, 0, w, h);
    this.said = [];
    this._sides(view, setup, ink, w);
    this._scales(view, setup, state.words, ink, w, h);
    ctx.save();
    ctx.beginPath();
    ctx.rect(MARGIN.left, MARGIN.top, view.width, view.height);
    ctx.clip();
    ctx.translate(MARGIN.left, MARGIN.top);
    this._outlines(view, setup, ink);
    this._nut(view, setup);
    this._seams(view, setup, ink);
    if (state.layers.clamps) this._clamps(view, setup, ink);
    if (state.layers.motion) this._moves(view, work, ink);
    if (work.section) this._section(view, work.section, ink);
    for (const finding of setup.findings) this._finding(view, finding, finding.number === work.found, ink);
    this._zero(view, setup, ink);
    if (state.layers.clamps) this._kinds(view, setup, ink);
    if (state.pointer) this._cross(view, state.pointer, ink);
    ctx.restore();
  }

  /** Writes a word; where it would cover another one it is left out, unless `must`. Its place is kept. */
  _word(text, x, y, { must = false, offset = [0, 0], ...how }) {
    const { ctx } = this;
    ctx.font = fontOf(how);
    const wide = ctx.measureText(text).width,
      from = offset[0] + x - (how.align === "center" ? wide / 2 : how.align === "right" ? wide : 0),
      box = [from - 1, offset[1] + y - 6, from + wide + 1, offset[1] + y + 6];
    const free = this.said.every(([, a, b, c, d]) => box[0] >= c || box[2] <= a || box[1] >= d || box[3] <= b);
    if (!free && !must) return false;
    this.said.push([text, ...box]);
    say(ctx, text, x, y, how);
    return true;
  }

  /** The long sides by name, above and below the map: true however close one looks. */
  _sides(view, { near, far, nut }, ink, w) {
    const middle = MARGIN.left + view.width / 2;
    const how = { colour: ink.ink, align: "center", bold: true, must: true };
    if (far) this._word(far, middle, 9, how);
    this._word(near, middle, MARGIN.top + view.height + 32, how);
    if (!nut) return;
    const [name, at, lean] = nut,
      [, y] = view.toWood(0, 0),
      x = MARGIN.left + view.toScreen(at + lean * y, 0)[0];
    if (x < MARGIN.left || x > MARGIN.left + view.width) return;
    this._word(name, x, MARGIN.top - 10, { colour: ink.ink, align: "center", bold: true, must: true });
  }

  _scales(view, setup, words, ink, w, h) {
    const { ctx } = this,
      { left, top } = MARGIN,
      bottom = top + view.height,
      right = left + view.width;
    const [x0, y1] = view.toWood(0, 0),
      [x1, y0] = view.toWood(view.width, view.height);
    ctx.strokeStyle = ink.line;
    ctx.lineWidth = 1;
    for (const [mm, text] of words.ticks(x0, x1, view.width / 80)) {
      const x = left + view.toScreen(mm, 0)[0];
      line(ctx, x, bottom, x, bottom + 4);
      this._word(text, Math.min(x, w - 16), bottom + 13, { colour: ink.faint, align: "center" });
    }
    for (const [mm, text] of words.ticks(y0, y1, view.height / 40)) {
      const y = top + view.toScreen(0, mm)[1];
      line(ctx, left - 4, y, left, y);
      this._word(text, left - 6, y, { colour: ink.faint, align: "right" });
    }
    this._word(words.units, 2, bottom + 13, { colour: ink.faint });
    if (setup.frets.length) this._word("fret", 2, top - 10, { colour: ink.faint });
    for (const [name, at, lean] of setup.frets) {
      const x = left + view.toScreen(at + lean * y1, 0)[0];
      if (x < left || x > right || !this._word(name, x, top - 10, { colour: ink.ink, align: "center" })) continue;
      line(ctx, x, top - 3, x, top);
    }
    ctx.strokeRect(left - 0.5, top - 0.5, view.width + 1, view.height + 1);
  }

  _path(view, points, close) {
    points.forEach(([x, y], i) => {
      const at = view.toScreen(x, y);
      i ? this.ctx.lineTo(...at) : this.ctx.moveTo(...at);
    });
    if (close) this.ctx.closePath();
  }

  _outlines(view, setup, ink) {
    const { ctx } = this,
      [x0, y0, x1, y1] = setup.stock;
    ctx.strokeStyle = ink.faint;
    ctx.lineWidth = 1;
    ctx.beginPath();
    this._path(
      view,
      [
        [x0, y0],
        [x1, y0],
        [x1, y1],
        [x0, y1],
      ],
      true,
    );
    ctx.stroke();
    ctx.setLineDash(setup.partsAreCut ? [] : [6, 4]);
    for (const part of setup.parts) outlined(ctx, "#1d2733", 1.1, "#ffffffb0", () => this._path(view, part, true));
    ctx.setLineDash([]);
  }

  /** The line at the nut, across the blank. */
  _nut(view, { nut, stock }) {
    if (!nut) return;
    const { ctx } = this,
      [, at, lean] = nut,
      [, y0, , y1] = stock;
    ctx.setLineDash([2, 4]);
    outlined(ctx, "#1d2733", 1.2, "#ffffffa0", () =>
      this._path(view, [[at + lean * y0, y0], [at + lean * y1, y1]], false),
    );
    ctx.setLineDash([]);
  }

  /** Where the parts of two places of a long blank meet, with the name of the place that begins there. */
  _seams(view, { seams, stock }, ink) {
    const { ctx } = this,
      [, y0, , y1] = stock;
    for (const { x, place } of seams) {
      ctx.setLineDash([10, 3, 2, 3]);
      outlined(ctx, "#1d2733", 1.2, "#ffffffa0", () => this._path(view, [[x, y0], [x, y1]], false));
      ctx.setLineDash([]);
      const [px, py] = view.toScreen(x, y0 + 0.8 * (y1 - y0));
      this._word(place, px + 5, py, { colour: "#1d2733", align: "left", offset: [MARGIN.left, MARGIN.top] });
    }
  }

  _clamps(view, setup, ink) {
    for (const { name, box } of setup.patches) SHAPES[name](this.ctx, boxOnScreen(view, [box[0], box[2]], [box[1], box[3]]), ink);
    for (const it of setup.clamps) {
      const box = boxOnScreen(view, it.x, it.y);
      if (box.x + box.w < 0 || box.x > view.width || box.y + box.h < 0 || box.y > view.height) continue;
      SHAPES[it.shape](this.ctx, { ...box, toward: edgeToward(it, setup.stock) }, ink);
    }
  }

  /** What each thing is, on it where that has room: the key below the map has all of it in words. */
  _kinds(view, setup, ink) {
    const { ctx } = this,
      patches = setup.patches.map(({ name, box }) => ({ kind: name, x: [box[0], box[2]], y: [box[1], box[3]] }));
    for (const it of [...setup.clamps, ...patches]) {
      const { x, y, w, h } = boxOnScreen(view, it.x, it.y);
      const left = Math.max(0, x), right = Math.min(view.width, x + w), top = Math.max(0, y), bottom = Math.min(view.height, y + h);
      ctx.font = fontOf({});
      const room = right - left > ctx.measureText(it.kind).width + 4 && bottom - top > 34;
      if (it.radius || !room) continue;
      const how = { colour: "#1d2733", align: "center", halo: "#ffffff", offset: [MARGIN.left, MARGIN.top] };
      this._word(it.kind, (left + right) / 2, bottom - 10, how);
    }
  }

  _zero(view, setup, ink) {
    const [x, y] = view.toScreen(setup.zero[0], setup.zero[1]),
      size = 36,
      how = { colour: "#1d2733", halo: "#ffffff", offset: [MARGIN.left, MARGIN.top] };
    if (x < -size || x > view.width || y < 0 || y > view.height + size) return;
    zeroMark(this.ctx, x, y, size);
    this._word("X", x + size + 5, y, how);
    this._word("Y", x, y - size - 8, { ...how, align: "center" });
    for (const dy of [-10, 11]) if (this._word("zero", x + 6, y + dy, { ...how, bold: true, must: dy > 0 })) break;
  }

  /** The moves just made (cuts solid, way above the wood dashed), those to come faint, and the bit at its size. */
  _moves(view, { moments, moment, cutting, atEnd }, ink) {
    const { ctx } = this,
      { start, end, kind, count } = moments.moves;
    if (!count) return;
    const trail = (from, to, rapid, cutShort) => {
      for (let i = from; i < to; i++) {
        if ((kind[i] === 0) !== rapid) continue;
        const f = cutShort && i === moment.move ? moment.fraction : 1,
          a = 3 * i;
        ctx.moveTo(...view.toScreen(start[a], start[a + 1]));
        ctx.lineTo(
          ...view.toScreen(start[a] + (end[a] - start[a]) * f, start[a + 1] + (end[a + 1] - start[a + 1]) * f),
        );
      }
    };
    const part = moments.parts[moments.partOf(moment)],
      first = Math.max(part.first, moment.move - TRAIL + 1);
    for (const rapid of [true, false]) {
      ctx.setLineDash(rapid ? [4, 4] : []);
      if (!atEnd) {
        ctx.globalAlpha = 0.35;
        outlined(ctx, ink.move, 0.8, "#ffffff60", () =>
          trail(moment.move, Math.min(part.stop, moment.move + TRAIL), rapid, false),
        );
        ctx.globalAlpha = 1;
      }
      outlined(ctx, ink.move, 1.5, "#ffffffb0", () => trail(first, moment.move + 1, rapid, true));
    }
    ctx.setLineDash([]);
    const [x, y] = moments.tip(moment),
      radius = cutting.radiusOf(moment.move);
    outlined(ctx, ink.move, 2, "#ffffffe0", () =>
      ctx.arc(...view.toScreen(x, y), Math.max(2, radius * view.scale), 0, 2 * Math.PI),
    );
  }

  _section(view, { a, b }, ink) {
    const { ctx } = this,
      p = view.toScreen(...a),
      q = view.toScreen(...b);
    outlined(ctx, ink.measure, 1.2, "#ffffffa0", () => (ctx.moveTo(...p), ctx.lineTo(...q)));
    for (const at of [p, q]) {
      ctx.fillStyle = ink.measure;
      ctx.beginPath();
      ctx.arc(...at, 3.5, 0, 2 * Math.PI);
      ctx.fill();
    }
  }

  _finding(view, { number, place, weight }, chosen, ink) {
    if (!place || (weight === "note" && !chosen)) return;
    const { ctx } = this,
      [x, y] = view.toScreen(...place);
    outlined(ctx, ink.alarm, chosen ? 3 : 1.8, "#fff", () => ctx.arc(x, y, chosen ? 12 : 9, 0, 2 * Math.PI));
    const offset = [MARGIN.left, MARGIN.top];
    this._word(String(number), x + 13, y - 11, { colour: "#1d2733", halo: "#ffffff", bold: true, must: true, offset });
  }

  _cross(view, [x, y], ink) {
    const { ctx } = this,
      [px, py] = view.toScreen(x, y);
    outlined(ctx, "#1d2733", 1, "#ffffffd0", () => {
      for (const [dx, dy] of [
        [1, 0],
        [-1, 0],
        [0, 1],
        [0, -1],
      ]) {
        (ctx.moveTo(px + 4 * dx, py + 4 * dy), ctx.lineTo(px + 12 * dx, py + 12 * dy));
      }
    });
  }
}

/** A box of the wood in pixels of the map: left, top, width, height. */
function boxOnScreen(view, [x0, x1], [y0, y1]) {
  const [x, y] = view.toScreen(x0, y1),
    [right, bottom] = view.toScreen(x1, y0);
  return { x, y, w: right - x, h: bottom - y };
}
