// Finds a cup in the table of this page. Without this script the table is there to be read.
(function () {
  "use strict";
  var form = document.getElementById("look-up");
  var answer = document.getElementById("answer");
  var card = document.getElementById("card");
  var code = document.getElementById("code");
  function plain(text) { return text.replace(/[\s.-]/g, "").toUpperCase(); }
  function find() {
    var here = document.querySelector("tr.here");
    if (here) { here.classList.remove("here"); }
    answer.textContent = "";
    if (!card.value.trim() || code.value.trim().length < 3) { return; }
    var wanted = plain(card.value);
    var row = Array.prototype.find.call(document.querySelectorAll("tr[data-card]"), function (one) {
      return plain(one.dataset.card) === wanted;
    });
    var cup = row && Array.prototype.find.call(row.querySelectorAll("td"), function (one) {
      return one.dataset.code === code.value.trim();
    });
    if (!cup) { answer.textContent = answer.dataset.none; return; }
    row.classList.add("here");
    answer.textContent = answer.dataset.held.replace("CODE", cup.dataset.code)
      .replace("CARD", row.dataset.card).replace("BEER", cup.dataset.beer);
  }
  form.hidden = false;
  form.addEventListener("submit", function (event) { event.preventDefault(); find(); });
  form.addEventListener("input", find);
})();
