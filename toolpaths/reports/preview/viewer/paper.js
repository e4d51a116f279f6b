// What is printed: every setup's map, key and section, drawn for paper, whatever the screen shows; folded parts open.

class Paper {
  /** `place`: the element that holds the drawings while the page is printed. */
  constructor(bench, place) {
    Object.assign(this, { bench, place, folded: [] });
  }

  /** Draws all setups at once, light: a browser prints as soon as this returns. `inks` takes up the page's colours. */
  lay(inks) {
    const { bench } = this,
      { work, pointer } = bench;
    document.documentElement.classList.add("paper");
    fineness.least = 2.5;
    this.folded = [...document.querySelectorAll("details:not([open]):not(.texts, .texts *, .help)")];
    for (const fold of this.folded) fold.open = true;
    inks();
    bench.pointer = null;
    this.place.replaceChildren(...bench.data.setups.map(({ name }) => this._setup(name)));
    Object.assign(bench, { work, pointer });
    bench.draw();
  }

  clear(inks) {
    document.documentElement.classList.remove("paper");
    fineness.least = 1;
    for (const fold of this.folded) fold.open = false;
    this.place.replaceChildren();
    inks();
    this.bench.need("map", "sawn", "strip", "keys");
  }

  _setup(name) {
    const { bench } = this,
      part = document.createElement("section"),
      heading = Object.assign(document.createElement("h2"), { textContent: `Setup ${name}: map` });
    const work = bench.works.get(name);
    if (!work) {
      part.append(heading, "This setup was still being read. Print again.");
      return part;
    }
    bench.work = work;
    // All of it is printed, however close one was looking.
    const { x, y, scale } = work.view;
    placed(bench.marks.canvas, work.view);
    work.view.whole();
    if (!work.section) work.section = bench.middle();
    bench.moving = false;
    bench.need("map", "marks", "sawn", "keys");
    bench.draw();
    bench.ground.finish();
    const { cuts } = work.section,
      text = (kind, textContent) => Object.assign(document.createElement(kind), { textContent });
    part.append(text("p", bench.zeroWords()), this._map(), copied(bench.get("legend")), this._keys());
    part.append(text("h3", "Section along the line"), copied(bench.get("sawn")));
    part.append(text("p", cuts.length > SAID_CUTS ? "" : bench.words.widths(cuts, null)));
    part.prepend(heading);
    Object.assign(work.view, { x, y, scale });
    // A setup that was never opened has no view yet.
    if (!scale) work.view.width = work.view.height = 1;
    return part;
  }

  _map() {
    const { marks, ground } = this.bench,
      { width, height, clientWidth } = marks.canvas,
      copy = Object.assign(document.createElement("canvas"), { width, height, className: "map" }),
      ctx = copy.getContext("2d"),
      ratio = width / clientWidth,
      { clientWidth: w, clientHeight: h } = ground.canvas;
    ctx.drawImage(ground.picture(), MARGIN.left * ratio, MARGIN.top * ratio, w * ratio, h * ratio);
    ctx.drawImage(marks.canvas, 0, 0);
    return copy;
  }

  _keys() {
    const list = document.createElement("ul");
    list.className = "keys";
    for (const item of this.bench.get("keys").children) {
      const copy = document.createElement("li");
      copy.append(copied(item.querySelector("canvas")), item.textContent);
      list.append(copy);
    }
    return list;
  }
}

/** A canvas that shows what another one does: on paper a canvas that was drawn on is printed stroke by stroke. */
function copied(canvas) {
  const copy = Object.assign(document.createElement("canvas"), { width: canvas.width, height: canvas.height });
  copy.getContext("2d").drawImage(canvas, 0, 0);
  return copy;
}
