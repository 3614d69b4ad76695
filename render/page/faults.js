/* One fault at a time: a wire cut, a fuse pulled, a ground lost; and all that it changes, in words. */
"use strict";

const NOTICED = 0.02, NOTICED_AMPS = 0.05;  // of the system's volts, and A, from which a change is listed (ours)

function faults(trial) {
  const {known} = trial, changes = h("div", {role: "status"});
  const fuses = trial.document.branches.filter(branch => branch.type === "fuse")
    .map(({key}) => ({name: key, open: [key]}));
  const wires = known.wires.map(({name, colour, from, to, pieces}) =>
    ({name: `${name} ${colour}, ${from} to ${to}`, short: name, open: pieces}));
  const {nodes, ground} = trial.document, net = nodes.find(node => node.name === ground)?.net;
  const terminals = nodes.filter(node => node.terminal && net !== undefined && node.net !== net)
    .map(({name}) => ({name, grounded: name}));
  const rows = [["wire", "Cut wire", name => `wire ${name} is cut`, wires],
    ["fuse", "Pull fuse", name => `fuse ${name} is out`, fuses],
    ["ground", "Lose the ground of", name => `the ground of ${name} is lost`, known.grounds],
    ["short", "Short to ground", name => `${name} is shorted to ground`, terminals]];
  const made = rows.filter(([, , , choices]) => choices.length).map(([id, words, told, choices]) => {
    const select = h("select", {id: `fault-${id}`}, choices.map((choice, i) => h("option", {value: i}, choice.name)));
    const put = () => {
      const {name, short, open, grounded} = choices[select.value];
      trial.setFault(told(short ?? name), {open, grounded});
    };
    return h("div", {class: "row"}, h("label", {for: `fault-${id}`, class: "name"}, words),
      h("span", {class: "buttons"}, select,
        h("button", {type: "button", click: put, "aria-label": words}, words.split(" ")[0])));
  });
  const repair = h("button", {type: "button", click: () => trial.repair()}, "Repair");
  trial.onChange(() => {
    repair.disabled = !trial.fault.words;
    fill(changes, trial.fault.words ? changed(trial) : h("p", {class: "faint"}, "No fault."));
  });
  return section("faults", "Faults",
    h("p", {}, "Set the controls on the panel, then choose a fault. It stays until it is repaired; the panel and the "
      + "drawing show it."),
    ...made,
    h("div", {class: "row"}, h("span", {class: "name"}, "Repair"), h("span", {class: "buttons"}, repair)), changes);
}

/** What is otherwise with the fault than without, with the controls as they are. */
function changed(trial) {
  const {soundFlow: before, flow: after} = trial;
  const head = h("p", {}, h("strong", {}, `${trial.faultWords}. `), `With ${listed(away(trial)) || "every control at rest"}:`);
  if (!before || !after) return [head, h("p", {}, before ? trial.why : trial.soundWhy)];
  const items = [], toGround = after.amps.get("short to ground") ?? 0;
  if (Math.abs(toGround) > NOTICED_AMPS) items.push(`${shown(Math.abs(toGround), "A")} flows through the short`);
  for (const branch of trial.document.branches.filter(each => each.status && each.type !== "coil")) {
    const was = before.status(branch), now = trial.isCut(branch.key) ? "dead" : after.status(branch);
    const [had, has] = [before, after].map(flow => Math.abs(flow.at(branch.a) - flow.at(branch.b)));
    const volts = [had, has].map(each => shown(each, "V"));
    if (was !== now) items.push(`${branch.key} was ${was}, is ${now} (${volts[0]} before, ${volts[1]} now)`);
    else if (now !== "dead" && Math.abs(had - has) > NOTICED * trial.document.volts) {
      items.push(`${branch.key} gets ${volts[1]} instead of ${volts[0]}`);
    }
  }
  const kinds = {pulled: ["pulls in", "drops out"], on: ["comes on", "goes off"], latched: ["is set", "is cleared"],
    excited: ["charges", "no longer charges"]};
  for (const [kind, [on, off]] of Object.entries(kinds)) {
    for (const name of [...after.memory[kind]].sort()) if (!before.memory[kind].has(name)) items.push(`${name} ${on}`);
    for (const name of [...before.memory[kind]].sort()) if (!after.memory[kind].has(name)) items.push(`${name} ${off}`);
  }
  for (const {name} of [...trial.document.batteries, ...trial.document.machines]) {
    const [was, now] = [before, after].map(flow => flow.mean().amps.get(name));
    if (Math.abs(was - now) > NOTICED_AMPS) {
      items.push(`${name} delivers ${shown(now, "A")} instead of ${shown(was, "A")}`);
    }
  }
  return [head, items.length ? h("ul", {}, items.map(item => h("li", {}, item)))
    : h("p", {}, "No change with these settings of the controls.")];
}

/** The controls that are away from rest, with their positions. */
function away(trial) {
  return trial.controls.filter(({name, rest}) => trial.position(name) !== rest)
    .map(({name}) => `${name} ${trial.position(name)}`);
}
