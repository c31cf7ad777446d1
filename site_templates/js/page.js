/* What a page does beside standing there: an address opens the fold it leads into, a box that scrolls sideways can be reached
   by keyboard, lists are ticked. Ticks are kept on the device, by page and tightness code. All of it can be read without. */
(function () {
  "use strict";

  function all(selector, within) { return Array.from((within || document).querySelectorAll(selector)); }

  function element(name, text, className) {
    var made = document.createElement(name);
    if (text) { made.textContent = text; }
    if (className) { made.className = className; }
    return made;
  }

  /* Folds */

  function open(id) {
    var at = id && document.getElementById(decodeURIComponent(id));
    if (!at) { return; }
    var fold = at.closest("details");
    if (!fold) { return; }
    for (; fold; fold = fold.parentElement.closest("details")) { fold.open = true; }
    at.scrollIntoView();
  }
  window.addEventListener("hashchange", function () { open(location.hash.slice(1)); });
  document.addEventListener("click", function (event) {
    var link = event.target.closest("a[href^='#']");
    if (!link) { return; }
    var bar = link.closest(".places details");
    if (bar) { bar.open = false; }
    if (link.hash === location.hash) { open(link.hash.slice(1)); }
  });
  open(location.hash.slice(1));

  var folds = all(".record .fold");
  if (folds.length > 1) {
    all(".places ul").forEach(function (list) {
      var button = list.appendChild(element("li")).appendChild(element("button", "Open all folds"));
      button.type = "button";
      button.addEventListener("click", function () { folds.forEach(function (fold) { fold.open = true; }); });
    });
  }

  /* Boxes that scroll sideways */

  var sizes = new ResizeObserver(function (seen) {
    seen.forEach(function (one) {
      var box = one.target;
      var figure = box.closest("figure");
      var name = box.querySelector("caption") || (figure && figure.querySelector("figcaption"));
      if (box.scrollWidth > box.clientWidth) {
        box.tabIndex = 0;
        box.setAttribute("role", "region");
        box.setAttribute("aria-label", name ? name.textContent : "Scrolls sideways");
      } else {
        ["tabindex", "role", "aria-label"].forEach(function (given) { box.removeAttribute(given); });
      }
    });
  });
  all(".scroll, pre").forEach(function (box) { sizes.observe(box); });

  /* Ticks */

  var kept = document.querySelector(".kept:not(.part .kept)");
  if (!kept) { return; }
  var clear = kept.querySelector("button");
  var code = kept.dataset.code;
  var place = "gasdoc-ticks " + location.pathname;
  var now = new Date();
  var today = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map(function (n) { return String(n).padStart(2, "0"); }).join("-");
  var state = { code: code, ticks: {} };
  var lost = "";
  try {
    var before = JSON.parse(localStorage.getItem(place) || "null");
    if (before && before.code === code) { state = before; }
    else if (before) { lost = "The ticks of " + days(before.ticks) + " belonged to the code " + before.code + ". The build has changed since, so every box is empty. "; }
  } catch (error) { lost = "This browser keeps no ticks: they are lost when the page is closed. "; }

  function save() {
    try { localStorage.setItem(place, JSON.stringify(state)); } catch (error) { /* said above */ }
  }

  function days(ticks) {
    var found = Object.keys(ticks).map(function (key) { return ticks[key]; }).sort();
    return found[0] === found[found.length - 1] ? found[0] : found[0] + " to " + found[found.length - 1];
  }

  /* A box before what it says; the whole line is where to tap. */
  function tickable(line) {
    var label = element("label");
    var input = element("input");
    input.type = "checkbox";
    var near = line.closest(".fold");
    var heading = near && near.querySelector("[id]");
    input.dataset.key = (heading ? heading.id : "") + "|" + line.textContent.replace(/\s+/g, " ").trim();
    Array.from(line.childNodes).forEach(function (node) {
      if (!node.matches || !node.matches(".photo, .box, a:not(.term)")) { label.appendChild(node); }
    });
    line.insertBefore(label, line.firstChild);
    line.insertBefore(input, label);
    input.id = "tick-" + boxes.length;
    label.htmlFor = input.id;
    line.classList.add("tickable");
    boxes.push(input);
    return input;
  }

  var boxes = [];
  var steps = all(".fold.day-step").map(function (fold) {
    var gate = fold.querySelector(".gate");
    return {
      id: fold.dataset.step, needs: fold.dataset.needs.split(" "), fold: fold,
      boxes: all(".checklist > li", fold).map(tickable),
      number: fold.querySelector(".number").textContent,
      gate: gate && tickable(gate),
      says: gate && gate.appendChild(element("span", "", "locked")),
      ticked: fold.querySelector("summary").appendChild(element("span", "", "said"))
    };
  });
  all(".checklist > li, .shopping > li").forEach(function (line) { if (!line.matches(".tickable")) { tickable(line); } });

  /* Set every box by what is kept; a gate is free when its own boxes are ticked and the steps before it are done. */
  function show() {
    var done = {};
    boxes.forEach(function (box) { box.checked = box.dataset.key in state.ticks; });
    steps.forEach(function (step) {
      var left = step.boxes.filter(function (box) { return !box.checked; }).length;
      var missing = steps.filter(function (other) { return step.needs.indexOf(other.id) >= 0 && !done[other.id]; });
      if (step.gate) {
        step.gate.disabled = left > 0 || missing.length > 0;
        if (step.gate.disabled && step.gate.checked) {
          step.gate.checked = false;
          delete state.ticks[step.gate.dataset.key];
        }
        step.says.textContent = missing.length ? "Locked: step " + missing[0].number + " is not done."
          : left ? "Locked: " + left + " box" + (left > 1 ? "es" : "") + " above not ticked." : "";
      }
      done[step.id] = !left && !missing.length && (!step.gate || step.gate.checked);
      step.ticked.textContent = step.boxes.length - left ? (step.boxes.length - left) + " of " + step.boxes.length + " ticked"
        + (step.gate ? ", the gate " + (step.gate.checked ? "too." : "not.") : ".") : "";
    });
    var count = boxes.filter(function (box) { return box.checked; }).length;
    kept.querySelector("[role=status]").textContent = lost + (count
      ? count + " of " + boxes.length + " boxes ticked on " + days(state.ticks) + ", for the tightness code " + code + "."
        + (steps.length && days(state.ticks).slice(-10) !== today ? " That was not today: look at each again." : "")
      : "Ticks hold for the tightness code " + code + ".");
    clear.hidden = !count && !lost;
    return steps.filter(function (step) { return !done[step.id]; })[0];
  }

  boxes.forEach(function (box) {
    box.addEventListener("change", function () {
      if (box.checked) { state.ticks[box.dataset.key] = today; } else { delete state.ticks[box.dataset.key]; }
      lost = "";
      var next = show();
      save();
      if (box.checked && next && steps.some(function (step) { return step.gate === box; })) { next.fold.open = true; }
    });
  });
  clear.addEventListener("click", function () {
    if (!confirm("Clear every tick on this page?")) { return; }
    state = { code: code, ticks: {} };
    lost = "";
    show();
    save();
  });
  kept.hidden = false;
  var first = show();
  if (first && Object.keys(state.ticks).length) { first.fold.open = true; }
})();
