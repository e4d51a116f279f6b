// The controls that step and run the cut, and the words that say where it stands.

class Player {
  /** `element`: the box of controls; `changed(moment)`: the cut shall stand there. */
  constructor(element, changed) {
    const get = name => element.querySelector(`[data-is="${name}"]`);
    Object.assign(this, {
      changed,
      slider: get("time"),
      run: get("run"),
      pace: get("pace"),
      part: get("part"),
      now: get("now"),
    });
    this.running = 0;
    this.slider.addEventListener("input", () => this._to(this.moments.at(Number(this.slider.value))));
    this.part.addEventListener("change", () =>
      this._to({ move: this.moments.parts[Number(this.part.value)].first, fraction: 0 }),
    );
    this.run.addEventListener("click", () => this.toggle());
    const on = (name, act) => get(name).addEventListener("click", () => (this.hold(), act()));
    on("begin", () => this._to(this.moments.begin));
    on("back", () => this.step(-1));
    on("on", () => this.step(1));
    on("end", () => this._to(this.moments.end));
  }

  /** Takes up a setup's moments; `lines(program)`: the program's text, line by line. */
  take(moments, words, lines, bed) {
    Object.assign(this, { moments, words, lines, bed });
    this.hold();
    this.slider.max = moments.total;
    this.slider.step = "any";
    const option = (p, i) =>
      new Option(`${moments.programs[p.program]}: ${moments.features[p.feature] || "way there"}`, i);
    this.part.replaceChildren(...moments.parts.map(option));
  }

  step(by) {
    this.hold();
    this._to(this.moments.step(this.moment, by));
  }

  toggle() {
    if (this.running) return this.hold();
    if (this.moments.isEnd(this.moment)) this._to(this.moments.begin);
    this.run.textContent = "stop";
    let last = performance.now(),
      seconds = this.moments.seconds(this.moment);
    const tick = now => {
      seconds += ((now - last) / 1000) * Number(this.pace.value);
      last = now;
      this._to(this.moments.at(seconds));
      if (this.moments.isEnd(this.moment)) this.hold();
      else this.running = requestAnimationFrame(tick);
    };
    this.running = requestAnimationFrame(tick);
  }

  hold() {
    cancelAnimationFrame(this.running);
    this.running = 0;
    this.run.textContent = "run";
  }

  _to(moment) {
    this.changed(moment);
  }

  /** Shows a moment on the controls. */
  show(moment) {
    this.moment = moment;
    const { moments, words } = this,
      { moves } = moments,
      seconds = moments.seconds(moment);
    this.slider.value = seconds;
    if (!moments.count) return void (this.now.textContent = "This setup has no moves.");
    this.part.value = moments.partOf(moment);
    const program = moments.programs[moves.program[moment.move]],
      line = moves.line[moment.move];
    const bit = moves.bits[moves.bit[moment.move]]?.name ?? "unknown bit";
    const text = this.lines(program)[line - 1]?.trim() ?? "",
      z = moments.tip(moment)[2];
    const feature = moments.features[moves.feature[moment.move]] || "no feature";
    this.slider.setAttribute("aria-valuetext", `${words.time(seconds)}, ${feature}`);
    this.now.replaceChildren(
      `${words.time(seconds)} of ${words.time(moments.total)}: `,
      strong(feature),
      `, ${program}, line ${line}`,
      // The text of a long program is not on the page to its end.
      ...(text ? [": ", code(text)] : []),
      `; ${bit}, its tip ${words.say(z - this.bed)} above the bed.`,
    );
  }
}

function strong(text) {
  return Object.assign(document.createElement("strong"), { textContent: text });
}

function code(text) {
  return Object.assign(document.createElement("code"), { textContent: text });
}
