"use strict";
// Makes the tables marked for it sortable; the page is complete without it.
(function () {
  function value(row, index) {
    const cell = row.cells[index];
    const order = cell.getAttribute("data-order");
    return order === null ? cell.textContent.trim().toLowerCase() : Number(order);
  }
  function compare(a, b) {
    if (typeof a === typeof b) {
      return typeof a === "number" ? a - b : a.localeCompare(b);
    }
    return typeof a === "number" ? -1 : 1;
  }
  function sort(table, header, index) {
    const down = header.getAttribute("aria-sort") === "ascending";
    for (const other of table.tHead.rows[0].cells) {
      other.removeAttribute("aria-sort");
    }
    header.setAttribute("aria-sort", down ? "descending" : "ascending");
    const body = table.tBodies[0];
    const rows = Array.from(body.rows);
    rows.sort(function (a, b) {
      const bands = Number(a.dataset.band || 0) - Number(b.dataset.band || 0);
      const inside = compare(value(a, index), value(b, index));
      return bands || (down ? -inside : inside);
    });
    body.append(...rows);
  }
  for (const table of document.querySelectorAll("table[data-sortable]")) {
    Array.from(table.tHead.rows[0].cells).forEach(function (header, index) {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...header.childNodes);
      button.addEventListener("click", function () { sort(table, header, index); });
      header.append(button);
    });
  }
  addEventListener("beforeprint", function () {
    for (const fold of document.querySelectorAll("details[data-printed]")) { fold.open = true; }
  });
})();
