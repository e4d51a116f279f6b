// Small strokes that all drawings share. Sizes in CSS pixels.

/** How many pixels of a canvas lie on a pixel of the page at least: more while it is drawn for paper. */
const fineness = { least: 1 };

function pixelRatio(most = 2) {
  return Math.max(most > 1 ? fineness.least : 1, Math.min(most, window.devicePixelRatio || 1));
}

/** Makes a canvas as fine as the screen; returns its size. */
function fitted(canvas, ctx, most = 2) {
  const w = canvas.clientWidth,
    h = canvas.clientHeight,
    ratio = pixelRatio(most);
  if (canvas.width !== Math.round(w * ratio) || canvas.height !== Math.round(h * ratio)) {
    canvas.width = Math.round(w * ratio);
    canvas.height = Math.round(h * ratio);
  }
  ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
  return [w, h];
}

function line(ctx, x0, y0, x1, y1) {
  ctx.beginPath();
  ctx.moveTo(x0, y0);
  ctx.lineTo(x1, y1);
  ctx.stroke();
}

function fontOf({ bold = false }) {
  return `${bold ? "600 " : ""}12px system-ui, "DejaVu Sans", sans-serif`;
}

/** Text around its middle; `halo` keeps it readable on any ground. */
function say(ctx, text, x, y, { colour, align = "left", halo = "", bold = false }) {
  ctx.font = fontOf({ bold });
  ctx.textAlign = align;
  ctx.textBaseline = "middle";
  if (halo) {
    ctx.strokeStyle = halo;
    ctx.lineWidth = 3.5;
    ctx.lineJoin = "round";
    ctx.strokeText(text, x, y);
  }
  ctx.fillStyle = colour;
  ctx.fillText(text, x, y);
}

/** The same path twice: a wide light stroke under a narrow one, to be seen on light and dark alike. */
function outlined(ctx, colour, width, halo, draw) {
  for (const [style, w] of [
    [halo, width + 2.4],
    [colour, width],
  ]) {
    ctx.strokeStyle = style;
    ctx.lineWidth = w;
    ctx.beginPath();
    draw();
    ctx.stroke();
  }
}

/** The page's inks as they are now, light or dark. */
function inksOf(element) {
  const style = getComputedStyle(element),
    value = name => style.getPropertyValue(`--${name}`).trim();
  const names = ["ink", "faint", "line", "paper", "wash", "wood", "target", "measure", "move", "clamp", "alarm"];
  return Object.fromEntries(names.map(name => [name, value(name)]));
}
