/* The cards of builds: found by words, region and standing, and put in order. Without this script all of them are there. */
(function () {
  "use strict";
  var list = document.getElementById("builds");
  var form = document.querySelector("form.filter");
  if (!list || !form) { return; }
  var cards = Array.prototype.slice.call(list.children);
  var words = form.querySelector("input");
  var choices = ["region", "standing"].map(function (name) { return form.querySelector("[name=" + name + "]"); });
  var by = form.querySelector("[name=by]");
  var status = form.querySelector("[role=status]");

  function show() {
    var asked = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    var shown = 0;
    cards.forEach(function (card) {
      var text = card.textContent.toLowerCase();
      var fits = asked.every(function (word) { return text.indexOf(word) >= 0; }) &&
        choices.every(function (choice) { return !choice.value || card.getAttribute("data-" + choice.name) === choice.value; });
      card.hidden = !fits;
      shown += fits ? 1 : 0;
    });
    status.textContent = shown + " of " + cards.length + " builds, " + by.selectedOptions[0].textContent + ".";
  }

  function order() {
    var key = "data-" + by.value, named = by.value === "title";
    cards.sort(function (a, b) {
      var left = a.getAttribute(key), right = b.getAttribute(key);
      return named ? left.localeCompare(right) : Number(right) - Number(left);
    }).forEach(function (card) { list.appendChild(card); });
    show();
  }

  form.hidden = false;
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  words.addEventListener("input", show);
  choices.forEach(function (choice) { choice.addEventListener("change", show); });
  by.addEventListener("change", order);
  order();
})();
