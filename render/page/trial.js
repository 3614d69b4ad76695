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
    this.advance = new InAdvance(this.document, known.in_advance);
    this.branch = new Map(this.document.branches.map(branch => [branch.key, branch]));
    this.wire = new Map(known.wires.map(wire => [wire.name, wire]));
    this.part = new Map(known.parts.map(part => [part.name, part]));
    this.netOf = new Map(this.document.nodes.map(({name, net}) => [name, net]));
    this.windingNets = this.#windingNets();
    this.controls = this.document.controls.filter(control => !control.free);
    this.latches = this.document.conditions.flatMap(each => each.latches ?? []).filter(latch => latch.toggles);
    this.wrong = this.#wrong();
    this.fault = NO_FAULT;
    this.circuit = this.sound;
    this.fromRest({});
  }

  /** The nets that windings and what only they can feed are on, but for ground. */
  #windingNets() {
    const {branches, windings, ground} = this.document;
    const own = branches.filter(({key, type}) => type === "winding" || windings.only.includes(key));
    const nets = new Set(own.flatMap(({a, b}) => [this.netOf.get(a), this.netOf.get(b)]));
    nets.delete(this.netOf.get(ground));
    return nets;
  }

  onChange(listener) {
    this.#listeners.push(listener);
    listener(this);
  }

  /** The named state whose voltages here are not those that were calculated in advance; "" where none does. */
  #wrong() {
    for (const {name, positions, pinned, points} of this.document.states) {
      if (!points.length || points[0].shorted || this.advance.decides(positions.engine)) continue;
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
    if (this.advance.decides(this.positions.engine) && circuit === this.sound) return this.#lookedUp();
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

  /** What was calculated in advance for the controls as they are, from rest. */
  #lookedUp() {
    const {advance, positions, pinned, sound} = this;
    const {problem} = this.document.states.find(state => state.name === this.state) ?? {};
    if (problem) return [null, `No numbers: ${problem}.`];
    const point = advance.point(this.state, positions, pinned, name => this.position(name));
    if (!point) {
      return [null, "No numbers: a winding decides all voltages now. They are calculated in advance for each named state "
        + `and ${advance.near ? "" : "some settings "}one press from it: go there, or write “state NAME { ${away(this).join(", ")} }” into ${this.known.file} and make `
        + "the page again."];
    }
    if (point.problem) return [null, `No numbers: ${point.problem}.`];
    return point.shorted ? [null, DEAD_SHORT] : [advance.flow(point, sound, positions, pinned), ""];
  }

  #solve() {
    [this.flow, this.why] = this.#tried(this.circuit, this.memory);
    if (this.flow) this.memory = this.flow.memory;
    this.begun ||= !!this.flow?.point;  // what was calculated in advance begins at rest
    [this.soundFlow, this.soundWhy] = this.circuit === this.sound ? [this.flow, this.why]
      : this.#tried(this.sound, this.soundMemory);
    this.soundMemory = this.soundFlow?.memory ?? this.soundMemory;
    for (const name of this.sound.latches) delete this.positions[name];  // put so once, a latch stays by itself or not
    this.#listeners.forEach(listener => listener(this));
  }

  // --- what can be asked of the present moment -----------------------------------------------------------------------
  volts(node) { return this.#isLeftOut(node) ? undefined : this.flow?.at(node); }

  amps(key) { return this.leftOut(key) ? undefined : this.flow?.amps.get(key); }

  /** V across a branch, whichever way. */
  across(branch) { return this.leftOut(branch.key) ? undefined : Math.abs(this.flow?.across(branch)); }

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
    const {windings} = this.document, engine = this.position("engine"), untold = this.flow?.point?.untold[key];
    if (untold) return `not calculated: ${untold}`;
    const lack = windings.left_out.find(each => each.engine === engine), {a, wire} = this.branch.get(key) ?? {};
    return lack && (windings.only.includes(key) || wire && this.#isLeftOut(a)) ? `not calculated: ${lack.why}` : "";
  }

  /** Whether nothing feeds a node but a winding whose current is not calculated. */
  #isLeftOut(node) {
    const lacks = this.document.windings.left_out.some(each => each.engine === this.position("engine"));
    return lacks && this.windingNets.has(this.netOf.get(node)) && !this.flow?.live(node);
  }
}
