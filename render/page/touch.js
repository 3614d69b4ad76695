/* What was touched or looked for: one thing in words, and the others near by as buttons. */
"use strict";

const MOST_FOUND = 20, MOST_JOINED = 12;

class Touched {
  constructor(trial, sheet) {
    Object.assign(this, {trial, sheet, chosen: null, others: [], pictures: new Pictures()});
    this.box = h("div", {class: "touched", role: "region", "aria-label": "What was touched", "aria-live": "polite"});
    trial.onChange(() => this.#show());
  }

  /** `found`: [{kind, name}], the nearest first. */
  choose(found, {move = false} = {}) {
    [this.chosen = null, ...this.others] = found;
    this.#show();
    if (!this.mark(move)) {
      const whole = this.trial.known.sheets.at(-1).name;
      this.box.append(h("p", {class: "faint"}, `It is not on this sheet: choose “${whole}”.`));
    }
  }

  /** Mark the chosen thing on the sheet; false where it is not there. */
  mark(move = false) {
    if (!this.sheet.svg) return true;
    const {kind, name} = this.chosen ?? {};
    const isWire = thing => kind === "wire" ? thing.name === name
      : kind === "terminal" && this.#touches(thing.key, name);
    const isPart = thing => thing.name === (kind === "terminal" ? this.#partOf(name) : kind === "part" ? name : null);
    return this.sheet.mark(isWire, isPart, move) || !kind;
  }

  #touches(key, node) {
    const branch = this.trial.branch.get(key);
    return !!branch && (branch.a === node || branch.b === node);
  }

  #partOf(node) { return this.trial.document.nodes.find(each => each.name === node)?.part; }

  #show() {
    if (!this.chosen) {
      return fill(this.box, h("p", {class: "faint"}, "Touch a wire, a terminal or a part of the drawing."));
    }
    const {kind, name} = this.chosen;
    const lines = kind === "wire" ? this.#wire(name) : kind === "part" ? this.#part(name) : this.#terminal(name);
    const others = this.others.slice(0, 8).map(other => h("button", {type: "button",
      click: () => this.choose([other, ...[this.chosen, ...this.others].filter(each => each !== other)])},
    `${other.kind} ${other.name}`));
    return fill(this.box, h("h3", {}, `${kind} ${name}`), ...lines, this.pictures.of(kind, name),
      others.length ? h("div", {class: "buttons", role: "group", "aria-label": "Also near by"}, others) : null,
      h("button", {type: "button", click: () => this.choose([])}, "Close"));
  }

  #wire(name) {
    const {trial} = this, wire = trial.wire.get(name);
    const amps = wire.pieces.map(key => Math.abs(trial.amps(key) ?? NaN)), most = Math.max(...amps);
    const looks = [wire.colour, wire.size, wire.length].filter(Boolean).join(", ");
    const place = text => text ? ` (${text})` : "";
    const cut = wire.pieces.some(key => trial.isCut(key));
    const on = [wire.from, wire.to].map(node => this.#alsoOn(node, name)).filter(Boolean);
    return [
      h("p", {}, looks),
      h("p", {}, `${wire.from}${place(wire.from_place)} to ${wire.to}${place(wire.to_place)}`
        + (wire.plugs.length ? `, through ${listed(wire.plugs)}` : "")),
      h("p", {}, wire.protected),
      h("p", {}, cut ? "It is cut" : trial.leftOut(wire.pieces[0]) || `Carries ${shown(most, "A")}`,
        `; ${this.#voltsAt(wire.from)}, ${this.#voltsAt(wire.to)}`),
      h("p", {}, this.#fed(wire.from)),
      ...on.map(text => h("p", {}, text)),
    ];
  }

  #voltsAt(node) { return `${shown(this.trial.volts(node), "V")} to ground at ${node}`; }

  #fed(node) {
    const when = this.trial.document.nodes.find(each => each.name === node)?.live || "never";
    return when === "never" ? "Never live" : when.startsWith("not ") ? `When it is live is ${when}` : `Live ${when}`;
  }

  /** What else is on a terminal. */
  #alsoOn(node, but = "") {
    const wires = this.trial.known.wires.filter(w => w.name !== but && (w.from === node || w.to === node));
    return wires.length ? `At ${node} also: ${listed(wires.map(w => `wire ${w.name}`))}` : "";
  }

  #terminal(node) {
    const net = this.trial.document.nodes.find(each => each.name === node)?.net;
    const joined = this.trial.document.nodes.filter(each => each.net === net).map(each => each.name)
      .filter(name => name !== node);
    const first = listed(joined.slice(0, MOST_JOINED)) + (joined.length > MOST_JOINED ? " …" : "");
    const part = this.trial.part.get(this.#partOf(node));
    return [
      part ? h("p", {}, `${part.what}${part.label ? ` “${part.label}”` : ""}`) : null,
      h("p", {}, this.#voltsAt(node)),
      h("p", {}, this.#fed(node)),
      h("p", {}, this.#alsoOn(node)),
      joined.length ? h("p", {class: "faint"}, `Always connected to ${first}`) : null,
    ];
  }

  #part(name) {
    const {trial} = this, part = trial.part.get(name);
    const inside = trial.document.branches.filter(branch => branch.owner === name && !branch.wire);
    const said = [part.label && `“${part.label}”`, part.what, part.places.length && `at ${listed(part.places)}`,
      part.system && `for ${part.system}`].filter(Boolean).join(", ");
    const ends = part.ends.map(end => {
      const wires = trial.known.wires.filter(wire => [wire.from, wire.to].includes(end)
        || wire.pieces.some(key => this.#touches(key, end)));
      return [end, listed(wires.map(w => `${w.name} ${w.colour}`.trim())), shown(trial.volts(end), "V")];
    });
    const about = trial.known.findings.filter(finding => finding.about.includes(name));
    return [
      h("p", {}, said),
      ...Object.entries(part.positions).map(([position, pairs]) => h("p", {}, `${position}: connects ${pairs}`)),
      ...inside.map(branch => h("p", {}, this.#does(branch))),
      ends.length ? table(`Terminals of ${name}`, ["terminal", "wires", "V to ground"], ends) : null,
      ...about.map(finding => h("p", {class: finding.level}, `${finding.level}: ${finding.message}`)),
    ];
  }

  /** A branch inside a part: what it has and carries now, and when it is live. */
  #does(branch) {
    const {trial} = this, {key, a, b, guard, live} = branch, out = trial.leftOut(key);
    const at = trial.volts(a), to = trial.volts(b), amps = Math.abs(trial.amps(key) ?? NaN);
    if (out) return `${key}: ${out}`;
    const open = guard && trial.flow && !trial.flow.conducts(branch);
    if (open) return `${key}: open; ${shown(at, "V")} to ground at ${a}, ${shown(to, "V")} at ${b}`;
    const status = trial.status(key), when = live ? `; live ${live}` : "";
    return `${key}: ${status ? `${status}, ` : ""}${shown(trial.across(branch), "V")}, ${shown(amps, "A")}${when}`;
  }
}

/** A field that finds wires by number and colour, and parts by name, label and place. */
function search(trial, touched) {
  const found = h("div", {class: "buttons", role: "group", "aria-label": "Found"});
  const said = h("p", {role: "status", class: "faint"});
  const look = text => {
    const words = text.toLowerCase().split(/\s+/).filter(Boolean);
    const has = all => words.every(word => all.some(each => each.toLowerCase().includes(word)));
    const exact = name => Number(name.toLowerCase() !== words.join(" "));
    const wires = trial.known.wires.filter(w => has([w.name, w.colour, w.from, w.to, "wire"]))
      .map(w => ({kind: "wire", name: w.name, more: w.colour}));
    const parts = trial.known.parts.filter(p => has([p.name, p.label, ...p.places, p.system, p.what]))
      .map(p => ({kind: "part", name: p.name, more: p.label}));
    const all = words.length ? [...wires, ...parts].sort((one, other) => exact(one.name) - exact(other.name)) : [];
    const count = `${all.length} found${all.length > MOST_FOUND ? `, the first ${MOST_FOUND} shown` : ""}`;
    fill(said, !words.length ? "" : all.length ? count : "Nothing found.");
    fill(found, all.slice(0, MOST_FOUND).map(each => h("button", {type: "button",
      click: () => touched.choose([each], {move: true})}, `${each.kind} ${each.name} ${each.more}`.trim())));
  };
  const field = h("input", {type: "search", id: "search", autocomplete: "off", input: e => look(e.target.value)});
  return h("div", {class: "search"},
    h("label", {for: "search"}, "Find a wire or a part by number, colour or name"), field, said, found);
}
