/* Numbers and elements of the page: three digits, and `h("p", {class: "x"}, "text")`. */
"use strict";

/** A number with three digits and its unit; what is too small to matter is 0. */
function shown(value, unit) {
  if (value === undefined || Number.isNaN(value)) return "–";
  const size = Math.abs(value);
  if (size < 5e-4) return `0 ${unit}`;
  const digits = Math.max(0, Math.min(3, 2 - Math.floor(Math.log10(size))));
  return `${value < 0 ? "−" : ""}${size.toFixed(digits)} ${unit}`;
}

/** An element with attributes, listeners (functions) and children; `null` and "" are no children. */
function h(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") made.addEventListener(name, value);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value);
  }
  return withChildren(made, children);
}

function withChildren(element, children) {
  element.append(...children.flat(Infinity).filter(child => child !== null && child !== undefined && child !== ""));
  return element;
}

/** Put other children into an element. */
function fill(element, ...children) {
  element.replaceChildren();
  return withChildren(element, children);
}

function table(caption, heads, rows) {
  const isFigure = cell => /^\S+ \S{1,3}$/.test(cell);  // a number and its unit stay on one line
  const cells = (row, tag, more) => row.map(cell => h(tag, {...more, class: isFigure(cell) && "figure"}, cell));
  return h("div", {class: "wide", tabindex: "0", role: "region", "aria-label": caption},
    h("table", {}, h("caption", {}, caption),
      h("thead", {}, h("tr", {}, cells(heads, "th", {scope: "col"}))),
      h("tbody", {}, rows.map(([first, ...rest]) =>
        h("tr", {}, cells([first], "th", {scope: "row"}), cells(rest, "td", {}))))));
}

/** `A, B and C`. */
function listed(names) {
  return names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names.at(-1)}`;
}

/** A part of the page with its heading. */
function section(id, title, ...children) {
  const made = h("section", {id, "aria-labelledby": `${id}-title`}, h("h2", {id: `${id}-title`}, title), ...children);
  document.getElementById("work").append(made);
  return made;
}
