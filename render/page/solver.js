/*
 * A circuit as `loomwright export` writes it, with branches cut and one node on ground: what conducts with the controls
 * and all that remembers as they are, and the volts and amps of that. `settling.js` moves what remembers.
 *
 * Newton on curves that always rise, with a search along each step; sparse L D L' over one pattern a circuit, in which
 * what is open has 0 S. The engine in Python (checks/dc) says the same; tests compare.
 */
"use strict";

const TOLERANCE = 1e-8, ROUNDING = 1e-13, MOST_STEPS = 100, MOST_CUTS = 60;  // as checks/dc/newton.py has them

/** Numbers cannot be had: `parts` are what prevents it; `chatters`: they keep switching. */
class Unsolvable extends Error {
  constructor(parts, why, chatters = false) {
    super(why);
    Object.assign(this, {parts, chatters});
  }
}

/** A machine held at `held` V by the points (V, A) that were measured of its stator, `ripple` A besides. */
function heldAt(points, held, ohms, leak, ripple) {
  const most = points.at(-1)[1] + ripple, begins = held - most * ohms;
  const kept = points.slice(0, -1).map(([v, a]) => [v, a + ripple]).filter(([v]) => v < begins - 1e-3);
  kept.push([begins, most]);
  const rises = kept.slice(1).map(([w, b], i) => Math.max((kept[i][1] - b) / (w - kept[i][0]), leak));
  if (!rises.length) rises.push(leak);
  const knees = rises.slice(1).map((slope, i) => ({volts: kept[i + 1][0], slope: slope - rises[i], up: true}));
  knees.push({volts: begins, slope: 1 / ohms - rises.at(-1), up: true});
  knees.push({volts: held, slope: leak - 1 / ohms, up: true});
  return {slope: rises[0], offset: -kept[0][1] - rises[0] * kept[0][0], knees, filament: null};
}

class Circuit {
  /** `fault`: the branches `open`, and a node `grounded`. */
  constructor(document, fault = {}) {
    const gone = new Set(fault.open ?? []), known = this.known = document.constants;
    this.document = document;
    this.index = new Map(document.nodes.map((node, i) => [node.name, i]));
    this.branches = document.branches.filter(branch => !gone.has(branch.key));
    if (fault.grounded && fault.grounded !== document.ground && this.index.has(document.ground)) {
      this.branches.push({key: "short to ground", type: "link", owner: "", a: fault.grounded, b: document.ground,
        joins: "both", loads: "both", guard: null, model: {siemens: known.short_siemens, curve: null},
        asleep: null, reference: null, rated_amps: null, duty: 1, status: null});
    }
    this.byKey = new Map(this.branches.map(branch => [branch.key, branch]));
    this.controls = new Map(document.controls.map(control => [control.name, control]));
    this.batteries = document.batteries.map(each => ({...each, plus: [each.plus], battery: true}));
    this.machines = document.machines;
    this.latches = document.conditions.flatMap(each => each.latches ?? []).map(latch => latch.name);
    const duties = this.branches.reduce((sum, b) => sum + (1 - b.duty) * (b.rated_amps ?? 0), 0);
    this.ripple = this.batteries.length ? duties : 0;
    this.#joinNets();
    this.#listLaws();
  }

  /** Nets of what cannot open, and the edges between them that may, or that let current one way. */
  #joinNets() {
    const merged = new DisjointSet(this.index.size);
    for (const {a, b, joins, guard} of this.branches) {
      if (joins === "both" && !guard) merged.merge(this.index.get(a), this.index.get(b));
    }
    this.net = Int32Array.from(this.index.values(), i => merged.leader(i));
    this.onward = new Map();
    this.backward = new Map();
    const add = (map, from, to, branch) => map.get(from)?.push([to, branch]) ?? map.set(from, [[to, branch]]);
    for (const branch of this.branches) {
      const a = this.netOf(branch.a), b = this.netOf(branch.b);
      if (a === b || branch.joins === "never") continue;
      add(this.onward, a, b, branch);
      add(this.backward, b, a, branch);
      if (branch.loads === "both") { add(this.onward, b, a, branch); add(this.backward, a, b, branch); }
    }
  }

  netOf(node) { return this.net[this.index.get(node)]; }

  /** Every resistance and curve that may ever count, with its two nodes; which do depends on the situation. */
  #listLaws() {
    const laws = this.laws = [], at = name => this.index.get(name);
    const add = (key, a, b, more) => laws.push({key, a: at(a), b: at(b), ...more});
    for (const branch of this.branches) {
      if (branch.model || branch.asleep) add(branch.key, branch.reference ?? branch.a, branch.b, {branch});
    }
    for (const each of this.batteries) add(each.name, each.plus[0], each.minus, {battery: each});
    for (const each of this.machines) {
      const single = each.plus.length === 1;
      add(each.name, single ? each.plus[0] : each.inside, each.minus, {machine: each});
      const knees = [{volts: 0, slope: this.known.tap_siemens - this.known.leak, up: true}];
      const tap = {slope: this.known.leak, offset: 0, knees, filament: null};
      if (!single) for (const plus of each.plus) add(`${each.name} tap ${plus}`, each.inside, plus, {tap, of: each});
    }
    this.factor = new Factor(this.index.size, laws.map(({a, b}) => [a, b]));
    const sources = [...this.batteries, ...this.machines], negative = this.document.grounded === "negative";
    this.poles = [this.document.ground, ...sources.map(s => negative ? s.minus : s.plus[0])].map(at);
    this.poles = this.poles.filter(pole => pole !== undefined);
  }

  // --- what conducts -------------------------------------------------------------------------------------------------
  situation(positions, memory, setpoints, pinned) {
    const engine = positions.engine ?? "off", turning = engine !== "off";
    const conducting = new Set(), pulsing = new Set();
    for (const {key, guard} of this.branches) {
      if (!guard) continue;
      if ("control" in guard) {
        const moves = turning && this.controls.get(guard.control).free && !pinned.has(guard.control);
        if (moves) pulsing.add(key);
        if (moves || guard.positions.includes(positions[guard.control])) conducting.add(key);
      } else if ("relay" in guard ? memory.pulled.has(guard.relay) === guard.pulled
        : "output" in guard ? memory.on.has(guard.output) : true) conducting.add(key);
    }
    for (const {name, free, switches} of this.controls.values()) {
      if (turning && free && !switches.length && !pinned.has(name)) pulsing.add(name);
    }
    const found = {engine, turning, conducting, pulsing, asleep: this.#asleep(positions), machines: new Map()};
    for (const machine of this.machines) {
      const measured = this.#measured(found, machine), amps = measured?.amps ?? machine.amps[engine] ?? 0;
      if (!amps || machine.fields.length && !memory.excited.has(machine.name) || !this.#gives(found, machine)) continue;
      found.machines.set(machine.name, {machine, amps, ripple: 0, volts: setpoints.get(machine.name), measured});
    }
    const whole = [...found.machines.values()].reduce((sum, each) => sum + each.amps, 0);
    for (const each of found.machines.values()) {
      each.ripple = this.ripple * each.amps / whole;
      each.amps += each.ripple;
    }
    return found;
  }

  #asleep(positions) {
    if ((positions.engine ?? "off") !== "off") return false;
    const all = [...this.controls.values()], keys = all.filter(control => control.key);
    if (keys.length) return keys.every(({name}) => ["off", "lock", "park"].includes(positions[name]));
    return all.every(control => control.sensed || positions[control.name] === control.rest);
  }

  /** What was measured of the stator that a machine reaches. */
  #measured(situation, machine) {
    for (const {leads, by_leads: byLeads} of machine.measured) {
      const reached = leads.filter(lead => machine.phases.some(phase => this.reaches(situation, phase, [lead]))).length;
      const found = byLeads[reached];
      if (found && Object.keys(found).length) return found[situation.engine];
    }
    return undefined;
  }

  #gives(situation, {phases, stators, own_fields: ownFields}) {
    if (phases.length && phases.filter(phase => this.reaches(situation, phase, stators)).length < 2) return false;
    return ownFields.every(([end, pole]) => this.reaches(situation, end, [pole]));
  }

  /** The nets that current can come to from some nets (or from which it can come, by `ways`), up to `walls`. */
  #spread(situation, starts, ways = this.onward, walls = []) {
    const met = new Set(starts), queue = [...met], shut = new Set(walls);
    starts.forEach(net => shut.delete(net));
    for (const net of queue) {
      if (shut.has(net)) continue;
      for (const [to, {key, guard}] of ways.get(net) ?? []) {
        if (!met.has(to) && (!guard || situation.conducting.has(key))) { met.add(to); queue.push(to); }
      }
    }
    return met;
  }

  /** Whether current can come from a node to one of some others through what joins. */
  reaches(situation, start, ends) {
    if (!this.index.has(start)) return false;
    const met = this.#spread(situation, [this.netOf(start)]);
    return ends.some(end => this.index.has(end) && met.has(this.netOf(end)));
  }

  /** The sources that give current, each with the nets of its poles. */
  #sources(situation) {
    const running = this.machines.filter(machine => situation.machines.has(machine.name));
    return [...this.batteries, ...running].map(source =>
      ({source, plus: source.plus.map(p => this.netOf(p)), minus: this.netOf(source.minus)}));
  }

  /** The nets connected to a feed pole (`feed`) or to a return pole. */
  atPole(situation, feed) {
    const all = new Set(), fromPlus = feed === (this.document.grounded === "negative");
    for (const {plus, minus} of this.#sources(situation)) {
      const met = fromPlus ? plus.map(p => this.#spread(situation, [p], this.onward, [minus]))
        : [this.#spread(situation, [minus], this.backward, plus)];
      met.forEach(nets => nets.forEach(net => all.add(net)));
    }
    return all;
  }

  /** Whether what joins leads from + to − of a source, or of a battery. */
  shorted(situation, {batteriesOnly = false} = {}) {
    return this.#sources(situation).some(({source, plus, minus}) => (!batteriesOnly || source.battery)
      && plus.some(p => this.#spread(situation, [p], this.onward, [minus]).has(minus)));
  }

  // --- numbers -------------------------------------------------------------------------------------------------------
  /** What counts in a situation: resistances as siemens, all else as curves that may lie `along` by some V. */
  #active(situation, resting) {
    const found = [], {known} = this;
    for (const [i, {key, branch, battery, machine, tap, of}] of this.laws.entries()) {
      let curve = null, siemens = 0, along = 0;
      if (branch) {
        if (branch.guard && !situation.conducting.has(key)) continue;
        if (branch.type === "rectifier leg" && situation.machines.has(branch.owner)) continue;
        const model = situation.asleep && branch.type === "unit supply" ? branch.asleep : branch.model;
        if (!model || resting?.has(key)) continue;
        ({curve, siemens} = model);
      } else if (battery) ({curve} = battery);
      else {
        const running = situation.machines.get((machine ?? of).name);
        if (!running) continue;
        curve = tap ?? this.#machineCurve(running);
        if (machine) along = running.volts - machine.regulated;
      }
      found.push({i, a: this.laws[i].a, b: this.laws[i].b, key, siemens: siemens ?? 0, curve, along});
    }
    return found;
  }

  #machineCurve({machine, amps, ripple, measured}) {
    const {machine_ohms: ohms, leak, least_slope: leastSlope} = this.known, volts = machine.regulated;
    if (measured) return heldAt(measured.points, volts, ohms, leak, ripple);
    const least = leastSlope * amps / volts, start = volts - amps * ohms;
    const knees = [{volts: start, slope: 1 / ohms - least, up: true}, {volts, slope: leak - 1 / ohms, up: true}];
    return {slope: least, offset: -amps - least * start, knees, filament: null};
  }

  /** A through a law at `volts` V across it, and its slope in S. */
  #evaluate({siemens, curve, along}, volts) {
    if (!curve) return [siemens * volts, siemens];
    const v = volts - along, {filament} = curve;
    let amps = curve.offset + curve.slope * v, slope = curve.slope;
    for (const knee of curve.knees) {
      const beyond = v - knee.volts;
      if (knee.up ? beyond > 0 : beyond < 0) { amps += knee.slope * beyond; slope += knee.slope; }
    }
    if (filament) {
      const {lamp_hot_over_cold: cold, lamp_exponent: exponent} = this.known, share = Math.abs(v) / filament.volts;
      const hot = share ** exponent, isCold = cold * share <= hot;
      amps += Math.sign(v) * filament.amps * (isCold ? cold * share : hot);
      slope += (isCold ? cold : exponent * hot / share) * filament.amps / filament.volts;
    }
    return [amps, slope];
  }

  /** Volts of every node at which the currents at each add up to zero, from `start`. */
  #solve(active, start) {
    const count = this.index.size, {factor} = this, ties = this.#ties(active);
    const volts = new Float64Array(start ?? count), entries = new Float64Array(factor.slots);
    const diagonal = new Float64Array(count), excess = new Float64Array(count);
    if (!count) return volts;
    let worst = 0;
    for (let step = 0; step <= MOST_STEPS; step++) {
      entries.fill(0);
      diagonal.fill(0);
      excess.fill(0);
      for (const node of ties) { diagonal[node] += this.known.tie; excess[node] += this.known.tie * volts[node]; }
      let steepest = 0;
      for (const law of active) {
        const {a, b, i} = law, [amps, slope] = this.#evaluate(law, volts[a] - volts[b]);
        excess[a] += amps;
        excess[b] -= amps;
        if (a !== b) {
          diagonal[a] += slope;
          diagonal[b] += slope;
          entries[factor.slot[i]] -= slope;
        }
        steepest = Math.max(steepest, slope);
      }
      worst = excess.reduce((most, amps, i) => Math.abs(amps) > Math.abs(excess[most]) ? i : most, 0);
      const size = volts.reduce((most, v) => Math.max(most, Math.abs(v)), 0);
      const enough = Math.abs(excess[worst]) < TOLERANCE + ROUNDING * 2 * steepest * size;
      const move = factor.solve(entries, diagonal, excess.map(amps => -amps));
      const share = this.#share(active, ties, volts, move, excess);
      for (let i = 0; i < count; i++) volts[i] += share * move[i];
      if (enough) return volts;
    }
    const name = this.document.nodes[worst].name;
    throw new Unsolvable([name], `no operating point found: the currents at ${name} do not add up`);
  }

  /** How far to go along a step: to where what rises with every law stops falling. */
  #share(active, ties, volts, move, excess) {
    const fall = share => {
      let slope = 0, steeper = 0;
      for (const node of ties) {
        slope += this.known.tie * (volts[node] + share * move[node]) * move[node];
        steeper += this.known.tie * move[node] ** 2;
      }
      for (const law of active) {
        const along = move[law.a] - move[law.b];
        const [amps, rise] = this.#evaluate(law, volts[law.a] - volts[law.b] + share * along);
        slope += amps * along;
        steeper += rise * along * along;
      }
      return [slope, steeper];
    };
    const downhill = excess.reduce((sum, amps, i) => sum + amps * move[i], 0);
    let [value, steeper] = fall(1), low = 0, high = 1, share = 1;
    if (!(downhill < 0 && value > 0.1 * -downhill + 1e-15)) return 1;
    for (let cut = 0; cut < MOST_CUTS && (cut === 0 || Math.abs(value) > -0.01 * downhill); cut++) {
      const better = steeper > 0 ? share - value / steeper : low;
      share = low < better && better < high ? better : 0.5 * (low + high);
      [value, steeper] = fall(share);
      if (value > 0) high = share; else low = share;
    }
    return share;
  }

  /** For each island the node that is held at 0 V: a return pole, or else the first. */
  #ties(active) {
    const merged = new DisjointSet(this.index.size), ties = new Map();
    for (const {a, b} of active) merged.merge(a, b);
    for (const node of [...this.poles, ...this.index.values()]) {
      const leader = merged.leader(node);
      if (!ties.has(leader)) ties.set(leader, node);
    }
    return [...ties.values()];
  }

  /** What flows in a situation; `resting`: elements of a duty whose circuit is open, by key. */
  flow(situation, start, resting = null) {
    const active = this.#active(situation, resting), volts = this.#solve(active, start);
    const amps = new Map(this.branches.map(branch => [branch.key, 0]));
    for (const law of active) amps.set(law.key, this.#evaluate(law, volts[law.a] - volts[law.b])[0]);
    for (const source of [...this.batteries, ...this.machines]) amps.set(source.name, -(amps.get(source.name) ?? 0));
    const at = node => volts[this.index.get(node)];
    return {situation, volts, amps, at, across: ({a, b}) => at(a) - at(b)};
  }
}
