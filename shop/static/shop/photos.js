// Shows the photos that were just chosen below their field, before they are sent.
(() => {
  "use strict";

  document.addEventListener("change", (event) => {
    const input = event.target;
    if (!input.matches?.("input[type=file]")) return;
    const strip = document.querySelector(`[data-preview-of="${CSS.escape(input.id)}"]`);
    if (!strip) return;
    strip.querySelectorAll("img").forEach((image) => URL.revokeObjectURL(image.src));
    strip.replaceChildren(...[...input.files].filter((file) => file.type.startsWith("image/")).map((file) => {
      const item = document.createElement("li");
      const image = document.createElement("img");
      image.src = URL.createObjectURL(file);
      image.alt = `Chosen: ${file.name}`;
      item.append(image);
      return item;
    }));
  });
})();
