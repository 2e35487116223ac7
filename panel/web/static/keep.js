// Keeps a ballot on the phone until the service has it, and sends it again when the wifi drops.
// Nothing here needs a secure context: a pub's network is plain http. Without this script the
// same form goes step by step by itself.
(function () {
  "use strict";

  var store = {
    read: function (ref) { try { return JSON.parse(localStorage.getItem("panel " + ref)); } catch (e) { return null; } },
    write: function (ref, draft) { try { localStorage.setItem("panel " + ref, JSON.stringify(draft)); return true; } catch (e) { return false; } },
    wipe: function (ref) { try { localStorage.removeItem("panel " + ref); } catch (e) { /* nothing was kept */ } }
  };

  var done = document.querySelector("[data-wipe]");
  if (done) { store.wipe(done.dataset.wipe); }

  var form = document.querySelector("[data-ballot]");
  if (!form || !window.fetch || !window.FormData || !window.URLSearchParams) { return; }

  var ref = form.dataset.ballot;
  var sections = Array.prototype.slice.call(form.querySelectorAll("[data-step]"));
  var names = sections.map(function (section) { return section.dataset.step; });
  var state = form.querySelector("[data-state]");
  var draft = { key: form.elements.key.value, changed: 0, tried: false, stands: false, fields: [] };
  var sending = false;
  var timer = null;
  var pause = 1;
  var turn = 0;

  function all(selector, within) { return Array.prototype.slice.call((within || form).querySelectorAll(selector)); }
  function isAnswer(field) { return field.name && field.name.indexOf("answer-") === 0; }
  function here() { return form.elements.step.value; }

  // --- the draft -------------------------------------------------------------------------------

  function gather() {
    return Array.prototype.filter.call(form.elements, function (field) {
      return isAnswer(field) && (!/radio|checkbox/.test(field.type) || field.checked);
    }).map(function (field) { return [field.name, field.value]; });
  }

  function keep() {
    draft.fields = gather();
    return store.write(ref, draft);
  }

  function fill(fields) {
    var rest = fields.slice();
    Array.prototype.forEach.call(form.elements, function (field) {
      if (!isAnswer(field) || field.type === "hidden") { return; }
      if (/radio|checkbox/.test(field.type)) {
        field.checked = rest.some(function (pair) { return pair[0] === field.name && pair[1] === field.value; });
        return;
      }
      for (var i = 0; i < rest.length; i += 1) {
        if (rest[i][0] === field.name) { field.value = rest[i][1]; rest.splice(i, 1); return; }
      }
    });
  }

  function tell(kind) {
    state.hidden = false;
    state.className = "state " + kind;
    state.textContent = form.dataset["said" + kind.charAt(0).toUpperCase() + kind.slice(1)];
  }

  // --- steps -----------------------------------------------------------------------------------

  function words(question) {
    var parts = [];
    all("[data-question='" + question + "'] input, [data-question='" + question + "'] select, [data-question='" + question + "'] textarea").forEach(function (field) {
      if (/radio|checkbox/.test(field.type)) { if (field.checked) { parts.push(field.dataset.words); } }
      else if (field.value.trim()) { parts.push(field.value.trim()); }
    });
    return parts.join(", ");
  }

  function readOver() {
    all("[data-over]").forEach(function (line) { line.textContent = words(line.dataset.over) || form.dataset.saidNone; });
  }

  function show(name) {
    if (names.indexOf(name) < 0) { name = names[0]; }
    form.elements.step.value = name;
    sections.forEach(function (section) { section.hidden = section.dataset.step !== name; });
    if (name === "over") { readOver(); }
    window.scrollTo(0, 0);
    var title = form.querySelector("[data-step='" + name + "'] h1");
    if (title) { title.tabIndex = -1; title.focus({ preventScroll: true }); }
  }

  function go(name) {
    history.pushState({ step: name }, "");
    show(name);
  }

  function missing(section) {
    var first = null;
    all("fieldset[data-need]", section).forEach(function (set) {
      var chosen = all("input:checked", set);
      var none = chosen.some(function (input) { return input.value === "none"; });
      // A known cup beside them is shown and not asked about: only what can be answered counts.
      var cups = all("[role='radiogroup']", set).length;
      var selects = all("select", set);
      var enough = selects.length
        ? selects.every(function (select) { return select.value; })
        : cups ? chosen.length === cups
        : set.dataset.pick ? (none && chosen.length === 1) || (!none && chosen.length === Number(set.dataset.pick))
        : chosen.length > 0;
      var old = set.querySelector(".reason");
      if (old) { old.remove(); }
      set.removeAttribute("aria-describedby");
      if (enough) { return; }
      var reason = document.createElement("p");
      reason.className = "reason";
      reason.id = set.dataset.question + "-reason";
      reason.textContent = set.dataset.need;
      set.querySelector("legend").after(reason);
      set.setAttribute("aria-describedby", reason.id);
      first = first || set;
    });
    return first;
  }

  // Nose first: once its page is left, the choice by smell is only shown.
  function stand(section) {
    var first = section && section.querySelector("[data-stands]");
    if (!first || !first.hidden) { return; }
    first.querySelector("[data-first]").textContent = words("nose");
    first.hidden = false;
    section.querySelector("[data-open]").hidden = true;
    form.elements.stands.value = "yes";
    draft.stands = true;
    keep();
  }

  // --- sending ---------------------------------------------------------------------------------

  function body() {
    var pairs = new URLSearchParams(new FormData(form));
    pairs.set("key", draft.changed ? draft.key + "-" + draft.changed : draft.key);
    return pairs;
  }

  function give(url) {
    store.wipe(ref);
    tell("saved");
    location.replace(url);
  }

  function byHand() {
    // The service has something to say about it: let its page be shown, filled as it is.
    form.action = form.dataset.send;
    form.elements.key.value = body().get("key");
    HTMLFormElement.prototype.submit.call(form);
  }

  function later() {
    sending = false;
    tell("waiting");
    clearTimeout(timer);
    timer = setTimeout(send, pause * 1000);
    pause = Math.min(30, pause * 2);
  }

  function send() {
    if (sending) { return; }
    sending = true;
    clearTimeout(timer);
    draft.tried = true;
    keep();
    tell("sending");
    var mine = turn += 1;
    var stop = window.AbortController ? new AbortController() : null;
    var enough = setTimeout(function () { if (stop) { stop.abort(); } }, 15000);
    fetch(form.dataset.send, { method: "POST", body: body(), credentials: "same-origin", signal: stop ? stop.signal : undefined })
      .then(function (answer) {
        clearTimeout(enough);
        if (mine !== turn) { return; }  // changed meanwhile: what is on the phone is newer
        if (answer.ok && /\/receipt$/.test(new URL(answer.url).pathname)) { give(answer.url); }
        else if (answer.status >= 500 || answer.status === 429 || answer.status === 408) { later(); }
        else { byHand(); }
      })
      .catch(function () { clearTimeout(enough); if (mine === turn) { later(); } });
  }

  // --- at work ---------------------------------------------------------------------------------

  form.addEventListener("submit", function (event) {
    event.preventDefault();
    var button = event.submitter || document.activeElement || {};
    if (button.name === "to") { go(button.value); return; }
    if (here() === "over") { send(); return; }
    var section = sections[names.indexOf(here())];
    var first = missing(section);
    if (first) { first.focus(); first.scrollIntoView({ block: "start" }); return; }
    stand(section);
    go(names[names.indexOf(here()) + 1]);
  });

  form.addEventListener("change", function (event) {
    var group = event.target.closest("[data-alone]");
    if (group && event.target.checked) {
      all("input", group).forEach(function (input) {
        if (input !== event.target && (input.value === group.dataset.alone || event.target.value === group.dataset.alone)) { input.checked = false; }
      });
    }
    var asked = event.target.closest("[data-question]");
    var reason = asked && asked.querySelector(".reason");
    if (reason) { reason.remove(); asked.removeAttribute("aria-describedby"); }
    changed();
  });
  form.addEventListener("input", changed);

  function changed() {
    // What was sent with one key must not come again with other answers.
    if (draft.tried) { draft.changed += 1; draft.tried = false; turn += 1; clearTimeout(timer); sending = false; }
    if (keep()) { tell("kept"); }
  }

  window.addEventListener("popstate", function (event) { show((event.state && event.state.step) || names[0]); });
  window.addEventListener("online", function () { if (draft.tried && !sending) { pause = 1; send(); } });

  var before = store.read(ref);
  var cameBack = "cameBack" in form.dataset;
  if (before && !cameBack && !("change" in form.dataset)) {
    draft = before;
    fill(draft.fields);
    if (draft.stands) { stand(sections[names.indexOf("nose")]); }
    tell("kept");
    if (draft.tried) { show("over"); send(); }
  } else if (cameBack) {
    keep();
  }
  history.replaceState({ step: here() }, "");
  if (here() === "over") { readOver(); }
}());
