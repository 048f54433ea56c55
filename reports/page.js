/* Folds on every page: on a phone long tables fold away, on paper everything is open. Without it every
   table is open on a phone, and what is folded on paper stays so in browsers of before 2025. */
"use strict";

/* On a phone wide tables are laid out as cards, and some browsers then forget what their elements were.
   In the markup these roles would be faults: HTML has them already. */
const roles = { TABLE: "table", TBODY: "rowgroup", TR: "row", TH: "rowheader", TD: "cell" };

/* On a phone a long table is many screens of cards: its caption unfolds it. The only table of a page is
   what its reader came for. */
if (matchMedia("screen and (max-width: 860px)").matches) {
  for (const one of document.querySelectorAll(".cards, .cards tbody, .cards tr, .cards tbody th, .cards td")) {
    one.setAttribute("role", roles[one.tagName]);
  }
  const tables = document.querySelectorAll("main table");
  for (const table of tables) {
    const count = table.tBodies[0].rows.length;
    if (tables.length > 1 && count > 5 && !table.closest("details")) {
      fold(table, count);
    }
  }
}

function fold(table, count) {
  const details = document.createElement("details");
  const summary = document.createElement("summary");
  summary.textContent = `${table.caption.textContent} (${count})`;
  const before = table.previousElementSibling;
  const after = table.nextElementSibling;
  table.before(details);
  details.append(summary);
  if (before && before.matches(".find")) {
    details.append(before);
  }
  details.append(table);
  if (after && after.matches(".copy")) {
    details.append(after);
  }
}

/* What the address names is open: a table that somebody sorted or filtered. */
for (const name of new URLSearchParams(location.hash.slice(1)).keys()) {
  const folded = document.getElementById(name.replace(/\.\w+$/, ""))?.closest("details");
  if (folded) {
    folded.open = true;
  }
}

addEventListener("beforeprint", () => {
  for (const fold of document.querySelectorAll("details")) {
    fold.open = true;
  }
});
