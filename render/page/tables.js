/* Loads, fuses and wires as tables: the same as the drawing, for keys and for readers who do not see it. */
"use strict";

function tables(trial) {
  const all = [["Loads", loads], ["Fuses", fuses], ["Wires", wires]].map(([title, rows]) => {
    const body = h("div"), made = h("details", {}, h("summary", {}, title), body);
    const show = () => { if (made.open) fill(body, rows(trial)); };
    made.addEventListener("toggle", show);
    trial.onChange(show);
    return made;
  });
  return h("div", {class: "tables"}, all);
}

function loads(trial) {
  const rows = trial.document.branches.filter(branch => branch.live).map(branch => {
    const {key, live} = branch;
    return [key, trial.leftOut(key) || trial.status(key), shown(trial.across(branch), "V"),
      shown(Math.abs(trial.amps(key) ?? NaN), "A"), live];
  });
  return table("Loads now", ["load", "", "V", "A", "live"], rows);
}

function fuses(trial) {
  const rows = trial.document.branches.filter(branch => branch.type === "fuse").map(({key, rated_amps: rated}) => {
    const amps = Math.abs(trial.amps(key) ?? NaN);
    const share = rated ? `${Math.round(100 * amps / rated) || 0} %` : "";
    return [key, trial.isCut(key) ? "out" : shown(amps, "A"), rated ? shown(rated, "A") : "", share];
  });
  return table("Fuses now", ["fuse", "carries", "rated continuous", "share"], rows);
}

function wires(trial) {
  const rows = trial.known.wires.map(({name, colour, size, from, to, pieces}) => {
    const amps = Math.max(...pieces.map(key => Math.abs(trial.amps(key) ?? NaN)));
    const carries = pieces.some(key => trial.isCut(key)) ? "cut" : shown(amps, "A");
    const word = !trial.flow ? "" : trial.flow.live(from) ? "live" : "dead";
    return [name, colour, size, from, to, carries, shown(trial.volts(from), "V"), shown(trial.volts(to), "V"), word];
  });
  return table("Wires now", ["wire", "colour", "size", "from", "to", "A", "V at from", "V at to", ""], rows);
}
