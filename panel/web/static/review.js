// Cards looked at from the keyboard: digits choose, Enter saves, arrows go on. The page works
// without this: everything here is a button, a field or a link as well.
(function () {
  "use strict";
  var form = document.querySelector("[data-review]");
  if (!form) { return; }

  function all(selector, within) { return Array.prototype.slice.call((within || form).querySelectorAll(selector)); }

  // What a digit can choose: a list of which one is taken, each with its number in front.
  var lists = all("[data-first] fieldset").map(function (set) {
    return all("input[type=radio], input[type=checkbox]", set).filter(function (input) { return input.value !== ""; }).slice(0, 9);
  }).filter(function (inputs) { return inputs.length > 1; });
  var turn = 0;

  function here() {
    lists.forEach(function (inputs, index) {
      inputs[0].closest("fieldset").classList.toggle("asked-now", lists.length > 1 && index === turn);
    });
  }

  lists.forEach(function (inputs) {
    inputs.forEach(function (input, index) {
      var digit = document.createElement("kbd");
      digit.textContent = String(index + 1);
      input.closest("label").appendChild(digit);
    });
  });

  function several(input) { return input.type === "checkbox"; }

  function choose(index) {
    var input = (lists[turn] || [])[index];
    if (!input) { return; }
    input.checked = several(input) ? !input.checked : true;
    input.focus();
    var set = input.closest("fieldset");
    var enough = several(input) ? Number(set.dataset.pick || 99) : 1;
    if (all("input:checked", set).length >= enough && turn < lists.length - 1) { turn += 1; }
    here();
  }

  function writes(target) {
    return /^(TEXTAREA|SELECT)$/.test(target.tagName) || (target.tagName === "INPUT" && !/radio|checkbox/.test(target.type));
  }

  document.addEventListener("keydown", function (event) {
    if (event.ctrlKey || event.metaKey || event.altKey || writes(event.target)) { return; }
    var way = document.querySelector("[data-arrow='" + event.key + "']");
    if (way) { event.preventDefault(); location.assign(way.href); return; }
    if (/^[1-9]$/.test(event.key)) { event.preventDefault(); choose(Number(event.key) - 1); return; }
    if (event.key === "Enter" && !/^(BUTTON|A|SUMMARY)$/.test(event.target.tagName)) {
      event.preventDefault();
      all("button[value=otherwise]")[0].click();
    }
  });

  if (lists.length) { all("[data-keys]").forEach(function (line) { line.hidden = false; }); }
  here();
}());
