/*
 * What windings decide, as the engine calculated it: a flow like that of the solver, looked up by where the controls
 * are. Nothing in between is guessed: what was not calculated has no numbers.
 */
"use strict";

class InAdvance {
  constructor(document, {near, controls, branches, points, states}) {
    Object.assign(this, {document, near, controls, states});
    this.byPositions = new Map(points.map(point => [point.positions.join("\n"), point]));
    this.across = new Map(branches.map((key, i) => [key, i]));
  }

  /** Whether windings decide all voltages with the engine so. */
  decides(engine) { return this.document.windings.periodic.includes(engine ?? "off"); }

  /** What was calculated for a named state, or for where the controls are; undefined: nothing, nor for a position of
   *  what the engine moves or of a latch. */
  point(state, positions, pinned, position) {
    if (this.states[state]) return this.states[state];
    const others = Object.keys(positions).filter(name => !this.controls.includes(name));
    const moved = name => this.document.controls.some(control => control.name === name) && !pinned.has(name);
    return others.every(moved) ? this.byPositions.get(this.controls.map(position).join("\n")) : undefined;
  }

  /** A point as the solver gives it, in the circuit that it is of. */
  flow(point, circuit, positions, pinned) {
    const {document, across} = this, {memory: kinds, volts, amps, words, untold} = point;
    const memory = Object.fromEntries(Object.entries(kinds).map(([kind, names]) => [kind, new Set(names)]));
    const nodes = new Map(document.nodes.map(({name}, i) => [name, i])), live = new Set(point.live);
    const setpoints = new Map(circuit.machines.map(machine => [machine.name, machine.regulated]));
    for (const {name, rest} of document.controls) positions = {[name]: rest, ...positions};
    const situation = circuit.situation(positions, memory, setpoints, pinned);
    const known = (key, value) => key in untold ? undefined : value;
    const flow = {point, situation, positions, memory, shorted: point.shorted,
      at: node => volts[nodes.get(node)] ?? undefined,
      amps: {get: key => known(key, amps[key] ?? 0)},
      across: branch => known(branch.key, point.across[across.get(branch.key)]),
      live: node => live.has(document.nodes[nodes.get(node)]?.net),
      conducts: branch => !branch.guard || situation.conducting.has(branch.key),
      status: branch => words[branch.key] ?? ""};
    return Object.assign(flow, {mean: () => flow});
  }
}
