// Photographs are sent one by one as soon as they are taken, so that the next can be taken at once;
// the list of cards is put in its place as each is read. Without this the page has a button.
(function () {
  "use strict";
  var form = document.querySelector("[data-photos]");
  var sending = document.querySelector("[data-sending]");
  if (!form || !sending || !window.fetch || !window.FormData) { return; }

  var AT_ONCE = 2;
  var queue = [];
  var running = 0;
  var taken = 0;

  form.classList.add("scripted");
  form.querySelector("[data-send]").hidden = true;
  form.querySelector(".dropping").hidden = false;

  function word(name, number) { return form.dataset[name].replace("#", String(number)); }

  function add(files) {
    Array.prototype.forEach.call(files, function (file) {
      taken += 1;
      var line = document.createElement("li");
      line.textContent = word("waits", taken);
      sending.insertBefore(line, sending.firstChild);
      queue.push({ file: file, line: line, number: taken });
    });
    next();
  }

  function next() {
    while (running < AT_ONCE && queue.length) { send(queue.shift()); }
  }

  function send(one) {
    var body = new FormData();
    body.append("csrf_token", form.elements.csrf_token.value);
    body.append("part", "rows");
    body.append("pictures", one.file);
    running += 1;
    one.line.className = "now";
    one.line.textContent = word("sent", one.number);
    fetch(form.action, { method: "POST", body: body, credentials: "same-origin" }).then(function (answer) {
      return answer.text().then(function (html) { arrived(one, answer, html); });
    }).catch(function () { lost(one, ""); }).then(function () { running -= 1; next(); });
  }

  function arrived(one, answer, html) {
    var page = new DOMParser().parseFromString(html, "text/html");
    var list = page.getElementById("cards-in");
    if (!answer.ok || !list) {
      var why = page.querySelector("main .caution, main p");
      lost(one, why ? why.textContent.trim() : "");
      return;
    }
    var shown = document.getElementById("cards-in");
    // Two answers may overtake one another: the list with more pictures is the later.
    if (Number(list.dataset.readings) >= Number(shown.dataset.readings)) { shown.replaceWith(list); }
    var told = Array.prototype.slice.call(page.getElementById("not-listed").children);
    one.line.className = "done";
    one.line.textContent = word(told.length ? "about" : "done", one.number);
    told.forEach(function (line) { one.line.appendChild(line); });
    if (!told.length) { setTimeout(function () { one.line.remove(); }, 4000); }
  }

  function lost(one, why) {
    var again = document.createElement("button");
    again.type = "button";
    again.className = "second";
    again.textContent = form.dataset.again;
    again.addEventListener("click", function () { queue.push(one); one.line.textContent = word("waits", one.number); next(); });
    one.line.className = "lost";
    one.line.textContent = (why ? why + " " : "") + word("lost", one.number) + " ";
    one.line.appendChild(again);
  }

  Array.prototype.forEach.call(form.querySelectorAll("input[type=file]"), function (input) {
    input.addEventListener("change", function () { add(input.files); input.value = ""; });
  });

  ["dragenter", "dragover"].forEach(function (name) {
    form.addEventListener(name, function (event) { event.preventDefault(); form.classList.add("over"); });
  });
  form.addEventListener("dragleave", function (event) {
    if (!form.contains(event.relatedTarget)) { form.classList.remove("over"); }
  });
  form.addEventListener("drop", function (event) {
    event.preventDefault();
    form.classList.remove("over");
    add(event.dataTransfer.files);
  });

  window.addEventListener("beforeunload", function (event) {
    if (running || queue.length || sending.querySelector(".lost")) { event.preventDefault(); event.returnValue = ""; }
  });
}());
