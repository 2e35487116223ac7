// The organiser's pages work without this: it only follows the count of ballots, copies a link, and
// opens the sentence under which the field lies that a link leads to.
(function () {
  "use strict";
  var EVERY = 5000;

  function follow(place) {
    function ask() {
      if (document.hidden) { return; }
      fetch(place.dataset.follow, { headers: { "X-Requested-With": "fetch" }, redirect: "error" })
        .then(function (answer) { return answer.ok ? answer.text() : null; })
        .then(function (piece) { if (piece !== null && piece !== place.innerHTML) { place.innerHTML = piece; } })
        .catch(function () { /* the wifi is gone for a moment: ask again */ });
    }
    window.setInterval(ask, EVERY);
    document.addEventListener("visibilitychange", ask);
  }

  function copies(button) {
    var text = document.getElementById(button.dataset.copy).textContent.trim();
    // Only pages by https or on this machine may write to the clipboard.
    if (!navigator.clipboard) { return; }
    button.hidden = false;
    button.addEventListener("click", function () {
      navigator.clipboard.writeText(text).then(function () { button.textContent = button.dataset.done; });
    });
  }

  function uncover() {
    var field = location.hash.length > 1 ? document.getElementById(location.hash.slice(1)) : null;
    var over = field ? field.closest("details:not([open])") : null;
    if (!over) { return; }
    for (; over; over = over.parentElement.closest("details:not([open])")) { over.open = true; }
    field.scrollIntoView();
  }

  uncover();
  window.addEventListener("hashchange", uncover);
  document.querySelectorAll("[data-follow]").forEach(follow);
  document.querySelectorAll("[data-copy]").forEach(copies);
}());
