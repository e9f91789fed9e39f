// Measures the page as a hand and an eye meet it; returns lists of faults in words.
(() => {
  "use strict";
  const BENCH = 104, TARGET = 48, SLACK = 0.5;

  const name = (element) => {
    const words = (element.innerText || element.value || element.getAttribute("aria-label") || element.name || "").trim();
    return `<${element.tagName.toLowerCase()}${element.className ? "." + String(element.className).replace(/\s+/g, ".") : ""}> “${words.slice(0, 40)}”`;
  };
  const seen = (element) =>
    element.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true }) &&
    element.getBoundingClientRect().width > 1 && element.getBoundingClientRect().height > 1;

  // What a finger can hit: a tick box or radio takes the whole of its label.
  const target = (element) => {
    if (element.matches("input[type=checkbox], input[type=radio]")) return element.labels[0] || element;
    return element;
  };

  // A link inside a sentence: it flows inline, and its block holds at least two words beside the links.
  const inSentence = (element) => {
    if (!element.matches("a") || getComputedStyle(element).display !== "inline") return false;
    let block = element.parentElement;
    while (getComputedStyle(block).display.startsWith("inline")) block = block.parentElement;
    const rest = block.cloneNode(true);
    rest.querySelectorAll("a, button").forEach((link) => link.remove());
    return (rest.textContent.match(/\p{L}{2,}/gu) || []).length >= 2;
  };

  const CONTROLS = "a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button], [role=link], .tile";

  const controls = () => [...new Set([...document.querySelectorAll(CONTROLS)].filter(seen).map(target))].filter(seen);

  const sizes = () => controls().flatMap((element) => {
    if (inSentence(element)) return [];
    const least = element.matches("[data-primary]") ? BENCH : TARGET;
    const box = element.getBoundingClientRect();
    const small = box.width < least - SLACK || box.height < least - SLACK;
    return small ? [`${name(element)} is ${box.width.toFixed(1)} x ${box.height.toFixed(1)}, not ${least} x ${least}`] : [];
  });

  const overflow = () => {
    const root = document.documentElement;
    if (root.scrollWidth <= root.clientWidth) return [];
    const wide = [...document.querySelectorAll("main *, header *, footer *")]
      .filter((element) => element.getBoundingClientRect().right > root.clientWidth + 1).slice(0, 3).map(name);
    return [`the page scrolls sideways: ${root.scrollWidth} in ${root.clientWidth}; ${wide.join(", ")}`];
  };

  const headings = () => {
    const count = [...document.querySelectorAll("h1")].filter(seen).length;
    return count === 1 ? [] : [`${count} h1`];
  };

  // Of a group of radio buttons Tab stops at one; the arrow keys reach the others.
  const isStop = (element) => {
    if (element.type !== "radio") return true;
    const group = [...document.getElementsByName(element.name)].filter((each) => each.form === element.form);
    return element === (group.find((each) => each.checked) || group[0]);
  };

  const tabbable = () => [...document.querySelectorAll(
    "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]",
  )].filter((element) => element.tabIndex >= 0 && !element.disabled && seen(element) && isStop(element));

  const ring = (element) => {
    for (let each = element; each && each !== document.body; each = each.parentElement) {
      if (each !== element && !each.matches(".tile, .field, input, fieldset")) break;
      const style = getComputedStyle(each);
      if (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2) return true;
    }
    return false;
  };

  const bars = () => [...document.querySelectorAll("body *")].filter((element) =>
    ["sticky", "fixed"].includes(getComputedStyle(element).position) && seen(element));

  // Of a text area the browser brings the line with the caret into view, which is the first one here.
  const mustShow = (element) => {
    const box = target(element).getBoundingClientRect();
    return element.matches("textarea") ? new DOMRect(box.x, box.y, box.width, TARGET) : box;
  };

  const covered = (element) => {
    const box = mustShow(element);
    return bars().filter((bar) => !bar.contains(element)).some((bar) => {
      const other = bar.getBoundingClientRect();
      const x = Math.min(box.right, other.right) - Math.max(box.left, other.left);
      const y = Math.min(box.bottom, other.bottom, innerHeight) - Math.max(box.top, other.top, 0);
      // What is taller than the space beside the bar cannot be shown whole; its top must be.
      return x > 1 && y > 1 && (box.height < innerHeight - other.height || other.top <= box.top);
    });
  };

  // Call after a real press of Tab, so that the browser shows the focus as for a keyboard.
  const focus = () => tabbable().flatMap((element) => {
    element.focus();
    if (document.activeElement !== element) return [`${name(element)} does not take the focus`];
    const faults = [];
    if (!ring(element)) faults.push(`${name(element)} shows no focus`);
    if (covered(element)) faults.push(`${name(element)} is covered while it has the focus`);
    return faults;
  });

  window.measure = { sizes, overflow, headings, focus, controls: () => controls().length };
})();
