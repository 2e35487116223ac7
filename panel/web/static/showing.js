// Keys for a screen that is shown to a room: space, arrows, and what a remote control sends.
(function () {
  "use strict";
  var ways = { " ": "next", ArrowRight: "next", ArrowDown: "next", PageDown: "next", Enter: "next",
    ArrowLeft: "prev", ArrowUp: "prev", PageUp: "prev", Backspace: "prev" };
  document.addEventListener("keydown", function (event) {
    if (event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) { return; }
    var on = document.activeElement;
    if (event.key === "Enter" && on && on.tagName === "A") { return; }
    var way = ways[event.key];
    if (event.key === "Home") { way = "first"; }
    if (event.key === "f" && document.documentElement.requestFullscreen && !document.fullscreenElement) {
      document.documentElement.requestFullscreen();
      return;
    }
    if (!way) { return; }
    event.preventDefault();
    if (way === "first") { location.assign(location.pathname.replace(/\d+$/, "1")); return; }
    var link = document.querySelector('link[rel="' + way + '"]');
    if (link) { location.replace(link.href); }
  });
})();
