// The bench: one setup at a time, its map, its section, its moments, and everything that is drawn of them.

const narrow = () => matchMedia("(max-width: 40rem)").matches;

class Bench {
  constructor(page, data) {
    Object.assign(this, { page, data, words: new Words(data.units), setups: new Map(), layers: {}, wants: new Set() });
    const get = id => page.querySelector(`#${id}`);
    this.ground = new Ground(get("map"));
    this.marks = new Marks(get("marks"));
    ((this.legend = new Legend(get("legend"))), (this.sawn = new Sawn(get("sawn"))));
    this.strip = new Strip(
      get("strip"),
      (x, y) => (this.view.lookAt(x, y, this.view.width / this.view.scale), this.need("map")),
    );
    this.player = new Player(get("player"), moment => this.goTo(moment));
    ((this.reading = get("reading")), (this.widths = get("widths")), (this.zeroWords = get("zero")));
    this.fingers = new Fingers(get("marks"), () => this.view, {
      point: at => this.point(at),
      saw: (a, b, done) => this.saw(a, b, done),
      look: () => this.need("map"),
      step: by => this.player.step(by),
      run: () => this.player.toggle(),
      pointer: () => this.pointer,
    });
    const inks = () => ((this.ink = inksOf(page)), this.need("map", "sawn"));
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", inks);
    // Paper is light, and what is to be printed has to be drawn at once.
    const paper = on => () => {
      document.documentElement.classList.toggle("paper", on);
      inks();
      this.draw();
      if (on) (this.ground.asPicture(), this.marks.draw(this, true));
    };
    addEventListener("beforeprint", paper(true));
    addEventListener("afterprint", paper(false));
    new ResizeObserver(() => this.setup && this.need("map", "sawn", "strip")).observe(get("marks"));
    inks();
    this._controls(get);
  }

  _controls(get) {
    for (const box of this.page.querySelectorAll("[data-layer]")) {
      this.layers[box.dataset.layer] = box.checked;
      box.addEventListener("change", () => {
        this.layers[box.dataset.layer] = box.checked;
        this.need("map", "strip");
      });
    }
    const look = (id, act) => get(id).addEventListener("click", () => (act(), this.need("map")));
    look("whole", () => this.view.whole());
    look("closer", () => this.view.closer(1.6, ...(this.pointer ? this.view.toScreen(...this.pointer) : [])));
    look("farther", () => this.view.closer(1 / 1.6));
    get("along").addEventListener("click", () => this.sawAlong());
    const sawn = get("sawn");
    sawn.addEventListener("pointermove", event => this.pointSection(event.clientX - sawn.getBoundingClientRect().left));
    sawn.addEventListener("pointerdown", event => this.pointSection(event.clientX - sawn.getBoundingClientRect().left));
    sawn.addEventListener("pointerleave", () => this.pointSection(null));
  }

  /** Shows a setup by its name; resolves when it is drawn. */
  async open(name) {
    if (!this.setups.has(name))
      this.setups.set(name, await this._prepared(this.data.setups.find(s => s.name === name)));
    Object.assign(this, this.setups.get(name), { pointer: null, pointedCut: null });
    for (const button of document.querySelectorAll("[data-setup]")) {
      button.setAttribute("aria-pressed", String(button.dataset.setup === name));
    }
    this.zeroWords.textContent = `Zero: ${this.setup.zeroWords}.`;
    this.player.take(this.moments, this.words, program => programLines(program));
    this.goTo(this.moment);
    if (!this.section) this.sawAlong();
    this.point(null);
    this.need("strip", "sawn");
    this.ready = false;
    this.draw();
    // What is not needed to see the map follows once it is seen.
    setTimeout(() => ((this.ready = true), this.need("map"), this._workAhead(this.cutting)), 30);
  }

  /** While nothing else is to be done the replay gets ready for jumps in time. */
  _workAhead(cutting) {
    setTimeout(() => {
      if (this.cutting !== cutting) return;
      if (!this.live) (this._seek(), this.live.mark(this.wanted.bounds(this.live.grid), true));
      if (this.player.running || this.frame || !cutting.prepare(8)) this._workAhead(cutting);
      else this._seek();
    }, 12);
  }

  async _prepared(packed) {
    const setup = await unpackedAll(packed),
      finished = Grid.ofMap(setup.map),
      cutting = new Cutting(setup.replay);
    const moments = new Moments(cutting.moves);
    return {
      setup,
      cutting,
      moments,
      view: new View(setup.view),
      wanted: new Wanted(setup.wanted),
      moment: moments.end,
      section: null,
      palette: new Palette(this.data.table, setup.face, this.data.rules),
      final: new Relief(finished),
      live: null,
      target: null,
      found: null,
      standsAbove: finished.heights.some(z => z > setup.face + 0.02),
    };
  }

  // Time

  get atEnd() {
    return this.moments.isEnd(this.moment);
  }

  /** The exact height of the wood at a place at this moment; NaN beside it. */
  height(x, y) {
    const [x0, y0, x1, y1] = this.setup.stock;
    if (x < x0 || x > x1 || y < y0 || y > y1) return NaN;
    return this.moments.count
      ? this.cutting.heightAt(x, y, this.moment.move, this.moment.fraction)
      : this.finishedAt(x, y);
  }

  finishedAt(x, y) {
    const i = this.final.grid.cell(x, y);
    return i < 0 ? NaN : this.final.grid.heights[i];
  }

  goTo(moment) {
    this.moment = moment;
    this.player.show(moment);
    if (!this.atEnd) this._seek();
    this.read();
    this._soon();
    this.need("relief", "sawn");
  }

  _seek() {
    const { cutting } = this;
    if (this.live || !this.atEnd) cutting.seek(this.moment.move, this.moment.fraction);
    const box = cutting.dirty;
    if (!this.live) {
      this.live = new Relief(
        new Grid(cutting.rows, cutting.cols, cutting.x0, cutting.y0, cutting.pitch, cutting.heights),
      );
      this.setups.get(this.setup.name).live = this.live;
      return;
    }
    if (!box) return;
    this.live.refresh(box);
    const [a, b, c, d] = this.stale ?? [Infinity, Infinity, 0, 0];
    this.stale = [Math.min(a, box[0]), Math.min(b, box[1]), Math.max(c, box[2]), Math.max(d, box[3])];
  }

  /** Once time stands still the section is looked at exactly. */
  _soon() {
    clearTimeout(this.later);
    this.coarse = true;
    this.later = setTimeout(() => ((this.coarse = false), this.need("sawn")), 150);
  }

  // Pointing

  point(at) {
    this.pointer = at;
    this.read();
    this.need("marks");
  }

  read() {
    if (!this.pointer)
      return void (this.reading.textContent =
        "Point at the map to read it; drag a line over it to saw the wood open there.");
    const [x, y] = this.pointer,
      { setup, words } = this,
      z = this.height(x, y),
      { through } = this.data.rules;
    this.depth = setup.face - z;
    const parts = [`x ${words.say(x)}, y ${words.say(y)}`, words.height(z, setup.face, through)];
    if (z > -Infinity) {
      const wanted = this.wanted.at(x, y),
        beside = this.wanted.allowing(x, y);
      const known = wanted.demand ? words.wanted(wanted, setup.face, through) : beside ? beside.name : "";
      parts.push(known || "nothing is asked for here", words.fret(setup.frets, x, y));
    }
    this.reading.textContent = parts.filter(Boolean).join(" · ");
  }

  // Sections

  sawAlong() {
    const [x0, , x1] = this.setup.stock;
    this.saw([x0, 0], [x1, 0], true);
  }

  saw(a, b, done) {
    this.section = this.setups.get(this.setup.name).section = new Section(a, b);
    this.pointedCut = null;
    this.coarse = !done;
    this.need("marks", "sawn");
  }

  pointSection(px) {
    const s = px === null ? null : this.sawn.along(px),
      reach = this.section.length / 60;
    this.pointedCut = s === null ? null : this.section.cutAt(s, reach);
    this.pointer = s === null || s < 0 || s > this.section.length ? null : this.section.place(s);
    this.read();
    this.need("marks", "sawn again");
  }

  _look() {
    const { section, setup } = this,
      surface = this.atEnd ? this.final.grid : this.live.grid;
    const coarse = (x, y) => {
      const i = surface.cell(x, y);
      return i < 0 ? NaN : surface.heights[i];
    };
    const exact = (x, y) => this.height(x, y);
    const count = Math.min(6000, Math.max(200, Math.ceil(section.length / Math.min(0.1, surface.pitch))));
    const short = section.length < 120;
    if (this.coarse) section.look(Math.min(1500, count), coarse, coarse, null);
    else
      section.look(short ? Math.max(count, 1200) : count, short ? exact : coarse, exact, (x, y) => {
        const [x0, y0, x1, y1] = setup.stock;
        return x <= x0 || x >= x1 || y <= y0 || y >= y1 ? NaN : this.wanted.at(x, y).height;
      });
  }

  _widthWords() {
    const { words, section } = this,
      { cuts } = section;
    const say = cut =>
      `${words.say(cut.width)} wide from wall to wall half way down, ${words.say(cut.rim - cut.floor)} deep`;
    if (this.pointedCut) return say(this.pointedCut) + ".";
    if (!cuts.length) return "No cut lies under this line.";
    if (cuts.length <= 3) return cuts.map(say).join("; ") + ".";
    return `${cuts.length} cuts lie under this line: point at one in the section to measure it.`;
  }

  // Findings

  /** Goes to where a finding is: its setup, its place, and the moment when its line has been cut. */
  async jump(number) {
    const packed = this.data.setups.find(s => s.findings.some(f => f.number === number));
    if (!packed) return;
    if (packed.name !== this.setup.name) await this.open(packed.name);
    const finding = this.setup.findings.find(f => f.number === number);
    this.found = number;
    const moment = finding.line ? this.moments.ofLine(finding.program, finding.line) : null;
    if (moment) this.goTo(moment);
    const at = finding.place ?? (moment ? this.moments.tip(moment).slice(0, 2) : null);
    if (at) (this.view.lookAt(...at, 40), this.point(at));
    if (finding.line) showLine(finding.program, finding.line);
    this.need("map");
    this.page.scrollIntoView({ block: "start" });
  }

  // Drawing

  need(...what) {
    for (const one of what) this.wants.add(one);
    this.frame ??= requestAnimationFrame(() => this.draw());
  }

  draw() {
    cancelAnimationFrame(this.frame);
    this.frame = undefined;
    if (!this.setup) return;
    const wants = this.wants;
    this.wants = new Set();
    this._fit();
    if (this.strip.appear(this.view) || wants.has("strip"))
      this.strip.paint(this._surface(), this.palette, this.setup.view);
    if (wants.has("map") || wants.has("relief") || wants.has("strip")) this._paint();
    this.strip.draw(this.view, this.ink);
    this.marks.draw(this);
    this.legend.draw({ ...this._common(), depth: this.pointer ? this.depth : null, standsAbove: this.standsAbove });
    if (wants.has("sawn"))
      (this._look(), (this.pointedCut &&= this.section.cutAt((this.pointedCut.from + this.pointedCut.to) / 2, 1)));
    if (wants.has("sawn") || wants.has("sawn again")) {
      this.sawn.show(this.section, {
        ...this._common(),
        face: this.setup.face,
        top: this.setup.top,
        pointed: this.pointedCut,
      });
      this.widths.textContent = this._widthWords();
    }
  }

  _common() {
    return { palette: this.palette, setup: this.setup, words: this.words, ink: this.ink };
  }

  _fit() {
    const { canvas } = this.marks,
      [x0, y0, x1, y1] = this.setup.view,
      beside = MARGIN.left + MARGIN.right;
    const wanted = ((canvas.clientWidth - beside) * (y1 - y0)) / (x1 - x0) + MARGIN.top + MARGIN.bottom;
    canvas.parentElement.style.height = `${Math.round(Math.max(260, Math.min(430, wanted)))}px`;
    const w = canvas.clientWidth - MARGIN.left - MARGIN.right,
      h = canvas.clientHeight - MARGIN.top - MARGIN.bottom;
    const { clientWidth: all, clientHeight: tall } = canvas,
      part = (length, whole) => `${(100 * length) / whole}%`;
    const shape = {
      shape: all / tall,
      left: part(MARGIN.left, all),
      top: part(MARGIN.top, tall),
      width: part(w, all),
      height: part(h, tall),
    };
    for (const name of Object.keys(shape)) canvas.parentElement.style.setProperty(`--${name}`, shape[name]);
    if (!(w > 0 && h > 0) || (w === this.view.width && h === this.view.height)) return;
    const first = this.view.scale === 0;
    this.view.resize(w, h);
    // A long board on a narrow screen begins at its nut end, large enough to be read.
    if (first && narrow()) this.view.lookAt(x0, (y0 + y1) / 2, (1.15 * (y1 - y0) * w) / h);
  }

  _surface() {
    if (!this.layers.target) return this.atEnd ? this.final : this.live;
    const { grid } = this.final;
    this.target ??= new Relief(new Grid(grid.rows, grid.cols, grid.x0, grid.y0, grid.pitch, this.wanted.target(grid)));
    return this.target;
  }

  _paint() {
    const relief = this._surface(),
      shown = this.layers.target || !this.ready ? 0 : 1;
    const layers = shown * ((this.layers.left ? LEFT_MARK : 0) | (this.layers.deep ? DEEP_MARK : 0));
    if (layers && !relief.isMarked) relief.mark(this.wanted.bounds(relief.grid), relief === this.live);
    const changing = relief === this.live;
    this.ground.paint(relief, this.view, this.palette, layers, { changing, stale: this.stale });
    if (changing) this.stale = null;
  }
}
