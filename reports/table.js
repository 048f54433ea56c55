/* Sorts and filters tables. Without it every row is there, and the filter is not shown.
   A cell without a key stands last, whichever way the column is sorted. */
"use strict";

for (const table of document.querySelectorAll("table.sortable")) {
  const heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, place) => {
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => sort(table, heads, head, place));
  });
}

function sort(table, heads, head, place) {
  const down = head.getAttribute("aria-sort") === "ascending"
    || (!head.hasAttribute("aria-sort") && head.classList.contains("n"));
  heads.forEach((other) => other.removeAttribute("aria-sort"));
  head.setAttribute("aria-sort", down ? "descending" : "ascending");
  const rows = [...table.tBodies[0].rows];
  const key = (row) => row.cells[place].dataset.key || "";
  const compare = rows.every((row) => !isNaN(key(row)))
    ? (a, b) => a - b
    : (a, b) => a.localeCompare(b, "en", { numeric: true });
  rows.sort((a, b) => {
    const left = key(a);
    const right = key(b);
    if (left === "" || right === "") {
      return (left === "") - (right === "");
    }
    return down ? compare(right, left) : compare(left, right);
  });
  table.tBodies[0].append(...rows);
}

for (const box of document.querySelectorAll(".find")) {
  const input = box.querySelector("[data-find]");
  const choice = box.querySelector("[data-show]");
  const shown = box.querySelector("[data-shown]");
  const rows = [...document.getElementById(input.dataset.find).tBodies[0].rows];
  const filter = () => {
    const words = input.value.trim().toLowerCase();
    let count = 0;
    for (const row of rows) {
      const text = row.cells[0].textContent.toLowerCase();
      row.hidden = !text.includes(words)
        || (choice.value !== "" && row.dataset.state !== choice.value);
      count += !row.hidden;
    }
    shown.textContent = `${count} of ${rows.length} shown`;
  };
  input.addEventListener("input", filter);
  choice.addEventListener("change", filter);
  box.hidden = false;
  filter();
}

addEventListener("beforeprint", () => {
  for (const fold of document.querySelectorAll("details")) {
    fold.open = true;
  }
});
