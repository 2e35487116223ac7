// Cards looked at from the keyboard: digits choose, Enter saves, arrows go on. The next card that
// waits is fetched while this one is looked at, and stands there as soon as this one is saved. The
// page works without this: everything here is a button, a field or a link as well.
(function () {
  "use strict";
  var form, lists, turn, next;

  function all(selector, within) { return Array.prototype.slice.call((within || form).querySelectorAll(selector)); }

  function begin() {
    form = document.querySelector("[data-review]");
    lists = [];
    turn = 0;
    next = null;
    if (!form) { return; }
    // What a digit can choose: a list of which one is taken, each with its number in front.
    lists = all("[data-first] fieldset").map(function (set) {
      return all("input[type=radio], input[type=checkbox]", set).filter(function (input) { return input.value !== ""; }).slice(0, 9);
    }).filter(function (inputs) { return inputs.length > 1; });
    lists.forEach(function (inputs) {
      inputs.forEach(function (input, index) {
        var digit = document.createElement("kbd");
        digit.textContent = String(index + 1);
        input.closest("label").appendChild(digit);
      });
    });
    if (lists.length) { all("[data-keys]").forEach(function (line) { line.hidden = false; }); }
    here();
    form.addEventListener("submit", save);
    ahead();
  }

  function here() {
    lists.forEach(function (inputs, index) {
      inputs[0].closest("fieldset").classList.toggle("asked-now", lists.length > 1 && index === turn);
    });
  }

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

  // --- the next card --------------------------------------------------------------------------

  function ahead() {
    var way = document.querySelector("[data-arrow='ArrowRight']");
    if (!way || !window.fetch) { return; }
    var mine = { path: way.pathname, page: null };
    var asked = form;
    next = mine;
    fetch(way.pathname + "?ahead=" + form.dataset.review, { credentials: "same-origin" }).then(function (answer) {
      return answer.ok ? answer.text() : "";
    }).then(function (html) {
      var page = html ? new DOMParser().parseFromString(html, "text/html").querySelector("main") : null;
      if (page && page.querySelector("[data-review]")) { mine.page = page; asked.dataset.ahead = "there"; }
    }).catch(function () { /* the wifi is gone for a moment: the browser asks for it by itself */ });
  }

  function save(event) {
    var button = event.submitter;
    if (!button || !window.fetch || !window.FormData) { return; }
    event.preventDefault();
    var asked = form;
    var body = new FormData(asked);
    body.append(button.name, button.value);
    body.append("by", "script");
    all("button").forEach(function (one) { one.disabled = true; });
    fetch(asked.action, { method: "POST", body: body, credentials: "same-origin" }).then(function (answer) {
      var said = answer.headers.get("Content-Type") || "";
      if (!answer.ok || said.indexOf("application/json") !== 0) { plainly(asked, button); return null; }
      return answer.json().then(go);
    }).catch(function () {
      all("button", asked).forEach(function (one) { one.disabled = false; });
      all("[data-lost]", asked).forEach(function (line) { line.hidden = false; });
    });
  }

  // A refusal is shown by the page that the form itself leads to; sent twice it counts once.
  function plainly(asked, button) {
    var said = document.createElement("input");
    said.type = "hidden";
    said.name = button.name;
    said.value = button.value;
    asked.appendChild(said);
    asked.submit();
  }

  function go(told) {
    if (!next || !next.page || next.path !== told.onward) { location.assign(told.address); return; }
    var page = document.adoptNode(next.page);
    var line = document.createElement("p");
    line.className = told.question ? "caution" : "fine";
    line.setAttribute("role", "status");
    line.textContent = told.done;
    page.insertBefore(line, page.querySelector(".review"));
    document.querySelector("main").replaceWith(page);
    history.pushState(null, "", told.onward);
    window.scrollTo(0, 0);
    begin();
  }

  window.addEventListener("popstate", function () { location.reload(); });

  // --- keys -----------------------------------------------------------------------------------

  function writes(target) {
    return /^(TEXTAREA|SELECT)$/.test(target.tagName) || (target.tagName === "INPUT" && !/radio|checkbox/.test(target.type));
  }

  document.addEventListener("keydown", function (event) {
    if (!form || event.ctrlKey || event.metaKey || event.altKey || writes(event.target)) { return; }
    var way = document.querySelector("[data-arrow='" + event.key + "']");
    if (way) { event.preventDefault(); location.assign(way.href); return; }
    if (/^[1-9]$/.test(event.key)) { event.preventDefault(); choose(Number(event.key) - 1); return; }
    if (event.key === "Enter" && !/^(BUTTON|A|SUMMARY)$/.test(event.target.tagName)) {
      event.preventDefault();
      all("button[value=otherwise]")[0].click();
    }
  });

  begin();
}());
