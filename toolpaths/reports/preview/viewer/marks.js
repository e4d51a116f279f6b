// What lies over the map: scales and frets around it; outline, clamps, moves, the bit, findings and the section on it.

const MARGIN = { left: 46, right: 8, top: 22, bottom: 24 };
const TRAIL = 600;

/** Makes the stage as high as the view wants it, and keeps where the map lies in it, for paper too. */
function placed(canvas, view) {
  const [x0, y0, x1, y1] = view.box;
  const narrow = matchMedia("(max-width: 40rem)").matches;
  const aside = MARGIN.left + MARGIN.right;
  const above = MARGIN.top + MARGIN.bottom;
  const { style } = canvas.parentElement;
  const wanted = ((canvas.clientWidth - aside) * (y1 - y0)) / (x1 - x0) + above;
  style.height = `${Math.round(Math.max(260, Math.min(430, wanted)))}px`;
  const { clientWidth: wide, clientHeight: high } = canvas;
  const w = wide - aside;
  const h = high - above;
  const part = (length, whole) => `${(100 * length) / whole}%`;
  style.setProperty("--shape", wide / high);
  style.setProperty("--left", part(MARGIN.left, wide));
  style.setProperty("--top", part(MARGIN.top, high));
  style.setProperty("--width", part(w, wide));
  style.setProperty("--height", part(h, high));
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

  /** `state`: the bench; everything is drawn anew, `fresh` on a canvas that was never drawn on. */
  draw(state, fresh = false) {
    if (fresh) this.canvas.width = 0;
    const { ctx } = this,
      [w, h] = fitted(this.canvas, ctx),
      { work, view, ink } = state,
      { setup } = work;
    if (!fresh) ctx.clearRect(0, 0, w, h);
    this._scales(view, setup, state.words, ink, w, h);
    ctx.save();
    ctx.beginPath();
    ctx.rect(MARGIN.left, MARGIN.top, view.width, view.height);
    ctx.clip();
    ctx.translate(MARGIN.left, MARGIN.top);
    this._outlines(view, setup, ink);
    if (state.layers.clamps) this._clamps(view, setup, state.words, ink);
    if (state.layers.motion) this._moves(view, work, ink);
    this._zero(view, setup, ink);
    if (work.section) this._section(view, work.section, ink);
    for (const finding of setup.findings) this._finding(view, finding, finding.number === work.found, ink);
    if (state.pointer) this._cross(view, state.pointer, ink);
    ctx.restore();
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
      say(ctx, text, Math.min(x, w - 16), bottom + 13, { colour: ink.faint, align: "center" });
    }
    for (const [mm, text] of words.ticks(y0, y1, view.height / 40)) {
      const y = top + view.toScreen(0, mm)[1];
      line(ctx, left - 4, y, left, y);
      say(ctx, text, left - 6, y, { colour: ink.faint, align: "right" });
    }
    say(ctx, words.units, 2, bottom + 13, { colour: ink.faint });
    if (setup.frets.length) say(ctx, "fret", 2, top - 10, { colour: ink.faint });
    let last = left - 12;
    for (const [name, at, lean] of setup.frets) {
      const x = left + view.toScreen(at + lean * y1, 0)[0];
      if (x < left || x > right || x - last < 16) continue;
      line(ctx, x, top - 3, x, top);
      say(ctx, name, x, top - 10, { colour: ink.ink, align: "center" });
      last = x;
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
    if (!setup.outline.length) return;
    ctx.setLineDash(setup.outlineIsCut ? [] : [6, 4]);
    outlined(ctx, "#1d2733", 1.1, "#ffffffb0", () => this._path(view, setup.outline, true));
    ctx.setLineDash([]);
  }

  _clamps(view, setup, words, ink) {
    const { ctx } = this;
    for (const { name, box } of setup.patches) {
      const [px, py] = view.toScreen(box[0], box[3]),
        [qx, qy] = view.toScreen(box[2], box[1]);
      ctx.strokeStyle = ink.clamp;
      ctx.lineWidth = 1.5;
      ctx.setLineDash([6, 4]);
      ctx.strokeRect(px, py, qx - px, qy - py);
      ctx.setLineDash([]);
      say(ctx, name, px + 4, qy - 8, { colour: ink.ink, halo: ink.paper });
    }
    for (const { kind, name, x, y, height, radius } of setup.clamps) {
      const [px, py] = view.toScreen(x[0], y[1]),
        [qx, qy] = view.toScreen(x[1], y[0]);
      if (qx < 0 || px > view.width || qy < 0 || py > view.height) continue;
      ctx.save();
      ctx.beginPath();
      if (radius) ctx.ellipse((px + qx) / 2, (py + qy) / 2, (qx - px) / 2, (qy - py) / 2, 0, 0, 2 * Math.PI);
      else ctx.rect(px, py, qx - px, qy - py);
      ctx.lineWidth = 3;
      ctx.strokeStyle = ink.clamp;
      ctx.stroke();
      ctx.clip();
      ctx.strokeStyle = ink.clamp;
      ctx.lineWidth = 1;
      for (let u = px - (qy - py); u < qx; u += 8)
        (line(ctx, u, qy, u + (qy - py), py), line(ctx, u, py, u + (qy - py), qy));
      ctx.restore();
      // A screw's or a pin's number stands where there is room for it.
      if (radius && qx - px < 24) continue;
      const said = radius ? name : `${kind}: ${name}, ${words.say(height)} high`,
        half = ctx.measureText(said).width / 2 + 6;
      const middle = Math.min(view.width - half, Math.max(half, (px + qx) / 2)),
        below = qy + 18 < view.height;
      say(ctx, said, middle, below ? qy + 10 : py - 10, { colour: ink.ink, align: "center", halo: ink.paper });
    }
  }

  _zero(view, setup, ink) {
    const { ctx } = this,
      [x, y] = view.toScreen(setup.zero[0], setup.zero[1]);
    outlined(ctx, "#1d2733", 1.2, "#ffffffc0", () => {
      ctx.arc(x, y, 6, 0, 2 * Math.PI);
      (ctx.moveTo(x - 10, y), ctx.lineTo(x + 10, y), ctx.moveTo(x, y - 10), ctx.lineTo(x, y + 10));
    });
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
    say(ctx, String(number), x + 13, y - 11, { colour: "#1d2733", halo: "#fff", bold: true });
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
