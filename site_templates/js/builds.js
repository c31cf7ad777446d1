/* The list of builds: sorting by a column, filtering by words and by standing. Without this script the table is complete. */
(function () {
  "use strict";
  var table = document.getElementById("builds");
  var form = document.querySelector("form.filter");
  if (!table || !form) { return; }
  var body = table.tBodies[0];
  var rows = Array.prototype.slice.call(body.rows);
  var heads = Array.prototype.slice.call(table.tHead.rows[0].cells);
  var words = form.querySelector("input");
  var standing = form.querySelector("[name=standing]");
  var by = form.querySelector("[name=by]");
  var downwards = form.querySelector("[name=down]");
  var status = form.querySelector("[role=status]");
  var column = heads.findIndex(function (head) { return head.textContent.trim() === "Standing"; });

  function value(row, at) {
    var cell = row.cells[at];
    var text = cell.hasAttribute("data-sort") ? cell.getAttribute("data-sort") : cell.textContent.trim();
    return text !== "" && isFinite(text) ? Number(text) : text.toLowerCase();
  }

  function filter() {
    var asked = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    var shown = 0;
    rows.forEach(function (row) {
      var text = row.textContent.toLowerCase();
      var fits = asked.every(function (word) { return text.indexOf(word) >= 0; }) &&
        (!standing.value || row.cells[column].textContent.trim() === standing.value);
      row.hidden = !fits;
      shown += fits ? 1 : 0;
    });
    status.textContent = shown + " of " + rows.length + " builds, by " + label(by.value).toLowerCase() +
      (downwards.checked ? ", largest first." : ".");
  }

  function label(at) {
    return heads[at].textContent.trim();
  }

  function sort() {
    var at = Number(by.value), sign = downwards.checked ? -1 : 1;
    heads.forEach(function (head) { head.removeAttribute("aria-sort"); });
    heads[at].setAttribute("aria-sort", sign < 0 ? "descending" : "ascending");
    rows.sort(function (a, b) {
      var left = value(a, at), right = value(b, at);
      return sign * (left < right ? -1 : left > right ? 1 : 0);
    }).forEach(function (row) { body.appendChild(row); });
    filter();
  }

  form.hidden = false;
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  words.addEventListener("input", filter);
  standing.addEventListener("change", filter);
  by.addEventListener("change", sort);
  downwards.addEventListener("change", sort);
  sort();
})();
