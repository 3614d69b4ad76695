/* The drawing: moved by a finger, painted by what flows, and asked what is near a point. */
"use strict";

const NEAR = 22, STEPS = [0.01, 1, 10];  // px round a finger; A from which a wire is drawn thin, thicker, thickest

/** Text that was deflated (RFC 1951) and written in base 64. */
async function inflated(text) {
  const bytes = Uint8Array.from(atob(text), letter => letter.charCodeAt(0));
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"))).text();
}

class Sheet {
  #at = {x: 0, y: 0, scale: 1};
  #fingers = new Map();
  #moved = 0;

  /** `touched` is called with what lies near a finger: [{kind, name}], the nearest first. */
  constructor(trial, touched) {
    Object.assign(this, {trial, touched, svg: null});
    this.paper = h("div", {class: "paper"});
    this.stage = h("div", {class: "stage", tabindex: "0", role: "group",
      "aria-label": "Drawing. Arrow keys move it, plus and minus zoom. The tables below say the same.",
      pointerdown: e => this.#down(e), pointermove: e => this.#move(e), pointerup: e => this.#up(e),
      pointercancel: e => this.#fingers.delete(e.pointerId), keydown: e => this.#key(e)}, this.paper);
    this.stage.addEventListener("wheel", e => this.#wheel(e), {passive: false});
  }

  async show(name) {
    const sheet = this.trial.known.sheets.find(each => each.name === name);
    this.paper.innerHTML = await inflated(sheet.svg);
    this.name = name;
    this.svg = this.paper.querySelector("svg");
    this.size = {width: this.svg.viewBox.baseVal.width, height: this.svg.viewBox.baseVal.height};
    this.#collect();
    this.#place({x: 0, y: 0, scale: Math.min(1.6, Math.max(1, this.stage.clientWidth / this.size.width))});
    this.paint();
  }

  /** What can be painted and touched, by the names of the circuit. */
  #collect() {
    const all = (what, make) => [...this.svg.querySelectorAll(what)].map(make);
    const box = group => { const {x, y, width, height} = group.getBBox(); return {x, y, width, height}; };
    this.wires = all("g.wire", group => ({group, key: group.dataset.branch, name: group.dataset.wire,
      from: group.dataset.from, lines: pathLines(group.querySelector("path")?.getAttribute("d") ?? "")}));
    this.joints = all("g.joint", group => ({group, name: group.dataset.node}));
    this.terminals = all(".terminal", circle => ({circle, name: circle.dataset.node,
      x: circle.cx.baseVal.value, y: circle.cy.baseVal.value}));
    this.parts = all("g.part", group => ({group, name: group.dataset.part, box: box(group)}));
    this.contacts = all("g.contact", group => ({group, keys: group.dataset.branch.split("|"),
      part: group.closest("g.part").dataset.part, blades: [...group.querySelectorAll("g.blade")]}));
    this.elements = all("g.element", group => {
      const {x, y, width, height} = box(group), glow = document.createElementNS(this.svg.namespaceURI, "rect");
      const shape = {class: "glow", x: x - 3, y: y - 3, width: width + 6, height: height + 6, rx: 4};
      for (const [name, value] of Object.entries(shape)) glow.setAttribute(name, value);
      group.prepend(glow);
      return {group, key: group.dataset.branch};
    });
  }

  paint() {
    if (!this.svg) return;
    const {trial} = this;
    this.svg.classList.toggle("unknown", !trial.flow);
    for (const {group, key, from} of this.wires) {
      const amps = Math.abs(trial.amps(key) ?? 0), live = trial.flow?.live(from) ?? false;
      const thick = STEPS.filter(step => amps >= step).length;
      const state = trial.isCut(key) ? "cut" : live ? "live" : thick ? "back" : "dead";
      setClass(group, `wire ${state} carries${thick}`);
    }
    for (const {group, name} of this.joints) setClass(group, `joint ${trial.flow?.live(name) ? "live" : "dead"}`);
    for (const {circle, name} of this.terminals) circle.toggleAttribute("data-grounded", name === trial.fault.grounded);
    for (const {group, key} of this.elements) setClass(group, `element ${trial.status(key)}`);
    for (const {part, blades} of this.contacts) {
      const now = this.#stands(part);
      if (!blades.some(blade => blade.dataset.position === now)) continue;
      for (const blade of blades) {
        if (blade.dataset.position === now) blade.removeAttribute("display");
        else blade.setAttribute("display", "none");
      }
    }
  }

  /** The position in which a switch or a relay stands. */
  #stands(part) {
    const {trial} = this, control = trial.document.controls.find(each => each.switches.includes(part));
    if (!control) return trial.memory.pulled.has(part) ? "pulled" : "released";
    return control.free ? control.rest : trial.position(control.name);
  }

  /** Mark some things, and `move` the first of them into sight; false where none of them is on this sheet. */
  mark(isWire, isPart, move) {
    const marked = (things, isMarked) => things.filter(thing => {
      thing.group.toggleAttribute("data-marked", isMarked(thing));
      return isMarked(thing);
    });
    const found = [...marked(this.wires, isWire), ...marked(this.parts, isPart)];
    if (!found.length || !move) return !!found.length;
    const {x, y, width, height} = found[0].group.getBBox(), {scale} = this.#at;
    const {clientWidth, clientHeight} = this.stage;
    this.#place({scale, x: clientWidth / 2 - (x + width / 2) * scale, y: clientHeight / 2 - (y + height / 2) * scale});
    return true;
  }

  /** Everything within reach of a finger, the nearest first; a part comes after what is on it. */
  near(clientX, clientY) {
    const rect = this.stage.getBoundingClientRect(), {scale} = this.#at;
    const x = (clientX - rect.left - this.#at.x) / scale, y = (clientY - rect.top - this.#at.y) / scale;
    const found = [], reach = NEAR / scale;
    const add = (kind, name, far, rank) => { if (far <= reach && name) found.push({kind, name, far: far + rank}); };
    for (const t of this.terminals) add("terminal", t.name, Math.hypot(t.x - x, t.y - y), 0);
    for (const {name, lines} of this.wires) {
      add("wire", name, Math.min(Infinity, ...lines.map(line => distance(line, x, y))), 0);
    }
    for (const {name, box} of this.parts) {
      const dx = Math.max(box.x - x, 0, x - box.x - box.width), dy = Math.max(box.y - y, 0, y - box.y - box.height);
      add("part", name, Math.hypot(dx, dy), 6 / scale);
    }
    found.sort((one, other) => one.far - other.far);
    return found.filter((each, i) => found.findIndex(f => f.kind === each.kind && f.name === each.name) === i);
  }

  // --- moving it -----------------------------------------------------------------------------------------------------
  #place({x, y, scale}) {
    const {clientWidth, clientHeight} = this.stage, {width, height} = this.size, room = 80;
    const held = (value, size, window) => Math.min(Math.max(value, room - size * scale), window - room);
    this.#at = {scale, x: held(x, width, clientWidth), y: held(y, height, clientHeight)};
    this.paper.style.transform = `translate(${this.#at.x}px, ${this.#at.y}px) scale(${scale})`;
    this.svg.classList.toggle("far", scale < 0.5);  // its texts would have less than 4 px
  }

  zoom(by, x = this.stage.clientWidth / 2, y = this.stage.clientHeight / 2) {
    if (!this.svg) return;
    const scale = Math.min(6, Math.max(0.1, this.#at.scale * by)), share = scale / this.#at.scale;
    this.#place({scale, x: x - (x - this.#at.x) * share, y: y - (y - this.#at.y) * share});
  }

  fit() {
    const {clientWidth, clientHeight} = this.stage, {width, height} = this.size;
    const scale = Math.min(clientWidth / width, clientHeight / height);
    this.#place({scale, x: (clientWidth - width * scale) / 2, y: (clientHeight - height * scale) / 2});
  }

  #down(event) {
    this.stage.setPointerCapture(event.pointerId);
    if (!this.#fingers.size) this.#moved = 0;
    this.#fingers.set(event.pointerId, {x: event.clientX, y: event.clientY});
  }

  #move(event) {
    const before = this.#fingers.get(event.pointerId);
    if (!before || !this.svg) return;
    const now = {x: event.clientX, y: event.clientY};
    const others = [...this.#fingers].filter(([id]) => id !== event.pointerId);
    this.#fingers.set(event.pointerId, now);
    this.#moved += Math.hypot(now.x - before.x, now.y - before.y);
    if (others.length) {
      const [[, other]] = others, rect = this.stage.getBoundingClientRect();
      const far = point => Math.hypot(point.x - other.x, point.y - other.y);
      const middle = [(now.x + other.x) / 2 - rect.left, (now.y + other.y) / 2 - rect.top];
      this.#moved += NEAR;
      this.zoom(far(now) / Math.max(1, far(before)), ...middle);
    } else this.#place({...this.#at, x: this.#at.x + now.x - before.x, y: this.#at.y + now.y - before.y});
  }

  #up(event) {
    if (!this.#fingers.delete(event.pointerId) || this.#fingers.size || this.#moved > 8 || !this.svg) return;
    this.touched(this.near(event.clientX, event.clientY));
  }

  #wheel(event) {
    event.preventDefault();
    const rect = this.stage.getBoundingClientRect();
    this.zoom(Math.exp(-event.deltaY / 400), event.clientX - rect.left, event.clientY - rect.top);
  }

  #key(event) {
    const moves = {ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60]};
    const move = moves[event.key];
    if (move) this.#place({...this.#at, x: this.#at.x + move[0], y: this.#at.y + move[1]});
    else if (event.key === "+" || event.key === "=") this.zoom(1.25);
    else if (event.key === "-") this.zoom(0.8);
    else return;
    event.preventDefault();
  }
}

/** What stays as it was is not painted again. */
function setClass(element, name) {
  if (element.getAttribute("class") !== name) element.setAttribute("class", name);
}

/** The straight stretches of a path: [x1, y1, x2, y2]. */
function pathLines(path) {
  return path.split("M").filter(Boolean).flatMap(run => {
    const points = run.split("L").map(point => point.trim().split(" ").map(Number));
    return points.slice(1).map((point, i) => [...points[i], ...point]);
  });
}

function distance([x1, y1, x2, y2], x, y) {
  const long = (x2 - x1) ** 2 + (y2 - y1) ** 2;
  const share = long ? Math.min(1, Math.max(0, ((x - x1) * (x2 - x1) + (y - y1) * (y2 - y1)) / long)) : 0;
  return Math.hypot(x1 + share * (x2 - x1) - x, y1 + share * (y2 - y1) - y);
}
