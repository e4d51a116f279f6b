// The bench: one setup at a time, and everything that is drawn and said of it.

class Bench {
  constructor(page, data) {
    Object.assign(this, { page, data, words: new Words(data.units), works: new Map(), layers: {}, wants: new Set() });
    const get = id => page.querySelector(`#${id}`);
    this.get = get;
    this.ground = new Ground(get("map"));
    this.marks = new Marks(get("marks"));
    this.legend = new Legend(get("legend"), get("keys"));
    this.sawn = new Sawn(get("sawn"));
    this.strip = new Strip(get("strip"), (x, y) => {
      this.view.lookAt(x, y, this.view.width / this.view.scale);
      this.need("map");
    });
    this.player = new Player(get("player"), moment => this.goTo(moment));
    this.fingers = new Fingers(get("marks"), () => this.view, {
      point: at => this.point(at),
      saw: (a, b, done) => this.saw(a, b, done),
      look: () => this.need("map"),
      step: by => this.player.step(by),
      run: () => this.player.toggle(),
      pointer: () => this.pointer,
    });
    this._inks();
    this._controls(get);
  }

  get view() {
    return this.work.view;
  }

  /** Light, dark or paper. */
  _inks() {
    const take = () => {
      this.ink = inksOf(this.page);
      this.need("map", "sawn");
    };
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", take);
    const paper = new Paper(this, document.getElementById("prints"));
    addEventListener("beforeprint", () => paper.lay(take));
    addEventListener("afterprint", () => paper.clear(take));
    take();
  }

  _controls(get) {
    for (const box of this.page.querySelectorAll("[data-layer]")) {
      this.layers[box.dataset.layer] = box.checked;
      box.addEventListener("change", () => {
        this.layers[box.dataset.layer] = box.checked;
        this.need("map", "strip");
      });
    }
    const press = (id, act) =>
      get(id).addEventListener("click", () => {
        act();
        this.need("map");
      });
    press("whole", () => this.view.whole());
    press("closer", () => this.view.closer(1.6, ...(this.pointer ? this.view.toScreen(...this.pointer) : [])));
    press("farther", () => this.view.closer(1 / 1.6));
    press("along", () => this.sawAlong());
    const sawn = get("sawn");
    for (const name of ["pointermove", "pointerdown"]) {
      sawn.addEventListener(name, event => this.pointSection(event.clientX - sawn.getBoundingClientRect().left));
    }
    sawn.addEventListener("pointerleave", () => this.pointSection(null));
    new ResizeObserver(() => this.need("map", "sawn", "strip")).observe(get("marks"));
  }

  /** Shows a setup by its name; resolves when it is drawn. */
  async open(name) {
    this.work = await this._workOf(name);
    this.pointer = this.pointedCut = null;
    for (const button of document.querySelectorAll("[data-setup]")) {
      button.setAttribute("aria-pressed", String(button.dataset.setup === name));
    }
    this.get("zero").textContent = this.zeroWords();
    this.player.take(this.work.moments, this.words, program => programLines(program), this.work.setup.bed);
    this.goTo(this.work.moment);
    if (!this.work.section) this.sawAlong();
    this.ready = false;
    this.need("strip", "keys");
    this.draw();
    // What is not needed to see the map follows once it is seen.
    setTimeout(async () => {
      this.ready = true;
      this.need("map");
      this._workAhead(this.work);
      // Every setup is printed.
      for (const { name } of this.data.setups) await this._workOf(name);
    }, 30);
  }

  /** A setup's work, and before it that of the setup whose wood lies under it. */
  async _workOf(name) {
    const { data, works } = this;
    if (!works.has(name)) {
      const setup = await unpackedAll(data.setups.find(s => s.name === name));
      works.set(name, new Work(setup, data.table, data.rules, setup.beneath && (await this._workOf(setup.beneath))));
    }
    return works.get(name);
  }

  /** While nothing else is to be done the replay gets ready for jumps in time. */
  _workAhead(work) {
    setTimeout(() => {
      if (this.work !== work) return;
      if (this.player.running || this.frame || !work.prepare()) this._workAhead(work);
    }, 12);
  }

  goTo(moment) {
    this.work.goTo(moment);
    this.player.show(moment);
    this.read();
    this.need("map", "sawn");
    // Once time stands still the section is looked at exactly.
    this.moving = true;
    clearTimeout(this.later);
    this.later = setTimeout(() => {
      this.moving = false;
      this.need("map", "sawn");
    }, 150);
  }

  point(at) {
    this.pointer = at;
    this.read();
    this.need("marks");
  }

  read() {
    const { work, words } = this;
    const say = text => (this.get("reading").textContent = text);
    if (!this.pointer) return say("Point at the map, or touch it, to read the depth. Drag a line over it for a section. Two fingers zoom.");
    const [x, y] = this.pointer;
    const { face, frets } = work.setup;
    const { through } = this.data.rules;
    const z = work.height(x, y);
    const parts = [`x ${words.say(x)}, y ${words.say(y)}`, words.height(z, work.setup, through, work.isOpened(x, y))];
    const holder = this.layers.clamps && holderAt(work.setup, x, y);
    if (holder) parts.splice(1, 0, words.holder(holder));
    if (z > -Infinity) {
      const wanted = work.wanted.at(x, y);
      const known = wanted.demand ? words.wanted(wanted, face, through) : work.wanted.allowing(x, y)?.name;
      parts.push(known ?? "no cut is wanted here", work.isWaste(x, y) ? "waste" : "", words.fret(frets, x, y));
    }
    this.depth = face - z;
    return say(parts.filter(Boolean).join(" · "));
  }

  zeroWords() {
    return `Zero: ${this.work.setup.zeroWords}.`;
  }

  /** The section along the middle. */
  middle() {
    const { stock: [x0, , x1], sectionY: y } = this.work.setup;
    return new Section([x0, y], [x1, y]);
  }

  sawAlong() {
    const { a, b } = this.middle();
    this.saw(a, b, true);
  }

  saw(a, b, done) {
    this.work.section = new Section(a, b);
    this.pointedCut = null;
    this.moving = !done;
    this.need("marks", "sawn");
  }

  pointSection(px) {
    const { section } = this.work;
    const s = px === null ? -1 : this.sawn.along(px);
    const on = s >= 0 && s <= section.length;
    this.pointedCut = on ? section.cutAt(s, section.length / 60) : null;
    this.pointer = on ? section.place(s) : null;
    this.read();
    this.need("marks", "sawn again");
  }

  /** Goes to where a finding is: its setup, its place, and the moment when its line has been cut. */
  async jump(number) {
    const packed = this.data.setups.find(s => s.findings.some(f => f.number === number));
    if (!packed) return;
    if (packed.name !== this.work.setup.name) await this.open(packed.name);
    const { moments, setup } = this.work;
    const finding = setup.findings.find(f => f.number === number);
    const moment = finding.line ? moments.ofLine(finding.program, finding.line) : null;
    const at = finding.place ?? (moment ? moments.tip(moment).slice(0, 2) : null);
    this.work.found = number;
    if (moment) this.goTo(moment);
    if (at) {
      this.view.lookAt(...at, 40);
      this.point(at);
    }
    if (finding.line) showLine(finding.program, finding.line);
    this.need("map");
    this.page.scrollIntoView({ block: "start" });
    this.get("marks").focus({ preventScroll: true });
  }

  // Drawing

  /** Asks for a frame, and for what is to be done in it: "map", "marks", "keys", "strip", "sawn", "sawn again". */
  need(...what) {
    for (const one of what) this.wants.add(one);
    this.frame ??= requestAnimationFrame(() => this.draw());
  }

  draw() {
    cancelAnimationFrame(this.frame);
    this.frame = undefined;
    if (!this.work) return;
    const { work, wants, ink, words, layers } = this;
    const shared = { palette: work.palette, setup: work.setup, words, ink, standsAbove: work.standsAbove };
    this.wants = new Set();
    if (!work.arrived && !work.follow()) this.need("map", "sawn");
    placed(this.marks.canvas, this.view);
    if (this.strip.appear(this.view) || wants.has("strip")) {
      this.strip.paint(work.surface(layers.target), work.palette, work.setup.view, work.setup.parts);
    }
    if (wants.has("map") || wants.has("strip")) {
      const shown = layers.target || !this.ready ? 0 : (layers.left && LEFT_MARK) | (layers.deep && DEEP_MARK);
      work.paint(this.ground, layers.target, shown);
      if (!this.moving && !this.player.running && work.arrived) work.sharpen(this.ground, layers.target);
    }
    this.strip.draw(this.view, ink);
    this.marks.draw(this);
    this.legend.draw({ ...shared, depth: this.pointer ? this.depth : null });
    if (wants.has("keys")) this.legend.name(shared);
    if (wants.has("sawn")) {
      work.look(this.moving);
      this.pointedCut &&= work.section.cutAt((this.pointedCut.from + this.pointedCut.to) / 2, 1);
    }
    if (wants.has("sawn") || wants.has("sawn again")) {
      this.sawn.show(work.section, { ...shared, pointed: this.pointedCut });
      this.get("widths").textContent = words.widths(work.section.cuts, this.pointedCut);
    }
  }
}
