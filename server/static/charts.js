/* Draws the charts of a page. The server wrote each as Plotly JSON next to its box; this script only looks up the
   colours of the style sheet, picks the layout for a narrow or a wide box, and draws again when either changes. */
(function () {
  "use strict";

  const NARROW = 620;
  const PRINT_WIDTH = 680;
  const CONFIG = { displayModeBar: false, scrollZoom: false, doubleClick: false, showTips: false };
  const boxes = Array.from(document.querySelectorAll("[data-figure]"));
  const drawnWidth = new WeakMap();
  let printing = false;

  /* "--permeate" is a token of the style sheet; "--permeate/2e" the same with a transparency, written or a token. */
  function lookUp(text, style) {
    const parts = text.split("/").map(function (part) {
      return part.startsWith("--") ? style.getPropertyValue(part).trim() : part;
    });
    return parts.join("");
  }

  function themed(node, style) {
    if (typeof node === "string") return node.startsWith("--") ? lookUp(node, style) : node;
    if (Array.isArray(node)) return node.map(function (entry) { return themed(entry, style); });
    if (node === null || typeof node !== "object") return node;
    return Object.fromEntries(Object.entries(node).map(function (entry) {
      return [entry[0], themed(entry[1], style)];
    }));
  }

  function draw(box) {
    const width = printing ? Number(box.dataset.printWidth || PRINT_WIDTH) : box.clientWidth;
    if (!width) return; /* inside something closed: drawn when it opens */
    const narrow = Number(box.dataset.narrow || NARROW);
    const figure = JSON.parse(document.getElementById(box.dataset.figure).textContent);
    const style = getComputedStyle(document.documentElement);
    const layout = Object.assign({}, figure.layout, width < narrow ? figure.narrow : {}, { width: width });
    drawnWidth.set(box, width);
    Plotly.react(box, themed(figure.data, style), themed(layout, style), CONFIG);
    box.dataset.drawn = width < narrow ? "narrow" : "wide";
  }

  function drawAll() {
    boxes.forEach(draw);
  }

  function forPrint(on) {
    if (printing === on) return;
    printing = on;
    document.documentElement.dataset.theme = on ? "print" : "";
    drawAll();
  }

  const sizes = new ResizeObserver(function (entries) {
    entries.forEach(function (entry) {
      if (!printing && Math.abs(entry.target.clientWidth - (drawnWidth.get(entry.target) || 0)) > 1) draw(entry.target);
    });
  });

  boxes.forEach(function (box) { sizes.observe(box); });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", drawAll);
  matchMedia("print").addEventListener("change", function (query) { forPrint(query.matches); });
  window.addEventListener("beforeprint", function () { forPrint(true); });
  window.addEventListener("afterprint", function () { forPrint(false); });
}());
