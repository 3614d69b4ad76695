/*
 * The cut list and the sheets of a proof, with boxes and readings. They are kept in the browser's storage under the
 * harness's name and its plan of work, since all files of a machine may share one storage; and can be saved as the CSV
 * that `loomwright record` reads.
 */
"use strict";

class Kept {
  constructor(name) {
    this.name = name;
    try { this.rows = JSON.parse(localStorage.getItem(name)) ?? {}; this.works = true; }
    catch { this.rows = {}; this.works = false; }
  }

  row(key) { return this.rows[key] ?? {done: false, reading: ""}; }

  put(key, change) {
    this.rows[key] = {...this.row(key), ...change};
    this.#store();
  }

  clear() {
    this.rows = {};
    this.#store();
  }

  #store() {
    try { localStorage.setItem(this.name, JSON.stringify(this.rows)); }
    catch { this.works = false; }
  }
}

function benchSheets(known) {
  const {plan, columns, sheets} = known.bench, kept = new Kept(`loomwright ${known.circuit.title} ${plan}`);
  const stays = h("p", {role: "status", class: "faint"});
  const tell = () => fill(stays, kept.works
    ? "Boxes and readings are kept in this browser, for this plan of work alone."
    : "This browser keeps nothing of this page: save the readings before you close it.");
  const details = sheets.map(sheet => {
    const body = h("div"), made = h("details", {}, h("summary", {}, sheet.title), body);
    made.addEventListener("toggle", () => {
      if (made.open && !body.childElementCount) fill(body, benchSheet(sheet, kept, tell));
    });
    return made;
  });
  const clear = () => {
    if (!confirm("Clear every box and reading of this plan of work?")) return;
    kept.clear();
    location.reload();
  };
  const file = `${known.stem}-record.csv`, save = () => saveCsv(recordCsv(columns, sheets, kept), file);
  tell();
  return section("bench-sheets", "Bench sheets", stays, ...details,
    h("div", {class: "buttons"}, h("button", {type: "button", click: save}, "Save the readings as CSV"),
      h("button", {type: "button", click: clear}, "Clear all")),
    h("p", {class: "faint"}, `loomwright record ${known.file} ${file} compares them with what must show. `
      + "A box that is ticked counts as `ok` where no figure must show; where one must, write it down."));
}

function benchSheet(sheet, kept, tell) {
  const row = ({key, cells, record}) => {
    const {done, reading} = kept.row(key);
    const put = change => { kept.put(key, change); tell(); };
    const box = h("input", {type: "checkbox", checked: done, "aria-label": `${key} done`,
      change: e => put({done: e.target.checked})});
    const field = h("input", {type: "text", class: "reading", value: reading, "aria-label": `reading of ${key}`,
      autocomplete: "off", input: e => put({reading: e.target.value})});
    return [box, ...cells, ...(record ? [field] : [])];
  };
  const groups = sheet.groups.map(({title, heads, rows}) =>
    table(title, ["done", ...heads, ...(rows[0].record ? ["reading"] : [])], rows.map(row)));
  return [sheet.caution ? h("p", {}, h("strong", {}, sheet.caution)) : null,
    ...sheet.intro.map(line => h("p", {}, line)), ...groups,
    ...sheet.notes.map(line => h("p", {class: "faint"}, line))];
}

/** The rows of the proof with what was read; of what shows no figure a box that is ticked is `ok`. */
function recordCsv(columns, sheets, kept) {
  const at = columns.indexOf("reading"), all = sheets.flatMap(sheet => sheet.groups).flatMap(group => group.rows);
  const rows = all.filter(row => row.record).map(({key, record, ticked}) => {
    const {done, reading} = kept.row(key);
    return Object.assign([...record], {[at]: reading.trim() || (done ? ticked : "")});
  });
  // What a spreadsheet would take for a formula gets a space before it, as in the CSV of `prove`.
  const cell = text => `"${(/^[=+\-@]/.test(text) ? ` ${text}` : text).replaceAll('"', '""')}"`;
  return `\ufeff${[columns, ...rows].map(row => row.map(cell).join(",")).join("\r\n")}\r\n`;
}

function saveCsv(text, name) {
  const address = URL.createObjectURL(new Blob([text], {type: "text/csv"}));
  h("a", {href: address, download: name}).click();
  setTimeout(() => URL.revokeObjectURL(address), 1000);
}
