/* Search: filters the entries of search-index.js. Every word must occur, in the entry or in its build's title. */
(function () {
  "use strict";
  var index = window.gasdocIndex;
  var form = document.querySelector("form.search");
  if (!index || !form) { return; }
  var most = 60;
  var input = form.querySelector("input");
  var status = document.getElementById("search-status");
  var results = document.getElementById("search-results");
  var entries = [];
  index.builds.forEach(function (build) {
    build[2].forEach(function (entry) {
      entries.push({
        kind: entry[0], text: entry[1], build: build[0],
        href: build[1][entry[2] || 0] + (entry[3] ? "#" + entry[3] : ""),
        plain: plain(index.kinds[entry[0]] + " " + entry[1] + " " + build[0])
      });
    });
  });

  function plain(text) {
    return text.toLowerCase().normalize("NFKD").replace(/[\u0300-\u036f]/g, "");
  }

  function element(name, text, parent) {
    var made = document.createElement(name);
    if (text) { made.textContent = text; }
    parent.appendChild(made);
    return made;
  }

  function search() {
    var words = plain(input.value).split(/\s+/).filter(Boolean);
    results.textContent = "";
    if (!words.length) { status.textContent = ""; return; }
    var found = entries.filter(function (entry) {
      return words.every(function (word) { return entry.plain.indexOf(word) >= 0; });
    }).sort(function (a, b) { return a.kind - b.kind; });
    status.textContent = found.length === 0 ? "Nothing found."
      : found.length === 1 ? "1 found."
      : found.length > most ? found.length + " found; the first " + most + " are shown." : found.length + " found.";
    var list = element("ul", "", results);
    list.className = "found";
    list.setAttribute("role", "list");
    found.slice(0, most).forEach(function (entry) {
      var item = element("li", "", list);
      element("span", index.kinds[entry.kind] + " ", item).className = "label";
      var link = element("a", entry.kind === 0 ? entry.build : entry.text, item);
      link.href = entry.href;
      var beside = element("span", entry.kind === 0 ? " " + entry.text : " " + entry.build, item);
      beside.className = "quiet";
    });
  }

  document.getElementById("search-without").hidden = true;
  form.hidden = false;
  form.addEventListener("submit", function (event) { event.preventDefault(); search(); });
  input.addEventListener("input", search);
  input.value = new URLSearchParams(window.location.search).get("q") || "";
  search();
})();
