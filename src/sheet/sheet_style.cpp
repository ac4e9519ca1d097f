#include "sheet_parts.hpp"

namespace kerfwright::sheet {

// Black on white and large, for sunlight and for a printer without colour. What counts is bold or
// framed, never only coloured.
const char* const sheet_style = R"(
:root { font: 18px/1.35 Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 12px; max-width: 60rem; color: #000; background: #fff; }
h1 { font-size: 1.7rem; line-height: 1.1; margin: 0 0 .2rem; overflow-wrap: anywhere; }
h2 { font-size: 1.45rem; margin: 1.6rem 0 .5rem; border-bottom: 4px solid #000; }
h2 small { font-size: 1.05rem; font-weight: normal; }
h3 { font-size: 1.15rem; margin: .6rem 0 .2rem; padding-top: .4rem; font-weight: normal; }
p { margin: .25rem 0; }
ul, ol { list-style: none; margin: .4rem 0; padding: 0; }
.sum { font-size: 1.1rem; }
.rule { border-left: 6px solid #000; padding: .2rem 0 .2rem .6rem; margin: .6rem 0; }
label { display: flex; gap: .6rem; align-items: flex-start; cursor: pointer; }
input[type=checkbox] { flex: none; width: 1.6rem; height: 1.6rem; margin: 0; accent-color: #000; }
pre { margin: .3rem 0; padding: .3rem .5rem; border: 1px solid #000; white-space: pre-wrap; font-size: .95rem; }
.do li { padding: .3rem 0; }
.lay { display: flex; gap: .8rem; align-items: flex-start; }
.lay .do { flex: 1; margin: 0; }
.dial { flex: none; width: 5.5rem; }
.ends { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(20rem, 100%), 1fr)); gap: .6rem; }
.figure { display: block; width: 100%; max-height: 95vh; margin: .4rem 0; }
.cut { border: 2px solid #000; border-radius: .4rem; padding: .4rem .6rem; margin: .5rem 0; }
.cut label span { flex: 1; display: flex; justify-content: space-between; align-items: baseline; }
.cut .n { display: inline; flex: none; font-size: 1.2rem; }
.cut .height { font-size: 1.9rem; line-height: 1; }
.at { white-space: nowrap; margin-right: .5rem; }
.flitch, .lane { margin: .5rem 0; }
.flitch > h3 .letter, .across > h3 .letter { font-size: 1.6rem; border: 3px solid #000; border-radius: .3rem; padding: 0 .35rem; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; padding: .3rem .3rem .3rem 0; border-bottom: 1px solid #000; vertical-align: top; }
th { font-weight: normal; font-size: .85rem; }
td.long, td.board { font-weight: bold; }
.done { text-decoration: line-through; }
.flitch .figure { max-width: 40rem; }
.plot { max-width: 26rem; margin: 0 auto; }
#view { display: block; width: 100%; height: min(50vh, 24rem); border: 2px solid #000; touch-action: none; }
.slide { display: flex; gap: .6rem; align-items: center; }
.slide input { flex: 1; height: 2.6rem; accent-color: #000; }
.slide button { width: 3rem; height: 3rem; font-size: 1.6rem; background: #fff; border: 3px solid #000; border-radius: .4rem; }
#picked { font-weight: bold; min-height: 1.6em; }
@media (max-width: 30rem) { th, td { font-size: .9rem; padding-right: .5rem; } .dial { width: 4.2rem; } }
@media print {
  :root { font-size: 11pt; }
  @page { margin: 12mm; }
  body { padding: 0; max-width: none; }
  .screen { display: none; }
  h2, h3, h2 + p, thead { break-after: avoid; }
  tbody tr:first-child, thead + tr { break-before: avoid; }
  .cut, .flitch, .across, .lay, .ends, .before, .otherwise, .turns, .stack, tr, .figure { break-inside: avoid; }
  .ends { grid-template-columns: 1fr 1fr; }
  .figure { max-height: 110mm; }
  .plot { max-height: 70mm; }
  .flitch .figure { max-height: 60mm; max-width: 120mm; }
  input[type=checkbox] { width: 5mm; height: 5mm; }
  .cuts { display: grid; grid-template-columns: 1fr 1fr; gap: 2mm; }
  .cut { margin: 0; }
}
)";

// Ticks are kept on the device, so that a telephone may sleep between two cuts.
const char* const sheet_script = R"(
'use strict';
(function () {
  var boxes = document.querySelectorAll('input[type=checkbox]');
  var key = 'kerfwright ' + document.documentElement.getAttribute('data-plan');
  var ticks = {};
  try { ticks = JSON.parse(localStorage.getItem(key) || '{}'); } catch (e) { ticks = {}; }
  boxes.forEach(function (box, i) {
    box.checked = !!ticks[i];
    box.addEventListener('change', function () {
      ticks[i] = box.checked;
      try { localStorage.setItem(key, JSON.stringify(ticks)); } catch (e) { return; }
    });
  });
})();
)";

}  // namespace kerfwright::sheet
