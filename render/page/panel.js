/* The control panel: named states, then each control as what it is, and what works now in words. */
"use strict";

class Panel {
  #pressed = [];

  constructor(trial) {
    this.trial = trial;
    this.now = h("p", {role: "status", class: "now"});
    this.box = h("div", {class: "panel"}, this.now, this.#states(), this.#begin(),
      ...trial.controls.map(control => this.#control(control)),
      ...trial.latches.map(latch => this.#latch(latch)), this.#engineMoves());
    trial.onChange(() => this.#update());
  }

  /** A button that shows whether it is the one that counts. */
  #button(words, press, isPressed) {
    const button = h("button", {type: "button", click: press}, words);
    if (isPressed) this.#pressed.push([button, isPressed]);
    return button;
  }

  #row(name, label, ...buttons) {
    return h("div", {class: "row", role: "group", "aria-label": label},
      h("span", {class: "name"}, name), h("span", {class: "buttons"}, buttons));
  }

  #states() {
    const {trial} = this, names = trial.document.states.map(state => state.name);
    return names.length ? this.#row("States", "Named states", names.map(name =>
      this.#button(name, () => trial.inState(name), () => trial.state === name))) : null;
  }

  #begin() {
    return this.#row("Start again", "Start again", this.#button("from rest", () => this.trial.fromRest({})));
  }

  #control(control) {
    const {trial} = this, {name, positions, rest, momentary, sensed, key, switches} = control;
    const isAt = position => () => trial.position(name) === position;
    const plain = name === "engine" ? "" : momentary ? "button" : "switch";
    const what = key ? "ignition key" : sensed ? `sensed by ${listed(switches)}` : plain;
    const label = h("span", {}, name, what ? h("small", {}, what) : "");
    if (momentary && positions.length === 2) {
      const held = positions.find(position => position !== rest);
      const press = () => trial.move(name, trial.position(name) === held ? rest : held);
      return this.#row(label, name, this.#button(sensed ? held : `hold: ${held}`, press, isAt(held)));
    }
    return this.#row(label, name, positions.map(position =>
      this.#button(position, () => trial.move(name, position), isAt(position))));
  }

  /** A latch that each press turns over: how often that was done, nobody knows but whoever presses. */
  #latch({name}) {
    const {trial} = this, set = position => () => trial.move(name, position);
    const isSet = wanted => () => trial.memory.latched.has(name) === wanted;
    return this.#row(h("span", {}, name, h("small", {}, "toggled by its button")), name,
      this.#button("set", set("set"), isSet(true)), this.#button("cleared", set("cleared"), isSet(false)));
  }

  #engineMoves() {
    const names = this.trial.document.controls.filter(control => control.free).map(control => control.name);
    return names.length ? h("p", {class: "faint"}, `The engine moves ${listed(names)} as it turns.`) : null;
  }

  #update() {
    for (const [button, isPressed] of this.#pressed) button.setAttribute("aria-pressed", String(isPressed()));
    fill(this.now, this.#words());
  }

  /** The words for numbers that were calculated in advance. */
  #onWindings(point) {
    if (!point) return [];
    const whys = [...new Set(Object.values(point.untold))], {windings, rough} = point;
    const delivers = windings.map(name => `${name} delivers ${shown(Math.abs(point.amps[name] ?? 0), "A")} at ${
      shown(this.trial.across(this.trial.branch.get(name)), "V")}`);
    return [delivers.length ? `${delivers.join("; ")}. ` : "",
      "Calculated in advance; what alternates is shown as rms. ",
      rough.length ? `${listed(rough)}: from its W alone, and so a rough figure; measure its open-circuit voltage and `
        + "short-circuit current. " : "",
      whys.length ? `Not calculated is ${listed(Object.keys(point.untold))}: ${whys.join("; ")}. ` : ""];
  }

  #words() {
    const {trial} = this, {flow, memory} = trial;
    const begun = trial.begun ? (trial.state ? `State ${trial.state}, from rest. ` : "From rest. ")
      : "Relays, latches and generators as they were left. ";
    const fault = trial.fault.words ? h("strong", {}, `Fault: ${trial.faultWords}. `) : "";
    if (!flow) return [fault, begun, h("strong", {}, trial.why)];
    const elements = trial.document.branches.filter(b => b.status && b.type !== "coil" && b.type !== "unit supply");
    const those = wanted => elements.map(b => b.key).filter(key => trial.status(key) === wanted);
    const live = those("live"), dim = those("dim"), mean = flow.mean();
    const running = trial.document.machines.filter(each => flow.situation.machines.has(each.name));
    const sources = [...trial.document.batteries, ...running].map(({name, plus, minus}) => {
      const top = typeof plus === "string" ? plus : plus[0], amps = mean.amps.get(name);
      const word = amps < -5e-4 ? "is charged with" : "delivers";
      return `${name} ${word} ${shown(Math.abs(amps), "A")} at ${shown(mean.at(top) - mean.at(minus), "V")}`;
    });
    const left = trial.document.windings.left_out.filter(each => each.engine === trial.position("engine"));
    const whys = [...new Set(left.map(each => each.why))].join("; ");
    return [fault, begun, live.length ? `Live: ${listed(live)}. ` : "No load is live. ",
      dim.length ? `Dim: ${listed(dim)}. ` : "",
      memory.pulled.size ? `Pulled in: ${listed([...memory.pulled].sort())}. ` : "",
      sources.length ? `${sources.join("; ")}. ` : "",
      ...this.#onWindings(flow.point),
      left.length ? `The current of ${listed(left.map(each => each.winding))} is not calculated: ${whys}.` : ""];
  }
}
