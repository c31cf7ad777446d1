/* Search: filters the entries of search-index.js. Every word must occur, in the entry or in its build's title; whole words
   count most, then beginnings of words. Words that mean the same find the same. */
(function () {
  "use strict";
  var index = window.gasdocIndex;
  var form = document.querySelector("form.search");
  if (!index || !form) { return; }
  var most = 60;
  var input = form.querySelector("input");
  var status = document.getElementById("search-status");
  var results = document.getElementById("search-results");
  var groups = index.alike.map(function (row) { return row.map(plain); });
  var entries = [];
  index.builds.forEach(function (build) {
    build[2].forEach(function (entry) {
      var body = (entry[4] || []).map(text).join(" ");
      var name = text(entry[1]);
      entries.push({
        kind: entry[0], name: name, body: body, build: build[0],
        href: build[1][entry[2] || 0] + (entry[3] ? "#" + entry[3] : ""),
        plainName: plain(name), plainBody: plain(body), plainBuild: plain(index.kinds[entry[0]] + " " + build[0])
      });
    });
  });

  function text(value) { return typeof value === "number" ? index.texts[value] : value; }

  /* Words between spaces, without accents and signs, so that a whole word is one between two spaces. */
  function plain(said) {
    return " " + said.toLowerCase().normalize("NFKD").replace(/[\u0300-\u036f]/g, "")
      .replace(/[^\p{L}\p{N}./]+/gu, " ").replace(/\.(?= |$)/g, "").trim() + " ";
  }

  /* What is looked for: a list of terms, each a list of words that will do. */
  function terms(said) {
    var left = plain(said);
    var found = [];
    groups.map(function (row) { return row.filter(function (word) { return left.indexOf(word) >= 0; }).map(function (word) {
      return { word: word, row: row };
    }); }).reduce(function (all, some) { return all.concat(some); }, []).sort(function (a, b) {
      return b.word.length - a.word.length;
    }).forEach(function (one) {
      if (left.indexOf(one.word) < 0) {
        /* Taken by a longer one, or by the same word of another row: that row will do, too. */
        found.forEach(function (term) { if (term.said === one.word) { term.words = term.words.concat(one.row); } });
        return;
      }
      left = left.replace(one.word, " ");
      found.push({ said: one.word, words: [one.word].concat(one.row) });
    });
    left.split(" ").filter(Boolean).forEach(function (word) { found.push({ said: " " + word + " ", words: [" " + word + " "] }); });
    return found;
  }

  /* 3 for a whole word, 2 for the beginning of one, 1 inside one; another word for it counts less than half. */
  function fits(term, inText) {
    var best = 0;
    term.words.forEach(function (word, place) {
      var value = inText.indexOf(word) >= 0 ? 3
        : place > 0 ? 0
        : inText.indexOf(word.slice(0, -1)) >= 0 ? 2
        : word.length > 5 && inText.indexOf(word.trim()) >= 0 ? 1 : 0;
      best = Math.max(best, place > 0 ? 0.4 * value : value);
    });
    return best;
  }

  function worth(entry, wanted) {
    var sum = 0;
    for (var i = 0; i < wanted.length; i += 1) {
      var value = Math.max(2 * fits(wanted[i], entry.plainName), fits(wanted[i], entry.plainBody), fits(wanted[i], entry.plainBuild));
      if (!value) { return 0; }
      sum += value;
    }
    return index.kinds[entry.kind] === "key" ? sum / 2 : sum; /* what builds have comes before how a spec is written */
  }

  function element(name, text, parent) {
    var made = document.createElement(name);
    if (text) { made.textContent = text; }
    parent.appendChild(made);
    return made;
  }

  /* Some words around the first that fits, with what fits marked. */
  function snippet(said, wanted, parent) {
    var words = [];
    wanted.forEach(function (term) { words = words.concat(term.words.map(function (word) { return word.trim(); })); });
    words.sort(function (a, b) { return b.length - a.length; });
    var pattern = new RegExp("(" + words.map(function (word) {
      return word.replace(/[.*+?^${}()|[\]\\]/g, "\\$&").replace(/ /g, "[ -]");
    }).join("|") + ")", "i");
    var at = said.search(pattern);
    var from = at > 70 ? said.indexOf(" ", at - 60) + 1 : 0;
    var shown = (from ? "\u2026 " : "") + said.slice(from, from + 170) + (from + 170 < said.length ? " \u2026" : "");
    shown.split(pattern).forEach(function (part, place) { element(place % 2 ? "mark" : "span", part, parent); });
  }

  function search() {
    var wanted = terms(input.value);
    results.textContent = "";
    if (!wanted.length) { status.textContent = ""; return; }
    var found = entries.map(function (entry) { return { entry: entry, worth: worth(entry, wanted) }; })
      .filter(function (one) { return one.worth > 0; })
      .sort(function (a, b) { return b.worth - a.worth || a.entry.kind - b.entry.kind; });
    status.textContent = found.length === 0 ? "Nothing found."
      : found.length === 1 ? "1 found."
      : found.length > most ? found.length + " found; the first " + most + " are shown." : found.length + " found.";
    var list = element("ul", "", results);
    list.className = "found";
    list.setAttribute("role", "list");
    var same = {};
    found.forEach(function (one) { /* what several builds have is one item, with a link to each of them */
      var entry = one.entry;
      var key = entry.kind + entry.name;
      if (entry.kind && same[key] && !entry.body) {
        var also = element("a", entry.build, same[key]);
        also.href = entry.href;
        same[key].insertBefore(document.createTextNode(", "), also);
        return;
      }
      if (list.childElementCount === most) { return; }
      var item = element("li", "", list);
      var head = element("p", "", item);
      element("span", index.kinds[entry.kind] + " ", head).className = "label";
      var link = element("a", "", head);
      link.href = entry.href;
      if (entry.kind) { snippet(entry.name, wanted, link); } else { link.textContent = entry.build; }
      same[key] = element("span", " " + (entry.kind ? entry.build : entry.name), head);
      same[key].className = "quiet";
      if (entry.body) { snippet(entry.body, wanted, element("p", "", item)); }
    });
  }

  document.getElementById("search-without").hidden = true;
  form.hidden = false;
  form.addEventListener("submit", function (event) { event.preventDefault(); search(); });
  input.addEventListener("input", search);
  input.value = new URLSearchParams(window.location.search).get("q") || "";
  search();
})();
