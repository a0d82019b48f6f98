"""The fixed texts of a build sheet for a browser: its style and its script."""

from __future__ import annotations

STYLE = """\
:root { color-scheme: light dark; --ground: #fdfcf8; --panel: #f8f7f2; --ink: #1d2320; --faint: #565b55;
  --line: #d6d3c7; --edge: #85837a; --accent: #14578a; --care: #fbe4d9; --care-ink: #8f2500; }
@media (prefers-color-scheme: dark) { :root { --ground: #141817; --panel: #1e2322; --ink: #e8ece7;
  --faint: #a8b0aa; --line: #39413e; --edge: #7f8a85; --accent: #86c2ee; --care: #41241a;
  --care-ink: #ff9670; } }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1rem; max-width: 60rem; background: var(--ground); color: var(--ink);
  font: 1rem/1.5 system-ui, sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 1.6rem; line-height: 1.25; margin: 0 0 .25rem; }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; padding-top: .75rem; border-top: 1px solid var(--line); }
a { color: var(--accent); }
code { font-family: ui-monospace, monospace; }
.note, figcaption, caption { color: var(--faint); font-size: .875rem; }
.care { border: 2px solid var(--care-ink); background: var(--care); border-radius: 6px; padding: .5rem 1rem; }
.care ul { margin: 0; padding-left: 1.25rem; }
nav ol { columns: 14rem; padding-left: 1.5rem; }
nav li { break-inside: avoid; padding: .125rem 0; }
.scroll { overflow-x: auto; }
.scroll:focus-visible { outline: 2px solid var(--accent); outline-offset: 3px; }
table { border-collapse: collapse; margin: .75rem 0; font-size: .9rem; overflow-wrap: normal; }
caption { caption-side: bottom; text-align: left; padding-top: .25rem; }
th, td { padding: .25rem .6rem .25rem 0; text-align: left; vertical-align: top; min-width: 3rem;
  border-bottom: 1px solid var(--line); unicode-bidi: plaintext; }
th { border-bottom-color: var(--edge); }
td.mid { min-width: 7rem; }
td.wide { min-width: 11rem; }
.right { text-align: right; font-variant-numeric: tabular-nums; }
td.right { white-space: nowrap; }
figure { margin: 1rem 0; }
svg { display: block; width: 100%; min-width: 30rem; height: auto; background: #fdfcf8;
  border: 1px solid var(--line); border-radius: 4px; }
svg.live { min-width: 0; }
svg * { fill: none; stroke-linejoin: round; }
svg text { font-family: "DejaVu Sans", system-ui, sans-serif; }
@media (max-width: 40rem) { svg.live text { font-size: 6px; } }
.steps { padding-left: 0; list-style: none; counter-reset: step; }
.steps li { counter-increment: step; padding: .25rem 0; break-inside: avoid; }
.steps label { display: grid; grid-template-columns: 1.5rem 2rem 1fr; }
.steps label::before { content: counter(step) "."; grid-column: 2; grid-row: 1; }
.steps input { grid-column: 1; grid-row: 1; width: 1.1rem; height: 1.1rem; margin: .2rem 0 0; }
.steps span { grid-column: 3; }
.controls { margin: .75rem 0; }
.controls input { width: 100%; accent-color: var(--accent); height: 2rem; }
.controls button { font: inherit; color: inherit; background: var(--panel); border: 1px solid var(--edge);
  border-radius: 4px; padding: .35rem .7rem; margin: .25rem .25rem 0 0; }
[hidden] { display: none; }
@page { margin: 15mm; }
@media print {
  :root { color-scheme: light; --ground: #fff; --panel: #fff; --ink: #000; --faint: #444; --line: #bbb;
    --edge: #777; --accent: #000; --care: #fff; --care-ink: #000; }
  body { max-width: none; padding: 0; font-size: 10pt; }
  table { font-size: 8pt; width: 100%; overflow-wrap: break-word; }
  caption, figcaption, .note { font-size: 8pt; }
  th, td, td.mid, td.wide { min-width: 0; white-space: normal; }
  svg { min-width: 0; }
  .scroll { overflow: visible; }
  h2, h3 { break-after: avoid; }
  tr, figure, .care { break-inside: avoid; }
  thead { display: table-header-group; }
  .controls { display: none; }
}
"""

SCRIPT = """\
"use strict";
(function () {
  var data = JSON.parse(document.getElementById("turn-rows").textContent);
  var slider = document.getElementById("turn");
  // Between rows a straight line; between the two sides of a jump the nearer side.
  function rowAt(turn) {
    var low = 0, high = data.turn.length - 1;
    while (high - low > 1) {
      var middle = (low + high) >> 1;
      if (data.turn[middle] <= turn) { low = middle; } else { high = middle; }
    }
    var part = (turn - data.turn[low]) / (data.turn[low + 1] - data.turn[low]);
    part = Math.min(Math.max(part, 0), 1);
    if (data.breaks.indexOf(low) >= 0) { part = part < 0.5 ? 0 : 1; }
    return { low: low, part: part };
  }
  function between(column, at) {
    return column[at.low] + at.part * (column[at.low + 1] - column[at.low]);
  }
  function fixed(value, digits) {
    var text = value.toFixed(digits);
    return Number(text) === 0 ? (0).toFixed(digits) : text;
  }
  function tell(id, text) { document.getElementById(id).textContent = text; }
  function showWheel(wheel, n, at) {
    var heading = between(wheel.heading, at);
    document.getElementById("wheel-" + n).setAttribute("transform",
      "translate(" + wheel.kingpin[0] + " " + wheel.kingpin[1] + ") rotate(" + fixed(-heading, 4) + ")");
    tell("angle-" + n, fixed(heading - wheel.built_in, 2) + "\\u00b0");
    tell("speed-" + n, fixed(between(wheel.roll, at), 3));
    tell("drag-" + n, fixed(between(wheel.drag, at), 1));
  }
  function showCentre(at) {
    var forward = between(data.forward, at), side = between(data.leftward, at), yaw = between(data.yaw, at);
    var mark = document.getElementById("centre"), turns = Math.abs(yaw) > 1e-7;
    var left = forward / yaw * data.half_track, ahead = -side / yaw * data.half_track;
    var x = data.origin[0] - data.scale * left, y = data.origin[1] - data.scale * ahead;
    var seen = turns && Math.abs(x) < data.far && Math.abs(y) < data.far;
    mark.setAttribute("visibility", seen ? "visible" : "hidden");
    if (seen) { mark.setAttribute("transform", "translate(" + fixed(x, 3) + " " + fixed(y, 3) + ")"); }
    if (!turns) { tell("radius", "straight ahead"); return; }
    var beside = fixed(Math.abs(left), 1);
    tell("radius", Number(beside) === 0 ? "on the spot"
      : "turn radius " + beside + " mm to the " + (left > 0 ? "left" : "right"));
  }
  function show(turn) {
    var at = rowAt(turn);
    tell("turn-shown", fixed(turn, 3));
    data.wheels.forEach(function (wheel, n) { showWheel(wheel, n, at); });
    showCentre(at);
  }
  function moved() { show(Number(slider.value)); }
  slider.addEventListener("input", moved);
  data.marks.forEach(function (turn, n) {
    document.getElementById("mark-" + n).addEventListener("click", function () {
      slider.value = String(turn);
      moved();
    });
  });
  document.getElementById("controls").hidden = false;
  moved();
})();
"""
