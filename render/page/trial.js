/*
 * What is being tried: where the controls are, what relays and latches remember, which fault is in, and what flows.
 * Whoever shows something of it listens with `trial.onChange`.
 */
"use strict";

const NO_FAULT = {words: "", open: [], grounded: "", blown: []};
const DEAD_SHORT = "Dead short: the + of a source is connected to its own −. No numbers.";
const OFF_BY = 0.01;  // V by which a named state may differ from what was calculated in advance

class Trial {
  #listeners = [];

  constructor(known) {
    this.known = known;
    this.document = known.circuit;
    this.sound = new SettlingCircuit(this.document);
    this.branch = new Map(this.document.branches.map(branch => [branch.key, branch]));
    this.wire = new Map(known.wires.map(wire => [wire.name, wire]));
    this.part = new Map(known.parts.map(part => [part.name, part]));
    this.controls = this.document.controls.filter(control => !control.free);
    this.latches = this.document.conditions.flatMap(each => each.latches ?? []).filter(latch => latch.toggles);
    this.wrong = this.#wrong();
    this.fault = NO_FAULT;
    this.circuit = this.sound;
    this.fromRest({});
  }

  onChange(listener) {
    this.#listeners.push(listener);
    listener(this);
  }

  /** The named state whose voltages here are not those that were calculated in advance; "" where none does. */
  #wrong() {
    for (const {name, positions, pinned, points} of this.document.states) {
      const engine = positions.engine ?? "off";
      if (!points.length || points[0].shorted || this.document.windings.periodic.includes(engine)) continue;
      try {
        const flow = this.sound.settle(positions, this.sound.rest(), {pinned: new Set(pinned)});
        const far = Object.entries(points[0].volts).some(([node, volts]) =>
          (flow.live(node) || flow.returned(node)) && !(Math.abs(flow.at(node) - volts) <= OFF_BY));
        if (far) return name;
      } catch (error) {
        if (!(error instanceof Unsolvable)) throw error;
        return name;
      }
    }
    return "";
  }

  position(name) { return this.positions[name] ?? this.sound.controls.get(name)?.rest ?? ""; }

  /** Start again: everything as it is before the key is first turned. */
  fromRest(positions, state = "", pinned = []) {
    this.state = state;
    this.pinned = new Set(pinned);
    this.positions = {...positions};
    this.memory = this.soundMemory = this.circuit.rest();
    this.begun = true;
    this.#solve();
  }

  inState(name) {
    const state = this.document.states.find(each => each.name === name);
    this.fromRest(state.positions, name, state.pinned);
  }

  /** Go on from what relays and latches remember. */
  move(name, position) {
    this.positions = {...this.positions, [name]: position};
    this.state = "";
    this.pinned = new Set();
    this.begun = false;
    this.#solve();
  }

  /** Put one fault in, and none besides: branches `open`, or a node `grounded`. */
  setFault(words, {open = [], grounded = ""}) {
    this.fault = {words, open, grounded, blown: []};
    this.soundMemory = this.memory;
    this.circuit = this.#damaged([]);
    this.#solve();
  }

  repair() {
    this.fault = NO_FAULT;
    this.circuit = this.sound;
    this.#solve();
  }

  /** The circuit with its fault, and with more open besides. */
  #damaged(more) {
    const {open, grounded, blown} = this.fault;
    return new SettlingCircuit(this.document, {open: [...open, ...blown.map(({key}) => key), ...more], grounded});
  }

  /** Open the fuse, or what else protects, that a short to ground opens: the smallest that ends it by itself. "" where
   *  that did it, else why there are no numbers. */
  #open(situation) {
    const {grounded, blown} = this.fault, {devices} = this.known, batteriesOnly = true;
    const ends = keys => !this.#damaged(keys).shorted(situation, {batteriesOnly});
    if (!grounded || ends([]) || this.sound.shorted(situation, {batteriesOnly})) return DEAD_SHORT;
    const [first, second] = devices.filter(({key}) => !this.isCut(key) && ends([key]));
    if (!first) {
      return ends(devices.map(({key}) => key)) ? "Dead short: one fuse alone does not end it. No numbers."
        : "Dead short: no fuse protects it: fire. No numbers.";
    }
    if (second?.amps === first.amps) return `Dead short: it opens ${first.key} or ${second.key}. No numbers.`;
    this.fault = {...this.fault, blown: [...blown, first]};
    this.circuit = this.#damaged([]);
    return "";
  }

  /** What flows in a circuit with the controls as they are, from a memory; [flow or null, why not]. */
  #tried(circuit, memory) {
    if (this.wrong) {
      return [null, `No numbers: state ${this.wrong} has other voltages here than were calculated in advance.`];
    }
    try {
      const upToShort = circuit !== this.sound && !!this.fault.grounded;
      const flow = circuit.settle(this.positions, memory, {pinned: this.pinned, upToShort});
      if (!flow.shorted) return [flow, ""];
      const why = circuit === this.sound ? DEAD_SHORT : this.#open(flow.situation);
      return why ? [null, why] : this.#tried(this.circuit, flow.memory);
    } catch (error) {
      if (!(error instanceof Unsolvable)) throw error;
      const {chatters, message} = error;
      return [null, chatters ? `${message}. No settled state: no numbers.` : `No numbers: ${message}.`];
    }
  }

  #solve() {
    [this.flow, this.why] = this.#tried(this.circuit, this.memory);
    this.inAdvance = this.flow ? null : this.#inAdvance();
    if (this.flow) this.memory = this.flow.memory;
    [this.soundFlow, this.soundWhy] = this.circuit === this.sound ? [this.flow, this.why]
      : this.#tried(this.sound, this.soundMemory);
    this.soundMemory = this.soundFlow?.memory ?? this.soundMemory;
    for (const name of this.sound.latches) delete this.positions[name];  // put so once, a latch stays by itself or not
    this.#listeners.forEach(listener => listener(this));
  }

  /** A named state with alternating current in it, as it was calculated in advance. */
  #inAdvance() {
    const state = this.document.states.find(each => each.name === this.state);
    const turning = state && this.document.windings.periodic.includes(state.positions.engine ?? "off");
    return turning && !this.fault.words && state.points.length && !this.wrong ? state.points[0] : null;
  }

  // --- what can be asked of the present moment -----------------------------------------------------------------------
  volts(node) { return this.flow ? this.flow.at(node) : this.inAdvance?.volts[node]; }

  amps(key) { return this.flow ? this.flow.amps.get(key) : this.inAdvance?.amps[key]; }

  isCut(key) { return this.fault.open.includes(key) || this.fault.blown.some(each => each.key === key); }

  /** The fault and what it has blown, as a clause. */
  get faultWords() {
    return [this.fault.words, ...this.fault.blown.map(({key, opened}) => `${key} has ${opened}`)].join(", ");
  }

  /** `dead`, `dim` or `live`; "" for what is no load, and where there are no numbers. */
  status(key) {
    const branch = this.branch.get(key);
    return !this.flow || !branch?.status ? "" : this.isCut(key) ? "dead" : this.flow.status(branch);
  }

  /** Why the current of a branch is not calculated though all else is; "" where it is. */
  leftOut(key) {
    const {windings} = this.document, engine = this.position("engine");
    const lack = windings.left_out.find(each => each.engine === engine);
    return lack && windings.only.includes(key) ? `not calculated: ${lack.why}` : "";
  }
}
