/* The page, put together. */
"use strict";

(async () => {
  const known = JSON.parse(document.getElementById("known").textContent);
  known.in_advance = JSON.parse(await inflated(known.in_advance));
  const trial = new Trial(known);
  document.querySelector("h1").append(known.circuit.title || "Wiring harness");
  let touched = null;
  const sheet = new Sheet(trial, found => touched.choose(found));
  touched = new Touched(trial, sheet);
  const choice = h("select", {id: "sheet", change: async e => { await sheet.show(e.target.value); touched.mark(); }},
    known.sheets.map(({name}) => h("option", {value: name}, name)));
  const button = (words, label, click) => h("button", {type: "button", "aria-label": label, click}, words);
  const tools = h("div", {class: "tools"}, h("label", {for: "sheet"}, "Sheet"), choice,
    h("span", {class: "buttons"}, button("−", "Smaller", () => sheet.zoom(0.8)),
      button("+", "Larger", () => sheet.zoom(1.25)), button("Fit", "Whole sheet", () => sheet.fit())));
  const legend = h("details", {}, h("summary", {}, "What the drawing shows"), h("ul", {class: "legend"},
    ["live: red edge", "ground return with current: blue edge",
      `the thicker, the more current: from ${STEPS.map(step => shown(step, "A")).join(", ")} on`,
      "a load that is live: yellow behind it; dim: hatched", "dead: pale", "cut: broken line", "shorted to ground: violet ring"]
      .map(words => h("li", {}, words))));
  section("schematic", "Schematic", h("div", {class: "desk"},
    h("div", {class: "drawing"}, tools, sheet.stage),
    h("div", {class: "side"}, legend, touched.box, search(trial, touched), new Panel(trial).box)), tables(trial));
  faults(trial);
  findings(trial, touched);
  benchSheets(known);
  const parts = [...document.querySelectorAll("main section")];
  document.getElementById("parts").append(...parts.map(({id, firstElementChild}) =>
    h("a", {href: `#${id}`}, firstElementChild.textContent)));
  trial.onChange(() => sheet.paint());
  sheet.show(known.sheets[0].name).then(() => document.documentElement.setAttribute("data-ready", ""));
})();
