// What was typed for a step and is not recorded yet is there again after another page was looked at:
// a logger file was read, a caution confirmed again. It stays in this tab of the browser.
(() => {
  "use strict";

  const record = () => document.getElementById("record");
  const place = () => `typed ${new URL(record().action).pathname}`;
  const isTicked = (field) => field.type === "radio" || field.type === "checkbox";
  // The fields of a logger file go along in its address.
  const own = () => [...record().elements].filter((field) =>
    field.name && !["hidden", "file", "submit", "button"].includes(field.type) && !field.closest("[data-window-form]"));

  const keep = () => {
    const told = own().map((field) => [field.name, field.value, isTicked(field) ? field.checked : null]);
    sessionStorage.setItem(place(), JSON.stringify(told));
  };

  const bring = () => {
    const stored = JSON.parse(sessionStorage.getItem(place()) || "[]");
    let brought = false;
    for (const field of own()) {
      const found = stored.find(([name, value]) => name === field.name && (!isTicked(field) || value === field.value));
      if (!found) continue;
      const [, value, ticked] = found;
      if (isTicked(field) ? field.checked === ticked : field.value === value) continue;
      if (isTicked(field)) field.checked = ticked;
      else field.value = value;
      brought = true;
    }
    if (!brought) return;
    const told = document.createElement("p");
    told.setAttribute("role", "status");
    told.textContent = "What you had typed for this step stands here again. It is not recorded yet.";
    record().prepend(told);
  };

  document.addEventListener("input", (event) => {
    if (record() && event.target.form === record()) keep();
  });
  document.addEventListener("submit", (event) => {
    if (event.target === record() && event.submitter?.name !== "show") sessionStorage.removeItem(place());
  });
  document.addEventListener("DOMContentLoaded", () => {
    if (record()) bring();
  });
})();
