// Moves the focus to what changed, and keeps a double tap from sending a form twice.
// Both are conveniences: the server refuses a second use of a form's token by itself.
(() => {
  "use strict";

  // Spoken only, or shown as well when something went wrong.
  const announce = (text, shown = false) => {
    const region = document.getElementById("announce");
    if (!region) return;
    region.className = shown ? "toast" : "visually-hidden";
    region.textContent = text;
  };

  const focusChanged = (root) => {
    const target = root.matches?.("[data-focus]") ? root : root.querySelector?.("[data-focus]");
    if (!target) return;
    if (target.tabIndex < 0 && !target.hasAttribute("tabindex")) target.tabIndex = -1;
    target.focus();
  };

  const release = (form) => {
    delete form.dataset.sent;
    form.querySelectorAll("[aria-disabled]").forEach((button) => button.removeAttribute("aria-disabled"));
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    if (form.dataset.sent) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    form.dataset.sent = "yes";
    form.querySelectorAll("button[type=submit]").forEach((button) => button.setAttribute("aria-disabled", "true"));
    announce("Sending");
  }, true);

  // A page that comes back from the browser's store must be usable again.
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) document.querySelectorAll("form[data-sent]").forEach(release);
  });

  document.addEventListener("htmx:afterRequest", (event) => {
    const form = event.detail.elt.closest("form");
    if (form) release(form);
  });
  document.addEventListener("htmx:afterSettle", (event) => focusChanged(event.detail.elt));
  // A part that asks again by itself is quiet: it says nothing where the connection is down for a
  // moment, and takes nothing but its own part, such as the page to sign in after the shift.
  const polls = (event) => event.detail.elt.matches?.("[data-poll]");
  document.addEventListener("htmx:beforeSwap", (event) => {
    if (polls(event) && !event.detail.xhr.getResponseHeader("X-Part")) event.detail.shouldSwap = false;
  });
  document.addEventListener("htmx:sendError", (event) => polls(event) || announce("No answer: the connection is down. Press again when it is back; nothing is recorded twice.", true));
  document.addEventListener("htmx:responseError", (event) => polls(event) || announce("This was refused and nothing was changed. Reload the page and try again.", true));
  document.addEventListener("htmx:afterSwap", () => announce(""));

  // A group of the header closes when the eye has moved on; without this script its heading does it.
  const groups = () => document.querySelectorAll(".nav-group[open]");
  document.addEventListener("click", (event) => {
    groups().forEach((group) => group.contains(event.target) || group.removeAttribute("open"));
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    groups().forEach((group) => {
      group.removeAttribute("open");
      group.querySelector("summary").focus();
    });
  });

  focusChanged(document);
})();
