// Shows how far a long logger file is on its way, and goes on by itself when it was read.
(() => {
  "use strict";

  const LONG_BYTES = 2e6;

  const release = (form) => {
    delete form.dataset.sent;
    form.querySelectorAll("[aria-disabled]").forEach((button) => button.removeAttribute("aria-disabled"));
  };

  const send = (form) => {
    const bar = document.createElement("progress");
    const words = document.createElement("p");
    const place = document.createElement("div");
    place.className = "upload-progress";
    place.setAttribute("role", "status");
    bar.setAttribute("aria-label", "Sent");
    place.append(words, bar);
    form.append(place);
    const request = new XMLHttpRequest();
    request.upload.addEventListener("progress", (event) => {
      bar.max = event.total;
      bar.value = event.loaded;
      words.textContent = event.loaded < event.total
        ? `${(event.loaded / 1e6).toFixed(1)} of ${(event.total / 1e6).toFixed(1)} MB sent`
        : "Sent; the file is being put away.";
    });
    request.addEventListener("load", () => {
      if (request.status === 200) {
        location.assign(request.responseURL);
        return;
      }
      document.open();
      document.write(request.responseText); // the page that says why it was refused
      document.close();
    });
    request.addEventListener("error", () => {
      place.remove();
      release(form);
      const region = document.getElementById("announce");
      region.className = "toast";
      region.textContent = "The connection broke while the file was on its way. Nothing was kept; press again when it is back.";
    });
    request.open("POST", form.action);
    request.send(new FormData(form));
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    const [file] = form.querySelector("input[type=file]")?.files || [];
    if (!form.hasAttribute("data-upload") || !file || file.size < LONG_BYTES || event.defaultPrevented) return;
    event.preventDefault();
    send(form);
  });

  // Only for those who watched it being read; who comes back later presses the button.
  const goOn = () => document.querySelector("form[data-go-on]:not([data-sent])")?.requestSubmit();
  document.addEventListener("htmx:afterSettle", goOn);
})();
