// Makes the chart of a logged trace one to look into: zoom, pan, readout, channels.
// Without this script the drawing of the server stays; sums never come from what is shown here.
(() => {
  "use strict";

  const BETWEEN_MS = 120;
  const SMALLEST = 1e-5; // of the whole
  const number = (value) => Number(value.toPrecision(6)).toString();
  const places = (span) => Math.min(6, Math.max(1, 2 - Math.floor(Math.log10(span || 1))));

  const make = (tag, options = {}, ...children) => {
    const element = Object.assign(document.createElement(tag), options);
    element.append(...children);
    return element;
  };

  class TraceChart {
    constructor(figure) {
      this.figure = figure;
      this.duration = Number(figure.dataset.duration);
      this.whole = [0, this.duration];
      this.view = [...this.whole];
      this.window = figure.dataset.from ? [figure.dataset.from, figure.dataset.to].map((at) => Number(Number(at).toFixed(9))) : null;
      this.shown = new Set([figure.dataset.column, figure.dataset.beside].filter(Boolean).map(Number));
      this.channels = null;
      this.pointers = new Map();
      this.listeners = [];
      this.build();
      this.load();
    }

    build() {
      this.plotPlace = make("div", { className: "trace-plot" });
      this.plotPlace.setAttribute("role", "img");
      this.plotPlace.setAttribute("aria-label", "Readings over time; the figures stand below.");
      this.stage = make("div", { className: "trace-stage" }, this.plotPlace);
      this.readout = make("p", { className: "trace-readout" });
      this.tools = make("div", { className: "trace-tools" });
      this.tools.setAttribute("role", "group");
      this.tools.setAttribute("aria-label", "Look at a part of the chart");
      const tool = (text, act) => {
        const button = make("button", { type: "button", className: "button", textContent: text });
        button.addEventListener("click", act);
        this.tools.append(button);
      };
      tool("Closer", () => this.zoom(0.5));
      tool("Wider", () => this.zoom(2));
      tool("Earlier", () => this.pan(-0.4));
      tool("Later", () => this.pan(0.4));
      if (this.window) tool("The window", () => this.showWindow());
      tool("The whole", () => this.look(...this.whole));
      this.choice = make("fieldset", { className: "trace-channels", hidden: true });
      this.choice.append(make("legend", { textContent: "Channels" }));
      this.key = make("ul", { className: "trace-key" });
      this.key.setAttribute("aria-label", "What is drawn");
      this.hint = make("p", { className: "small quiet" });
      this.hint.textContent = "Drag over the chart to look closer; hold Shift to move it. Fingers: one moves, two zoom. The wheel zooms once the chart was clicked.";
      this.box = make("div", { className: "trace-live" }, this.key, this.stage, this.readout, this.tools, this.choice, this.hint);
      this.figure.prepend(this.box);
      this.gestures();
      new ResizeObserver(() => this.resize()).observe(this.plotPlace);
      for (const query of ["(prefers-color-scheme: dark)", "(forced-colors: active)", "(prefers-contrast: more)"]) {
        matchMedia(query).addEventListener("change", () => this.draw());
      }
    }

    get span() {
      return this.view[1] - this.view[0];
    }

    // -- what is in view

    look(from, to) {
      const span = Math.min(Math.max(to - from, this.duration * SMALLEST), this.duration);
      const start = Math.min(Math.max(from, 0), this.duration - span);
      this.view = [start, start + span];
      this.plot?.setScale("x", { min: this.view[0], max: this.view[1] });
      this.later();
    }

    zoom(factor, at = (this.view[0] + this.view[1]) / 2) {
      this.look(at - (at - this.view[0]) * factor, at + (this.view[1] - at) * factor);
    }

    pan(share) {
      this.look(this.view[0] + share * this.span, this.view[1] + share * this.span);
    }

    showWindow() {
      const [from, to] = this.window;
      this.look(from - 0.1 * (to - from), to + 0.1 * (to - from));
    }

    later() {
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.load(), BETWEEN_MS);
    }

    async load() {
      this.asking?.abort();
      this.asking = new AbortController();
      const address = new URL(this.figure.dataset.samples, location.href);
      const dots = Math.max(200, Math.round(this.plotPlace.clientWidth * Math.min(devicePixelRatio, 2)));
      address.searchParams.set("from", this.view[0]);
      address.searchParams.set("to", this.view[1]);
      address.searchParams.set("dots", dots);
      address.searchParams.set("columns", [...this.shown].join(","));
      this.box.setAttribute("aria-busy", "true");
      try {
        const answer = await fetch(address, { signal: this.asking.signal });
        if (!answer.ok) throw new Error(answer.status);
        this.take(await answer.json());
      } catch (error) {
        if (error.name === "AbortError") return;
        this.readout.textContent = "The chart cannot be fetched now. What it showed stays; the record is not touched.";
      }
      this.box.removeAttribute("aria-busy");
    }

    take(told) {
      this.told = told;
      this.data = [told.time, ...told.values];
      if (!this.channels) this.offer(told.channels);
      const layout = told.columns.join();
      if (this.plot && layout === this.layout) {
        this.plot.setData(this.data, false);
        this.plot.setScale("x", { min: this.view[0], max: this.view[1] });
      } else {
        this.layout = layout;
        this.draw();
      }
      this.tell();
    }

    offer(channels) {
      this.channels = new Map(channels.map((channel) => [channel.index, channel]));
      if (channels.length < 2) return;
      this.choice.hidden = false;
      for (const channel of channels) {
        const box = make("input", { type: "checkbox", checked: this.shown.has(channel.index) });
        box.addEventListener("change", () => {
          if (!box.checked && this.shown.size === 1) {
            box.checked = true; // an empty chart tells nothing
            return;
          }
          box.checked ? this.shown.add(channel.index) : this.shown.delete(channel.index);
          this.load();
        });
        this.choice.append(make("label", {}, box, ` ${channel.label}`));
      }
    }

    // -- drawing

    colours() {
      const style = getComputedStyle(this.figure);
      const of = (name) => style.getPropertyValue(name).trim();
      return {
        ink: of("--ink"), grid: of("--rule"), shade: of("--chart-window"), edge: of("--chart-edge"),
        limit: of("--bad"), lines: [1, 2, 3, 4].map((place) => of(`--chart-${place}`)),
      };
    }

    draw() {
      if (!this.data) return;
      this.plot?.destroy();
      const colours = this.colours();
      const font = `12px ${getComputedStyle(this.figure).fontFamily}`;
      const shown = this.told.columns.map((index) => this.channels.get(index));
      const scales = { x: { time: false, auto: false, min: this.view[0], max: this.view[1] } };
      const axes = [{ ...this.axis(colours, font), label: "time, s", space: 70, size: 32 }];
      const units = [...new Set(shown.map((channel) => channel.unit || channel.label))];
      units.forEach((unit, place) => {
        scales[unit] = { range: (plot, low, high) => this.range(low, high) };
        if (place > 1) return; // a third unit has its own scale, told by the readout
        const of = shown.find((channel) => (channel.unit || channel.label) === unit);
        axes.push({ ...this.axis(colours, font), scale: unit, side: place ? 1 : 3, size: 52,
          label: of.unit ? `${of.quantity === "unknown" ? of.name : of.quantity}, ${of.unit}` : of.name, grid: { show: !place, stroke: colours.grid, width: 1 } });
      });
      const series = [{}, ...shown.map((channel, place) => ({
        scale: channel.unit || channel.label, label: channel.label, points: { show: false },
        stroke: colours.lines[place % 4], width: 1.5, dash: [[], [7, 3], [2, 3], [9, 3, 2, 3]][place % 4],
      }))];
      const judged = this.channels.get(Number(this.figure.dataset.column));
      this.judgedScale = judged.unit || judged.label;
      this.plot = new uPlot({
        width: this.plotPlace.clientWidth, height: this.height, scales, axes, series,
        legend: { show: false }, padding: [8, units.length > 1 ? 0 : 24, 0, 0],
        cursor: { y: false, drag: { x: true, y: false, setScale: false }, points: { size: 8 },
          bind: { mousedown: (plot, target, act) => (event) => { if (!event.shiftKey) act(event); }, dblclick: () => null } },
        hooks: {
          drawClear: [(plot) => this.shade(plot, colours)],
          // Only once it is drawn the plot has its place, where the handles go.
          draw: [(plot) => this.lines(plot, colours), () => this.moved()],
          setCursor: [() => this.tell()],
          setSelect: [(plot) => this.selected(plot)],
        },
      }, this.data, this.plotPlace);
      this.legend(shown, colours);
      this.watch(this.plot.over);
    }

    get height() {
      return this.plotPlace.clientWidth < 560 ? 280 : 340;
    }

    axis(colours, font) {
      return { stroke: colours.ink, font, labelFont: font, labelSize: 20, grid: { stroke: colours.grid, width: 1 }, ticks: { stroke: colours.grid, width: 1 } };
    }

    range(low, high) {
      if (low === null) return [0, 1];
      const room = 0.08 * (high - low) || 0.05;
      return [low - room, high + room];
    }

    shade(plot, colours) {
      if (!this.window) return;
      const { ctx, bbox } = plot;
      const [from, to] = this.window.map((at) => plot.valToPos(at, "x", true));
      const left = Math.max(from, bbox.left), right = Math.min(to, bbox.left + bbox.width);
      if (right <= left) return;
      ctx.save();
      ctx.fillStyle = colours.shade;
      ctx.fillRect(left, bbox.top, right - left, bbox.height);
      ctx.restore();
    }

    lines(plot, colours) {
      const { ctx, bbox } = plot;
      ctx.save();
      ctx.beginPath();
      ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
      ctx.clip();
      ctx.lineWidth = 2 * devicePixelRatio;
      if (this.window) {
        ctx.strokeStyle = colours.edge;
        for (const at of this.window) {
          const x = Math.round(plot.valToPos(at, "x", true));
          this.stroke(ctx, [], [[x, bbox.top], [x, bbox.top + bbox.height]]);
        }
      }
      if (plot.scales[this.judgedScale]) {
        const placed = (points) => points.map(([at, value]) => [plot.valToPos(at, "x", true), plot.valToPos(value, this.judgedScale, true)]);
        const { line, limit } = this.figure.dataset;
        ctx.strokeStyle = colours.ink;
        if (line) this.stroke(ctx, [], placed(JSON.parse(line)));
        ctx.strokeStyle = colours.limit;
        if (limit) this.stroke(ctx, [6 * devicePixelRatio, 4 * devicePixelRatio], placed(JSON.parse(limit)));
      }
      ctx.restore();
    }

    stroke(ctx, dash, points) {
      ctx.setLineDash(dash);
      ctx.beginPath();
      points.forEach(([x, y], place) => (place ? ctx.lineTo(x, y) : ctx.moveTo(x, y)));
      ctx.stroke();
    }

    legend(shown, colours) {
      const marks = shown.map((channel, place) => [`trace-mark trace-mark-${place % 4 + 1}`, channel.label]);
      const { line, lineLabel, limit, limitLabel } = this.figure.dataset;
      if (line) marks.push(["trace-mark trace-mark-line", lineLabel]);
      if (limit) marks.push(["trace-mark trace-mark-limit", limitLabel]);
      if (this.window) marks.push(["trace-mark trace-mark-window", "window evaluated"]);
      this.key.replaceChildren(...marks.map(([name, text]) => make("li", {}, make("span", { className: name }), text)));
    }

    refresh() {
      if (!this.plot) return;
      this.plot.redraw(false);
      this.legend(this.told.columns.map((index) => this.channels.get(index)), this.colours());
    }

    resize() {
      if (this.plot && this.plotPlace.clientWidth && this.plotPlace.clientWidth !== this.plot.width) {
        this.plot.setSize({ width: this.plotPlace.clientWidth, height: this.height });
        this.later();
      }
    }

    moved() {
      this.listeners.forEach((listener) => listener());
    }

    // -- words

    tell() {
      const place = this.plot?.cursor.idx;
      if (place === null || place === undefined || this.plot.cursor.left < 0) {
        const { samples, complete } = this.told;
        this.readout.textContent = complete
          ? `${samples} samples in view, each of them drawn.`
          : `${samples} samples in view: of each dot's width the lowest and the highest are drawn. All of them count.`;
        return;
      }
      const values = this.told.columns.map((index, at) => `${this.channels.get(index).name} ${number(this.data[at + 1][place])} ${this.channels.get(index).unit || ""}`.trim());
      this.readout.textContent = `At ${this.data[0][place].toFixed(places(this.span))} s: ${values.join("; ")}`;
    }

    valueAt(at) {
      const column = this.told?.columns.indexOf(Number(this.figure.dataset.column)) ?? -1;
      if (column < 0) return "";
      const times = this.data[0];
      if (at < times[0] || at > times[times.length - 1]) return "";
      let low = 0, high = times.length - 1;
      while (low < high) {
        const middle = (low + high) >> 1;
        times[middle] < at ? (low = middle + 1) : (high = middle);
      }
      const channel = this.channels.get(this.told.columns[column]);
      return `${number(this.data[column + 1][low])} ${channel.unit || ""}`.trim();
    }

    // -- hands

    selected(plot) {
      const { left, width } = plot.select;
      if (width > 4) this.look(plot.posToVal(left, "x"), plot.posToVal(left + width, "x"));
      plot.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    }

    gestures() {
      this.plotPlace.addEventListener("wheel", (event) => {
        const wanted = event.ctrlKey || event.metaKey || this.box.contains(document.activeElement);
        if (!this.plot || !wanted) return;
        event.preventDefault();
        const left = event.clientX - this.plot.over.getBoundingClientRect().left;
        this.zoom(Math.exp(Math.sign(event.deltaY) * 0.25), this.plot.posToVal(left, "x"));
      }, { passive: false });
      this.plotPlace.tabIndex = -1; // a click gives it the focus, the keyboard has the buttons
    }

    watch(over) {
      const at = (event) => event.clientX - over.getBoundingClientRect().left;
      over.addEventListener("pointerdown", (event) => {
        this.plotPlace.focus({ preventScroll: true });
        if (event.pointerType !== "touch" && !event.shiftKey) return;
        this.pointers.set(event.pointerId, at(event));
        over.setPointerCapture(event.pointerId);
        this.held = { view: [...this.view], places: [...this.pointers.values()] };
      });
      over.addEventListener("pointermove", (event) => {
        if (!this.pointers.has(event.pointerId)) return;
        this.pointers.set(event.pointerId, at(event));
        const width = over.clientWidth, now = [...this.pointers.values()];
        const [from, to] = this.held.view, span = to - from;
        if (now.length === 1) {
          const by = (this.held.places[0] - now[0]) / width * span;
          this.look(from + by, to + by);
          return;
        }
        const apart = (two) => Math.max(Math.abs(two[0] - two[1]), 8);
        const middle = (two) => (two[0] + two[1]) / 2;
        const size = span * apart(this.held.places) / apart(now);
        const fixed = from + middle(this.held.places) / width * span;
        const start = fixed - middle(now) / width * size;
        this.look(start, start + size);
      });
      const up = (event) => {
        this.pointers.delete(event.pointerId);
        this.held = { view: [...this.view], places: [...this.pointers.values()] };
        if (event.pointerType === "touch") this.plot?.setCursor({ left: at(event), top: 10 });
      };
      over.addEventListener("pointerup", up);
      over.addEventListener("pointercancel", up);
    }
  }

  const start = () => {
    if (typeof uPlot === "undefined") return;
    document.querySelectorAll("figure[data-samples]:not(.is-live)").forEach((figure) => {
      figure.classList.add("is-live");
      const chart = new TraceChart(figure);
      figure.dispatchEvent(new CustomEvent("trace-chart", { detail: chart, bubbles: true }));
    });
  };
  // The handles listen first (trace_window.js); both scripts are deferred.
  document.addEventListener("DOMContentLoaded", start);
  document.addEventListener("htmx:afterSettle", start);
})();
