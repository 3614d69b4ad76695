"""Walks of the engine, gone once more by the page's own solver in a browser; what differs is listed."""

from __future__ import annotations

AMPS, VOLTS = 1e-6, 1e-3

COMPARE = """
({document, runs}) => {
  const found = {steps: 0, chatters: 0, alternating: 0, wrong: []};
  for (const {fault, steps} of runs) {
    const circuit = new SettlingCircuit(document, fault);
    let memory = circuit.rest();
    for (const [n, said] of steps.entries()) {
      const where = `${JSON.stringify(fault)} ${n} ${JSON.stringify(said.positions)}`;
      const wrong = what => found.wrong.push(`${where}: ${what}`);
      let flow = null, why = null;
      try { flow = circuit.settle(said.positions, memory); }
      catch (error) { if (!(error instanceof Unsolvable)) throw error; why = error; }
      found.steps++;
      if (document.windings.periodic.includes(said.positions.engine ?? "off")) {
        found.alternating++;
        if (flow) wrong("numbers, though alternating current decides");
        if (said.memory) memory = Object.fromEntries(Object.entries(said.memory).map(([k, v]) => [k, new Set(v)]));
      } else if (said.chatters) {
        found.chatters++;
        if (why?.parts.join() !== said.chatters.join() || !why.chatters) wrong(`chatters, not ${why?.message}`);
      } else if (said.unsolvable) {
        if (flow) wrong("numbers, where there are none");
      } else if (!flow) {
        wrong(why.message);
      } else {
        ({memory} = flow);
        for (const [kind, names] of Object.entries(said.memory)) {
          if ([...memory[kind]].sort().join() !== names.join()) wrong(`${kind} ${[...memory[kind]]}, not ${names}`);
        }
        if (flow.shorted !== said.shorted) wrong("dead short");
        const close = (mine, theirs, off) => Math.abs((mine ?? 0) - theirs) <= off + 1e-9 * Math.abs(theirs);
        const mean = flow.mean();
        for (const [key, amps] of Object.entries(said.amps)) {
          if (!close(flow.amps.get(key), amps, AMPS)) wrong(`${key}: ${flow.amps.get(key)} A, not ${amps}`);
        }
        for (const [key, amps] of Object.entries(said.mean)) {
          if (!close(mean.amps.get(key), amps, 2 * AMPS)) wrong(`${key}: mean ${mean.amps.get(key)} A, not ${amps}`);
        }
        for (const [node, volts] of Object.entries(said.volts)) {
          if (!close(flow.at(node), volts, VOLTS)) wrong(`${node}: ${flow.at(node)} V, not ${volts}`);
        }
      }
    }
  }
  return found;
}
""".replace("AMPS)", f"{AMPS})").replace("VOLTS)", f"{VOLTS})")
