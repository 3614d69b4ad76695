/* Pictures of the build log, by the parts and wires that their words name: shown again where one of these is touched. */
"use strict";

class Pictures {
  #shown = new Map();

  constructor() {
    const all = [...document.querySelectorAll("#build-log h3, #build-log h4, #build-log h5, #build-log h6, #build-log img")];
    let heading = document.querySelector("#build-log h2");
    this.all = [];
    for (const each of all) {
      if (each.tagName !== "IMG") heading = each;
      else if (!each.closest(".given")) {  // what a command drew is no photograph
        const caption = each.nextElementSibling?.matches(".caption") ? each.nextElementSibling.textContent : "";
        this.all.push({image: each, caption, heading, words: `${each.alt} ${caption}`});
      }
    }
  }

  /** Those of a part or a wire, each made once: a picture that is decoded again with each press makes the panel slow. */
  of(kind, name) {
    const wanted = kind === "wire" ? `wire ${name}` : name;
    if (wanted.length < 2) return [];  // a part A is not meant by "a board"
    if (!this.#shown.has(wanted)) {
      const found = this.all.filter(({words}) => names(words, wanted));
      this.#shown.set(wanted, found.map(({image, caption, heading}) => h("figure", {class: "of-part"}, image.cloneNode(),
        h("figcaption", {class: "caption"}, caption || image.alt, " ",
          h("a", {href: `#${heading.id}`}, `Build log: ${heading.textContent}`)))));
    }
    return this.#shown.get(wanted);
  }
}

/** Whether a text has a name by itself, and not as a part of a longer one. */
function names(text, name) {
  const plain = name.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
  return new RegExp(`(?<![\\w-])${plain}(?![\\w-]|\\.\\w)`, "u").test(text);
}
