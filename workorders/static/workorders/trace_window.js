// The two handles of a window on the chart of a trace, bound to the fields of the form beside it.
// After a move the verdict is asked of the server anew; it alone computes.
(() => {
  "use strict";

  const SETTLE_MS = 350;
  const KEYS = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -10, PageUp: 10 };
  const NAMES = ["Window from", "Window to"];

  class TraceWindow {
    constructor(chart) {
      this.chart = chart;
      this.section = chart.figure.closest("section");
      this.form = this.section.querySelector("form[data-window-form]");
      this.own();
      this.fields = ["start", "end"].map((name) => this.form.querySelector(`[name$="-${name}"]`));
      this.handles = NAMES.map((name, place) => this.handle(name, place));
      this.chart.stage.prepend(...this.handles);
      this.chart.stage.classList.add("has-handles");
      this.fields.forEach((field, place) => field.addEventListener("input", () => this.typed(place)));
      this.form.addEventListener("input", (event) => this.fields.includes(event.target) || this.stale());
      this.chart.listeners.push(() => this.place());
      this.place();
      document.getElementById("record")?.addEventListener("submit", (event) => this.hold(event), true);
    }

    get window() {
      return this.chart.window;
    }

    // Without this script the fields go with the form that records, so that nothing entered is lost.
    own() {
      this.form.querySelector("[name$='-entered']")?.remove();
      for (const element of this.form.querySelectorAll("[form]")) element.removeAttribute("form");
      this.form.querySelector("[name=show]").removeAttribute("name");
    }

    handle(name, place) {
      const handle = document.createElement("div");
      handle.className = `trace-handle trace-handle-${place ? "to" : "from"}`;
      handle.tabIndex = 0;
      handle.textContent = place ? "to" : "from";
      handle.setAttribute("role", "slider");
      handle.setAttribute("aria-label", name);
      handle.addEventListener("keydown", (event) => this.key(event, place));
      handle.addEventListener("pointerdown", (event) => this.grab(event, place));
      return handle;
    }

    // A step one can count with: at most a four hundredth of what is in view.
    get step() {
      return 10 ** Math.floor(Math.log10(this.chart.span / 400 * 2));
    }

    key(event, place) {
      const times = KEYS[event.key];
      const at = this.window[place];
      if (times) this.move(place, Math.round(at / this.step + times * (event.shiftKey ? 10 : 1)) * this.step);
      else if (event.key === "Home") this.move(place, place ? this.window[0] : 0);
      else if (event.key === "End") this.move(place, place ? this.chart.duration : this.window[1]);
      else return;
      event.preventDefault();
      this.follow(place);
    }

    grab(event, place) {
      if (event.button) return;
      event.preventDefault();
      const handle = this.handles[place], over = this.chart.plot.over;
      handle.focus({ preventScroll: true });
      handle.setPointerCapture(event.pointerId);
      this.dragging = true;
      const first = event.clientX, from = this.window[place];
      const drag = (moved) => this.move(place, from + (moved.clientX - first) / over.clientWidth * this.chart.span);
      const end = () => {
        this.dragging = false;
        handle.removeEventListener("pointermove", drag);
        this.later();
      };
      handle.addEventListener("pointermove", drag);
      handle.addEventListener("pointerup", end, { once: true });
      handle.addEventListener("pointercancel", end, { once: true });
    }

    move(place, wanted) {
      const [low, high] = place ? [this.window[0], this.chart.duration] : [0, this.window[1]];
      const digits = Math.min(Math.max(0, 1 - Math.floor(Math.log10(this.step))), 6);
      const near = 10 ** -digits; // so near an end it is the end, or the last sample would be rounded away
      const at = wanted < low + near ? low : wanted > high - near ? high : Number(wanted.toFixed(digits));
      if (at === this.window[place]) return;
      this.window[place] = at;
      this.fields[place].value = at;
      this.changed();
    }

    typed(place) {
      const at = this.fields[place].valueAsNumber;
      if (!Number.isFinite(at) || at < 0 || at > this.chart.duration) return;
      this.window[place] = at;
      this.changed();
    }

    // What is shown is not what would come of the fields now: columns, or the check of the blanked rig.
    stale() {
      this.pending = true;
      this.section.querySelector("[data-live=answer]")?.classList.add("is-stale");
    }

    changed() {
      this.stale();
      delete this.chart.figure.dataset.line;
      delete this.chart.figure.dataset.limit;
      this.chart.refresh();
      this.later();
    }

    // A handle that leaves the view takes the view along.
    follow(place) {
      const at = this.window[place], [from, to] = this.chart.view;
      if (at < from) this.chart.look(at - 0.1 * this.chart.span, at + 0.9 * this.chart.span);
      if (at > to) this.chart.look(at - 0.9 * this.chart.span, at + 0.1 * this.chart.span);
    }

    place() {
      const { plot, stage, duration, view } = this.chart;
      if (!plot) return;
      const left = plot.over.getBoundingClientRect().left - stage.getBoundingClientRect().left;
      this.handles.forEach((handle, place) => {
        const at = this.window[place];
        const x = left + Math.min(Math.max((at - view[0]) / this.chart.span, 0), 1) * plot.over.clientWidth;
        const most = stage.clientWidth - handle.offsetWidth;
        handle.style.left = `${Math.min(Math.max(place ? x : x - handle.offsetWidth, 0), most)}px`;
        handle.classList.toggle("is-away", at < view[0] || at > view[1]);
        const value = this.chart.valueAt(at);
        handle.setAttribute("aria-valuemin", place ? this.window[0] : 0);
        handle.setAttribute("aria-valuemax", place ? duration : this.window[1]);
        handle.setAttribute("aria-valuenow", at);
        handle.setAttribute("aria-valuetext", `${at} s${value ? `, ${value}` : ""}`);
      });
    }

    // -- the verdict

    later() {
      clearTimeout(this.timer);
      if (!this.dragging) this.timer = setTimeout(() => this.ask(), SETTLE_MS);
    }

    async ask() {
      if (!this.pending) return;
      this.asking?.abort();
      this.asking = new AbortController();
      const asked = this.window.join();
      const address = `${this.form.action.split("#")[0]}?${new URLSearchParams(new FormData(this.form))}`;
      try {
        const answer = await fetch(address, { signal: this.asking.signal });
        if (!answer.ok) throw new Error(answer.status);
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        if (asked === this.window.join()) this.show(page.getElementById(this.section.id), address);
      } catch (error) {
        if (error.name !== "AbortError") this.say("The verdict cannot be fetched now. Press “Show it with these” when the connection is back.");
      }
    }

    show(section, address) {
      const figure = section?.querySelector("figure[data-samples]");
      if (!figure) {
        const told = section?.querySelector(".error-summary, .field-error, .error")?.textContent.trim();
        this.say(told || "This window cannot be judged.");
        return;
      }
      this.section.querySelectorAll("[data-live]").forEach((old) => {
        const fresh = section.querySelector(`[data-live="${old.dataset.live}"]`);
        fresh ? old.replaceWith(fresh) : old.replaceChildren();
      });
      for (const name of ["line", "lineLabel", "limit", "limitLabel", "samples"]) {
        if (figure.dataset[name]) this.chart.figure.dataset[name] = figure.dataset[name];
        else delete this.chart.figure.dataset[name];
      }
      this.chart.window = [figure.dataset.from, figure.dataset.to].map((at) => Number(Number(at).toFixed(9)));
      this.fields.forEach((field, place) => {
        if (field !== document.activeElement) field.value = this.window[place];
      });
      this.pending = false;
      history.replaceState(history.state, "", address);
      this.chart.refresh();
      this.announce(this.section.querySelector("[data-live=answer] strong")?.textContent || "");
    }

    say(text) {
      const box = this.section.querySelector("[data-live=answer]");
      if (box) box.querySelector("strong").textContent = text;
      this.announce(text);
    }

    announce(text) {
      const region = document.getElementById("announce");
      if (region) region.textContent = text;
    }

    // What is recorded is what was shown with its verdict.
    hold(event) {
      if (!this.pending || !this.section.isConnected) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      const form = event.target;
      delete form.dataset.sent;
      form.querySelectorAll("[aria-disabled]").forEach((button) => button.removeAttribute("aria-disabled"));
      this.say("What was just moved or entered was not in the verdict yet: look at it, then record the step.");
      this.ask();
    }
  }

  document.addEventListener("trace-chart", (event) => {
    const chart = event.detail;
    if (chart.window && chart.figure.hasAttribute("data-window")) chart.handles = new TraceWindow(chart);
  });
})();
