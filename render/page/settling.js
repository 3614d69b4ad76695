/*
 * What remembers in a circuit: relays, outputs, latches and machines, moved by the volts that are really there until
 * none moves any more, from how they stood before.
 *
 *   const circuit = new SettlingCircuit(document, {open: ["wire 3"], grounded: "HORN.1"});
 *   const flow = circuit.settle({KEY: "on"}, circuit.rest());
 *   flow.at("HORN.1"); flow.amps.get("wire 4"); flow.memory.pulled.has("K1"); flow.live("HORN.1")
 */
"use strict";

const KINDS = ["pulled", "on", "latched", "excited"];
const CLOSE = 1e-6, MOST_LOANS = 30;  // as checks/dc/flow.py has them

/** A that the battery lends machines while all circuits of a duty are closed. */
const lentIn = flow => [...flow.situation.machines.values()].reduce((sum, each) => sum + each.ripple, 0);

/** The machines of a situation with what `by` gives of each put in. */
const varied = (machines, by) => new Map([...machines].map(([name, each]) => [name, {...each, ...by(each)}]));

class SettlingCircuit extends Circuit {
  rest() { return {pulled: new Set(), on: new Set(), latched: new Set(), excited: new Set()}; }

  /** What flows with the controls in `positions` (others rest), once all that remembers has settled from `memory`;
   *  `upToShort`: no further than to where a battery is shorted, and then no numbers. */
  settle(positions, memory = this.rest(), {pinned = new Set(), start = null, upToShort = false} = {}) {
    if (this.document.unsolvable) throw new Unsolvable([], this.document.unsolvable);
    const whole = {};
    for (const control of this.controls.values()) whole[control.name] = positions[control.name] ?? control.rest;
    const fixed = this.latches.filter(name => positions[name]);
    if (fixed.length) memory = {...memory, latched: new Set(fixed.filter(name => positions[name] === "set"))};
    const setpoints = new Map(this.machines.map(machine => [machine.name, machine.regulated]));
    const text = each => KINDS.map(kind => [...each[kind]].sort().join(" ")).join("|");
    let seen = new Map(), order = [], flow = null, singly = false, changes = [];
    for (let round = 0; round < this.known.rounds; round++) {
      const situation = upToShort && this.situation(whole, memory, setpoints, pinned);
      if (situation && this.shorted(situation, {batteriesOnly: true})) return {situation, memory, shorted: true};
      if (this.document.windings.periodic.includes(whole.engine)) {
        throw new Unsolvable([], "a winding decides all voltages now, and no fault is calculated here for that: "
          + "“loomwright faults” does it");
      }
      flow = this.#tuned(whole, memory, setpoints, flow?.volts ?? start, pinned);
      changes = this.#changes(flow, whole, memory, fixed);
      if (!changes.length) return this.#answer(flow, whole, memory);
      const now = text(memory);
      if (seen.has(now)) {
        if (singly) {
          const differ = (one, other) => KINDS.flatMap(kind => [...one[kind]].filter(name => !other[kind].has(name)));
          const moving = order.slice(seen.get(now)).flatMap(m => [...differ(m, memory), ...differ(memory, m)]);
          throw this.#restless(moving);
        }
        singly = true;
        seen = new Map();
        order = [];
      }
      seen.set(now, order.length);
      order.push(memory);
      for (const [kind, name] of singly ? changes.slice(0, 1) : changes) {
        memory = {...memory, [kind]: new Set(memory[kind])};
        if (!memory[kind].delete(name)) memory[kind].add(name);
      }
    }
    throw this.#restless(changes.map(([, name]) => name));
  }

  #restless(names) {
    const parts = [...new Set(names)].sort();
    return new Unsolvable(parts, `${parts.join(", ")}: keeps switching on and off`, true);
  }

  #tuned(positions, memory, setpoints, start, pinned) {
    for (let round = 0; round < this.known.tunings; round++) {
      const flow = this.flow(this.situation(positions, memory, setpoints, pinned), start);
      if (!this.#retune(flow, setpoints)) return flow;
      start = flow.volts;
    }
    throw new Unsolvable([...setpoints.keys()], "its regulator reaches no steady voltage");
  }

  /** What others ask of a settled flow; `live` and `returned`: connected to a feed, to ground. */
  #answer(flow, positions, memory) {
    const feeds = this.atPole(flow.situation, true), returns = this.atPole(flow.situation, false);
    const net = node => this.netOf(node);
    const mean = () => {
      const moments = this.#moments(flow);
      const over = value => moments.reduce((sum, [share, moment]) => sum + share * value(moment), 0);
      return {amps: {get: key => over(moment => moment.amps.get(key))}, at: node => over(moment => moment.at(node))};
    };
    return {...flow, positions, memory, mean, shorted: this.shorted(flow.situation),
      live: node => feeds.has(net(node)), returned: node => returns.has(net(node)),
      conducts: branch => !branch.guard || flow.situation.conducting.has(branch.key),
      status: branch => this.#status(flow, branch)};
  }

  /** The flow while all circuits of a duty are closed, and those in which some are open: share of time, flow. */
  #moments(flow) {
    const duties = this.branches.filter(b => flow.situation.turning && b.duty < 1 && Math.abs(flow.amps.get(b.key)) > 1e-6);
    const closed = this.#lent(flow, duties);
    if (!duties.length) return [[1, closed]];
    const shares = [...new Set(duties.map(b => b.duty))].sort((one, other) => one - other);
    const found = [[shares[0], closed]], lent = lentIn(closed) || 1;
    for (const [i, share] of shares.entries()) {
      const longer = shares[i + 1] ?? 1, open = duties.filter(b => b.duty <= share).map(b => b.key);
      if (longer <= share) continue;
      const spared = open.reduce((sum, key) => sum + Math.abs(closed.amps.get(key)), 0);
      const machines = varied(closed.situation.machines, each => ({
        amps: Math.max(each.amps - spared * each.ripple / lent, 0.1 * (each.amps - each.ripple))}));
      found.push([longer - share, this.flow({...closed.situation, machines}, closed.volts, new Set(open))]);
    }
    return found;
  }

  /** The same while the battery lends what the elements of a duty draw here above their mean. */
  #lent(flow, duties) {
    let before = null;
    for (let round = 0; round < MOST_LOANS; round++) {
      const counted = lentIn(flow), machines = [...flow.situation.machines.values()];
      const drawn = duties.reduce((sum, b) => sum + (1 - b.duty) * Math.abs(flow.amps.get(b.key)), 0);
      const off = drawn - counted, part = Math.min(1, drawn / counted);
      const asked = counted > 0 && machines.some(each =>
        flow.amps.get(each.machine.name) >= each.amps - each.ripple + each.ripple * part - CLOSE);
      if (Math.abs(off) <= CLOSE || !asked) return flow;
      const straight = before !== null && before.off !== off;
      const step = straight ? off * (counted - before.counted) / (before.off - off) : off;
      before = {counted, off};
      const share = Math.max(counted + step, 0.1 * drawn) / counted;
      const lending = varied(flow.situation.machines, each =>
        ({amps: each.amps - each.ripple + share * each.ripple, ripple: share * each.ripple}));
      flow = this.flow({...flow.situation, machines: lending}, flow.volts);
    }
    return flow;
  }

  /** `dead`, `dim` or `live`, by what an element gets; "" for what is none. */
  #status(flow, {key, a, b, status}) {
    if (!status) return "";
    const size = status.of === "amps" ? flow.amps.get(key) : flow.at(a) - flow.at(b);
    const share = (status.polarised ? Math.max(size, 0) : Math.abs(size)) / status.rated;
    const works = flow.situation.engine === "cranking" ? status.start : status.works;
    return share < status.dead ? "dead" : share >= works ? "live" : "dim";
  }

  /** Move the volts of machines whose regulator senses elsewhere; whether any moved. */
  #retune(flow, setpoints) {
    let moved = false;
    for (const machine of this.machines) {
      const running = flow.situation.machines.get(machine.name), regulator = running && this.#regulator(machine);
      if (!regulator) continue;
      const [top, bottom] = regulator.sense, wanted = machine.regulated, held = setpoints.get(machine.name);
      const sources = [...this.batteries, machine];
      const senses = sources.some(s => s.plus.some(plus => this.reaches(flow.situation, plus, [top])))
        && this.reaches(flow.situation, bottom, sources.map(s => s.minus));
      const miss = wanted - (senses ? flow.at(top) - flow.at(bottom) : 0);
      const most = Math.max(1, this.known.highest_share * this.#fieldShare(flow, machine)) * wanted;
      const better = Math.min(Math.max(held + miss, 0.5 * wanted), most);
      if (better > held && flow.amps.get(machine.name) >= running.amps) continue;  // at full output already
      if (Math.abs(better - held) > this.known.sense_tolerance) {
        setpoints.set(machine.name, better);
        moved = true;
      }
    }
    return moved;
  }

  /** The regulator with a sense lead that a machine's field current passes; the first one where none does. */
  #regulator(machine) {
    const all = machine.senses ? this.document.regulators : [];
    const ends = new Set(this.#there(machine.full_fields).flatMap(({a, b}) => [this.netOf(a), this.netOf(b)]));
    ends.delete(this.netOf(this.document.ground));
    return all.length < 2 ? all[0] : all.find(({passes}) => passes.some(node => ends.has(this.netOf(node)))) ?? all[0];
  }

  #fieldShare(flow, {full_fields: fields, regulated}) {
    return Math.min(1, Math.max(0, ...this.#there(fields).map(branch => Math.abs(flow.across(branch)))) / regulated);
  }

  /** The branches with these keys, but for those that are open. */
  #there(keys) { return keys.map(key => this.byKey.get(key)).filter(Boolean); }

  /** What stands otherwise than the volts say, as [kind, name]. */
  #changes(flow, positions, memory, fixed) {
    const found = [];
    for (const machine of this.machines.filter(each => each.fields.length)) {
      const fed = this.#there(machine.fields).some(each => Math.abs(flow.across(each)) >= machine.field_start_volts);
      if ((flow.situation.turning && fed) !== memory.excited.has(machine.name)) found.push(["excited", machine.name]);
    }
    for (const each of this.document.conditions) {
      if ("unit" in each) found.push(...this.#unitChanges(flow, each, positions, memory, fixed));
      else {
        const across = this.#there([each.coil]).map(coil => Math.abs(flow.across(coil)));
        const moves = memory.pulled.has(each.relay) ? volts => volts < each.drops_out : volts => volts >= each.pulls_in;
        if (across.some(moves)) found.push(["pulled", each.relay]);
      }
    }
    return found;
  }

  #unitChanges(flow, unit, positions, memory, fixed) {
    const {situation} = flow, powered = new Map(), found = [];
    for (const {name, branch} of unit.supplies) {
      powered.set(name, this.#there([branch]).some(supply => flow.across(supply) >= unit.needs));
    }
    const awake = !!unit.supplies.length && powered.get(unit.supplies[0].name);
    const reading = input => awake ? this.#readings(situation, input, positions) : [false];
    const readings = new Map(unit.inputs.map(input => [input.name, reading(input)]));
    const may = ([what, ...terms], wanted = true, atOnce = false) => {
      if (what === "input") {
        const seen = readings.get(terms[0]);
        return seen.includes(wanted) && (wanted || !atOnce || !seen.includes(true));
      }
      if (what === "latch") return memory.latched.has(terms[0]) === wanted;
      if (what === "not") return may(terms[0], !wanted, atOnce);
      const every = (what === "all") === wanted;
      return every ? terms.every(t => may(t, wanted, atOnce)) : terms.some(t => may(t, wanted, atOnce));
    };
    const [lead, back] = unit.stop?.ends ?? [];
    const stopped = !!unit.stop && this.reaches(situation, lead, [back])
      && (unit.stop.directions === 1 || this.reaches(situation, back, [lead]));
    for (const {name, set, cleared, toggles} of unit.latches) {
      const setNow = !toggles && may(set), stays = may(cleared, false, !setNow);
      const wanted = awake && stays && (memory.latched.has(name) || setNow);
      if (wanted !== memory.latched.has(name) && !fixed.includes(name)) found.push(["latched", name]);
    }
    for (const {name, supply, when} of unit.outputs) {
      const wanted = awake && (powered.get(supply) ?? awake) && !stopped && (!when || may(when));
      if (wanted !== memory.on.has(name)) found.push(["on", name]);
    }
    return found;
  }

  /** Whether an input is active: both where that changes with every turn of the engine. */
  #readings(situation, input, positions) {
    if (!this.#isActive(situation, input, positions)) return [false];
    if (!situation.pulsing.size) return [true];
    if (input.mode === "signal") return situation.pulsing.has(input.name) ? [false, true] : [true];
    const conducting = new Set([...situation.conducting].filter(key => !situation.pulsing.has(key)));
    return this.#isActive({...situation, conducting}, input, positions) ? [true] : [false, true];
  }

  #isActive(situation, {name, at, mode, grounds, senders}, positions) {
    if (mode === "grounded") return this.reaches(situation, at, grounds);
    if (mode === "fed") return this.atPole(situation, true).has(this.netOf(at));
    const comes = situation.pulsing.has(name) || positions[name] === "active";
    return comes && situation.turning
      && (!senders.length || senders.some(ways => ways.every(([from, to]) => this.reaches(situation, from, [to]))));
  }
}
