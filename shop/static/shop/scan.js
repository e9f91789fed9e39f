// A scanner types fast and ends with Enter or Tab. When no text field has the focus, such a burst
// goes into the page's own scan field ([data-scan]) or else the search box of the header. A field whose
// labels are shorter than other codes, such as hose numbers, says so with data-shortest.
// People type slower, so no key alone ever does anything (WCAG 2.1.4).
(() => {
  "use strict";

  const FASTEST_HAND_MS = 60; // between two keys; scanners leave a few milliseconds
  const SHORTEST_CODE = 4;
  let burst = "";
  let last = 0;

  const takesText = (element) =>
    element?.isContentEditable ||
    element?.matches?.("textarea, select, input:not([type=radio], [type=checkbox], [type=button], [type=submit], [type=file])");

  const target = () => document.querySelector("main [data-scan]") || document.getElementById("find-q");

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || takesText(document.activeElement)) {
      burst = "";
      return;
    }
    const fast = event.timeStamp - last < FASTEST_HAND_MS;
    last = event.timeStamp;
    if (event.key.length === 1) {
      burst = fast ? burst + event.key : event.key;
      return;
    }
    if (event.key !== "Enter" && event.key !== "Tab") return;
    const field = target();
    if (fast && field && burst.length >= Number(field.dataset.shortest || SHORTEST_CODE)) {
      event.preventDefault();
      event.stopPropagation();
      field.value = burst;
      field.focus();
      field.form?.requestSubmit();
    }
    burst = "";
  }, true);
})();
