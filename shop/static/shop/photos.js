// Shows the photos that were chosen below their field, adds the next ones to them, and brings them
// back after a form was refused: a photo from the camera may be nowhere else.
// Without this script the control holds what was chosen last, and a refused form holds nothing.
(() => {
  "use strict";

  const DAY_MS = 86_400_000, LONGEST_WAIT_MS = 2000;
  const chosen = new WeakMap();

  // ---------- below the field ----------

  const stripOf = (input) => document.querySelector(`[data-preview-of="${CSS.escape(input.id)}"]`);

  const picture = (file) => {
    const image = document.createElement("img");
    image.src = URL.createObjectURL(file);
    image.alt = `Chosen: ${file.name}`;
    return image;
  };

  const shown = (input, file) => {
    const item = document.createElement("li");
    item.append(file.type.startsWith("image/") ? picture(file) : file.name);
    if (!input.multiple) return item;
    const out = document.createElement("button");
    out.type = "button";
    out.className = "button quiet-button";
    out.textContent = "Leave out";
    out.setAttribute("aria-label", `Leave out ${file.name}`);
    out.addEventListener("click", () => {
      put(input, [...input.files].filter((each) => each !== file));
      input.focus();
    });
    item.append(document.createElement("br"), out);
    return item;
  };

  const show = (input) => {
    const strip = stripOf(input);
    if (!strip) return;
    strip.querySelectorAll("img").forEach((image) => URL.revokeObjectURL(image.src));
    const files = [...input.files].filter((file) => input.multiple || file.type.startsWith("image/"));
    strip.replaceChildren(...files.map((file) => shown(input, file)));
  };

  const put = (input, files) => {
    const list = new DataTransfer();
    files.forEach((file) => list.items.add(file));
    input.files = list.files;
    chosen.set(input, [...input.files]);
    show(input);
    store(input);
  };

  const same = (one, other) =>
    one.name === other.name && one.size === other.size && one.lastModified === other.lastModified;

  document.addEventListener("change", (event) => {
    const input = event.target;
    if (!input.matches?.("input[type=file]") || !stripOf(input)) return;
    // One file alone replaces the one before, and may be too large to be kept twice.
    if (!input.multiple) return void show(input);
    const before = chosen.get(input) ?? [];
    const next = [...input.files].filter((file) => !before.some((each) => same(each, file)));
    put(input, [...before, ...next]);
  });

  // ---------- kept in this browser until the form was taken ----------

  let tab = sessionStorage.getItem("photos-tab");
  if (!tab) sessionStorage.setItem("photos-tab", (tab = `${Date.now()}-${Math.random()}`));
  const keyOf = (input) => `${tab} ${new URL(input.form.getAttribute("action") || "", location).pathname} ${input.name}`;

  const opened = new Promise((resolve, reject) => {
    const asking = indexedDB.open("chosen-photos", 1);
    asking.onupgradeneeded = () => asking.result.createObjectStore("chosen", { keyPath: "key" });
    asking.onsuccess = () => resolve(asking.result);
    asking.onerror = () => reject(asking.error);
  });
  // A browser that stores nothing works as one without this script.
  const withStore = (mode, act) => opened.then((base) => new Promise((done) => {
    const work = base.transaction("chosen", mode);
    work.oncomplete = work.onabort = done;
    act(work.objectStore("chosen"));
  })).catch(() => {});

  let storing = null;
  const store = (input) => {
    if (!input.form) return;
    const row = { key: keyOf(input), tab, at: Date.now(), files: [...input.files] };
    const all = Promise.all([
      storing,
      withStore("readwrite", (rows) => (row.files.length ? rows.put(row) : rows.delete(row.key))),
    ]);
    storing = all;
    all.then(() => storing === all && (storing = null));
  };

  // A form waits for what is being stored of it, though not for ever; before every other listener,
  // which sees it once.
  window.addEventListener("submit", (event) => {
    if (!storing) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    Promise.race([storing, new Promise((late) => setTimeout(late, LONGEST_WAIT_MS))]).then(() => {
      storing = null;
      event.target.requestSubmit(event.submitter);
    });
  }, true);

  const bringBack = (root) => root.querySelectorAll("input[type=file]").forEach((input) => {
    if (!input.multiple || !stripOf(input) || input.files.length) return;
    withStore("readonly", (rows) => {
      rows.get(keyOf(input)).onsuccess = (event) => event.target.result && put(input, event.target.result.files);
    });
  });

  const forget = () => withStore("readwrite", (rows) => {
    rows.openCursor().onsuccess = (event) => {
      const cursor = event.target.result;
      if (!cursor) return;
      if (cursor.value.tab === tab || cursor.value.at < Date.now() - DAY_MS) cursor.delete();
      cursor.continue();
    };
  });

  const settle = (root) => (root.querySelector(".error-summary") ? bringBack(root) : forget());
  document.addEventListener("htmx:afterSettle", () => settle(document));
  settle(document);
})();
