/* What the rules found, with evidence; each can be shown on the panel and the drawing. */
"use strict";

function findings(trial, touched) {
  const {findings: found, rules, profile} = trial.known;
  const count = level => found.filter(finding => finding.level === level).length;
  const counted = ["error", "warning", "note"].map(level => `${count(level)} ${level}${count(level) === 1 ? "" : "s"}`);
  const items = found.map(finding => {
    const {rule, level, message, evidence, notes, positions, state, about} = finding;
    const canShow = state ? trial.document.states.some(each => each.name === state) : Object.keys(positions).length;
    const named = about.filter(name => trial.wire.has(name) || trial.part.has(name))
      .map(name => ({kind: trial.wire.has(name) ? "wire" : "part", name}));
    const show = () => {
      if (state) trial.inState(state);
      else trial.fromRest(positions, "", Object.keys(positions));
      touched.choose(named, {move: true});
      document.getElementById("schematic").scrollIntoView();
    };
    return h("details", {class: `finding ${level}`},
      h("summary", {}, h("strong", {}, `${level}: `), message),
      h("ul", {}, evidence.map(line => h("li", {}, line)), notes.map(line => h("li", {}, line))),
      h("p", {class: "faint"}, `rule ${rule}`),
      h("div", {class: "buttons"},
        canShow ? h("button", {type: "button", click: show}, "Show it") : null,
        !canShow && named.length ? h("button", {type: "button", click: () => {
          touched.choose(named, {move: true});
          document.getElementById("schematic").scrollIntoView();
        }}, "Show where") : null));
  });
  return section("findings", "Findings",
    h("p", {}, `${listed(counted)}, of ${rules} rules by profile ${profile}. “Show it” starts from rest and sets the `
      + "controls that bring it about."), ...items);
}
