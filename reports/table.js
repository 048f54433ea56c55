/* Sorts and filters tables, and copies them. Without it every row is there, and nothing to press.
   A cell without a key stands last, whichever way the column is sorted. How a table is sorted and
   filtered stands in the address, after #, so that it can be sent on and survives a reload. */
"use strict";

/* The words stand beside the script, in the language of the page. */
const say = document.currentScript.dataset;

const wanted = new URLSearchParams(location.hash.slice(1));

function keep(table, name, value) {
  if (value) {
    wanted.set(`${table.id}.${name}`, value);
  } else {
    wanted.delete(`${table.id}.${name}`);
  }
  history.replaceState(null, "", `#${wanted}`);
}

for (const table of document.querySelectorAll("table.sortable")) {
  const heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, place) => {
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending"
        || (!head.hasAttribute("aria-sort") && head.classList.contains("n"));
      sort(table, heads, place, down);
      keep(table, "sort", `${place}${down ? "d" : "u"}`);
    });
  });
  const sorted = /^(\d+)([du])$/.exec(wanted.get(`${table.id}.sort`) || "");
  if (sorted && heads[sorted[1]]) {
    sort(table, heads, Number(sorted[1]), sorted[2] === "d");
  }
  if (table.tBodies[0].rows.length > 1) {
    addCopy(table);
  }
}

function sort(table, heads, place, down) {
  heads.forEach((other) => other.removeAttribute("aria-sort"));
  heads[place].setAttribute("aria-sort", down ? "descending" : "ascending");
  const rows = [...table.tBodies[0].rows];
  const key = (row) => row.cells[place].dataset.key || "";
  const compare = rows.every((row) => !isNaN(key(row)))
    ? (a, b) => a - b
    : (a, b) => a.localeCompare(b, document.documentElement.lang, { numeric: true });
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
  const table = document.getElementById(input.dataset.find);
  const rows = [...table.tBodies[0].rows];
  const filter = () => {
    const words = input.value.trim().toLowerCase();
    let count = 0;
    for (const row of rows) {
      const text = row.cells[0].textContent.toLowerCase();
      row.hidden = !text.includes(words)
        || (choice.value !== "" && row.dataset.state !== choice.value);
      count += !row.hidden;
    }
    shown.textContent = say.shown.replace("{count}", count).replace("{total}", rows.length);
  };
  const changed = () => {
    filter();
    keep(table, "find", input.value.trim());
    keep(table, "show", choice.value);
  };
  input.value = wanted.get(`${table.id}.find`) || "";
  choice.value = wanted.get(`${table.id}.show`) || "";
  if (choice.selectedIndex < 0) {
    choice.value = "";
  }
  input.addEventListener("input", changed);
  choice.addEventListener("change", changed);
  box.hidden = false;
  filter();
}

/* The rows that are shown, in the order shown, for a spreadsheet; a text never becomes a formula. */
function csv(table) {
  const lines = [table.tHead.rows[0], ...table.tBodies[0].rows].filter((row) => !row.hidden);
  return lines.map((row) => [...row.cells].map(field).join(",")).join("\r\n") + "\r\n";
}

function field(cell) {
  const parts = cell.cloneNode(true);
  parts.querySelectorAll("svg").forEach((picture) => picture.remove());
  const words = [];
  const walker = document.createTreeWalker(parts, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const text = walker.currentNode.data.replace(/\s+/g, " ").trim();
    if (text) {
      words.push(text);
    }
  }
  const text = words.join("; ");
  const guarded = /^\s*[=+\-@＝＋－＠]/.test(text) ? `'${text}` : text;
  return `"${guarded.replaceAll('"', '""')}"`;
}

function addCopy(table) {
  const line = document.createElement("p");
  const button = document.createElement("button");
  const told = document.createElement("output");
  line.className = "copy";
  button.type = "button";
  button.textContent = say.copy;
  button.addEventListener("click", () => {
    const box = document.createElement("textarea");
    const text = csv(table);
    box.value = text;
    line.append(box);
    box.select();
    const count = text.split("\r\n").length - 2;
    told.textContent = document.execCommand("copy")
      ? say.copied.replace("{count}", count)
      : say.notCopied;
    box.remove();
    button.focus();
  });
  line.append(button, told);
  table.after(line);
}
