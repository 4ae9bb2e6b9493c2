// The leg as a time line: pressures, the drain, output, and what was done, over one time axis.

import { momentsOf } from "./course.js";
import { byId, fill, h } from "./dom.js";
import { hatch, lanesOf, named } from "./lanes.js";

/** @typedef {import("./course.js").Course} Course */
/** @typedef {import("./course.js").Moment} Moment */
/** @typedef {import("./lanes.js").Lane} Lane */

const SHORTEST_S = 60;
const ZOOM = 2;
const TIMES_PX = 24;
const AXIS_PX = 52;
const PADDING = [5, 24, 5, 0];
const CLICK_PX = 4;
/** A finger is never quite still. */
const TAP_PX = 12;
const FONT = "12px system-ui, sans-serif";

/** @param {Course} course */
const endOf = (course) => Math.max(course.end_s, course.start_s + SHORTEST_S);

export class Charts extends EventTarget {
  /** @param {import("./leg.js").Leg} leg */
  constructor(leg) {
    super();
    this.leg = leg;
    /** @type {Course | null} */
    this.course = null;
    /** @type {any[]} */
    this.plots = [];
    /** @type {Moment[]} */
    this.moments = [];
    this.from = 0;
    this.to = 1;
    this.slider = byId("moment");
    this.slider.addEventListener("input", () => this.tellMoment());
    byId("zoom-in").addEventListener("click", () => this.zoom(1 / ZOOM));
    byId("zoom-out").addEventListener("click", () => this.zoom(ZOOM));
    byId("earlier").addEventListener("click", () => this.shift(-0.5));
    byId("later").addEventListener("click", () => this.shift(0.5));
    byId("whole").addEventListener("click", () => this.whole());
    byId("to-entry").addEventListener("click", () => this.chooseMoment());
    const redraw = () => this.draw();
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
    new ResizeObserver(() => this.resize()).observe(byId("charts"));
  }

  /** @param {Course} course */
  show(course) {
    const before = this.course;
    const whole = before === null || (this.from <= before.start_s && this.to >= endOf(before));
    const same = JSON.stringify(course) === JSON.stringify(this.course);
    this.course = course;
    if (same) return;
    this.moments = momentsOf(course, (at_s) => this.leg.clock(at_s));
    this.slider.max = String(Math.max(this.moments.length - 1, 0));
    byId("charts-empty").hidden = this.moments.length > 0;
    if (whole) [this.from, this.to] = [course.start_s, endOf(course)];
    this.draw();
    this.tellMoment();
  }

  draw() {
    const course = this.course;
    if (!course) return;
    for (const plot of this.plots) plot.destroy();
    const box = byId("charts");
    const style = getComputedStyle(box);
    const [colour, faint, paper] = ["--ink", "--line", "--paper"].map((name) =>
      style.getPropertyValue(name).trim());
    const ink = { colour, faint, paper, width: Math.max(box.clientWidth, 200) };
    const lanes = lanesOf(course);
    fill(box);
    this.plots = lanes.map((lane, at) =>
      this.plot(box, lane, course, ink, at === lanes.length - 1));
    this.scale();
    this.tellCursor();
  }

  /**
   * @param {Element} box
   * @param {Lane} lane
   * @param {Course} course
   * @param {{colour: string, faint: string, paper: string, width: number}} ink
   * @param {boolean} last
   */
  plot(box, lane, course, { colour, faint, paper, width }, last) {
    const axis = { stroke: colour, grid: { stroke: faint, width: 1 }, ticks: { stroke: faint }, font: FONT };
    const frame = h("div", { class: "lane" }, h("h3", {}, lane.title));
    box.append(frame);
    const options = {
      width,
      height: lane.height + (last ? TIMES_PX : 0),
      padding: last ? [...PADDING.slice(0, 2), 0, 0] : PADDING,
      legend: { show: false },
      cursor: {
        sync: { key: "leg", setSeries: false },
        drag: { x: true, y: false, setScale: false },
        points: { show: false },
        y: false,
        bind: { dblclick: () => null },
      },
      scales: { x: { time: true, auto: false }, y: { range: lane.range } },
      tzDate: (/** @type {number} */ s) =>
        new Date((s + (this.leg.view.utc_offset_min + new Date(s * 1000).getTimezoneOffset()) * 60) * 1000),
      axes: [
        { ...axis, show: last, size: TIMES_PX,
          values: (/** @type {any} */ _, /** @type {number[]} */ at) => at.map((s) => this.leg.clock(s)) },
        { ...axis, size: AXIS_PX, ...(lane.rows ? named(lane.rows) : {}) },
      ],
      series: [{}, { show: false, label: lane.title }],
      hooks: {
        drawClear: [(/** @type {any} */ plot) => hatch(plot, course.closed, faint)],
        draw: [(/** @type {any} */ plot) => lane.draw(plot, { colour, paper })],
        setSelect: [(/** @type {any} */ plot) => this.selected(plot)],
        ready: [(/** @type {any} */ plot) => {
          this.listen(plot);
          this.feel(plot);
        }],
      },
    };
    // what is drawn is drawn by the lane itself; the data only carry the time axis
    const data = [[course.start_s, course.end_s], [null, null]];
    // @ts-ignore: uPlot is a script of its own
    return new uPlot(options, data, frame);
  }

  /**
   * @param {any} plot
   * @param {number} [least] so wide is a drag
   */
  selected(plot, least = CLICK_PX) {
    if (plot.select.width > least) {
      const [left, right] = [plot.select.left, plot.select.left + plot.select.width];
      this.view(plot.posToVal(left, "x"), plot.posToVal(right, "x"));
    }
    plot.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
  }

  /** @param {any} plot */
  listen(plot) {
    let down = 0;
    plot.over.addEventListener("mousedown", (/** @type {MouseEvent} */ event) => {
      down = event.clientX;
    });
    plot.over.addEventListener("click", (/** @type {MouseEvent} */ event) => {
      if (Math.abs(event.clientX - down) <= CLICK_PX) this.chooseMoment();
    });
    plot.over.addEventListener("mousemove", () => {
      if (plot.cursor.left >= 0) this.nearest(plot.posToVal(plot.cursor.left, "x"));
    });
  }

  /**
   * A finger that moves sideways selects, as a mouse does; up and down it scrolls the page.
   * @param {any} plot
   */
  feel(plot) {
    /** @type {number | null} */
    let from = null;
    const to = (/** @type {PointerEvent} */ event) => {
      const at = event.clientX - plot.over.getBoundingClientRect().left;
      return Math.min(Math.max(at, 0), plot.over.clientWidth);
    };
    const select = (/** @type {number} */ left, /** @type {number} */ width) =>
      plot.setSelect({ left, top: 0, width, height: plot.over.clientHeight }, false);
    plot.over.addEventListener("pointerdown", (/** @type {PointerEvent} */ event) => {
      from = event.pointerType === "touch" ? to(event) : null;
    });
    plot.over.addEventListener("pointermove", (/** @type {PointerEvent} */ event) => {
      if (from !== null) select(Math.min(from, to(event)), Math.abs(to(event) - from));
    });
    plot.over.addEventListener("pointerup", () => {
      if (from !== null) this.selected(plot, TAP_PX);
      from = null;
    });
    plot.over.addEventListener("pointercancel", () => {
      if (from !== null) select(0, 0);
      from = null;
    });
  }

  resize() {
    for (const plot of this.plots) {
      const width = plot.root.parentElement.clientWidth;
      if (width && width !== plot.width) plot.setSize({ width, height: plot.height });
    }
    this.tellCursor();
  }

  /**
   * Show the time from one moment to another, within the leg.
   * @param {number} from
   * @param {number} to
   */
  view(from, to) {
    const course = this.course;
    if (!course) return;
    const end = endOf(course);
    const length = Math.min(Math.max(to - from, SHORTEST_S), end - course.start_s);
    this.from = Math.min(Math.max(from, course.start_s), end - length);
    this.to = this.from + length;
    this.scale();
    this.tellCursor();
  }

  scale() {
    for (const plot of this.plots) plot.setScale("x", { min: this.from, max: this.to });
    byId("shown-time").textContent = `${this.leg.clock(this.from)} to ${this.leg.clock(this.to)}`;
  }

  /** @param {number} by greater than 1 shows more */
  zoom(by) {
    const moment = this.moments[Number(this.slider.value)]?.at_s;
    const within = moment !== undefined && moment >= this.from && moment <= this.to;
    const middle = within ? moment : (this.from + this.to) / 2;
    const half = ((this.to - this.from) * by) / 2;
    this.view(middle - half, middle + half);
  }

  /** @param {number} by in lengths of what is shown */
  shift(by) {
    const length = this.to - this.from;
    this.view(this.from + by * length, this.to + by * length);
  }

  whole() {
    if (this.course) this.view(this.course.start_s, this.course.end_s);
  }

  /** @param {number} at_s */
  nearest(at_s) {
    let best = 0;
    this.moments.forEach((one, index) => {
      if (Math.abs(one.at_s - at_s) < Math.abs(this.moments[best].at_s - at_s)) best = index;
    });
    if (this.moments.length > 0 && Number(this.slider.value) !== best) {
      this.slider.value = String(best);
      this.tellMoment();
    }
  }

  tellMoment() {
    const moment = this.moments[Number(this.slider.value)];
    const text = moment ? `${this.leg.clock(moment.at_s, true)}  ${moment.text}` : "Nothing was told.";
    byId("readout").textContent = text;
    this.slider.setAttribute("aria-valuetext", text);
    byId("to-entry").disabled = !moment || moment.number === null;
    if (moment && (moment.at_s < this.from || moment.at_s > this.to)) {
      const half = (this.to - this.from) / 2;
      this.view(moment.at_s - half, moment.at_s + half);
    }
    this.tellCursor();
  }

  tellCursor() {
    const moment = this.moments[Number(this.slider.value)];
    for (const plot of this.plots) {
      if (!moment) continue;
      const left = plot.valToPos(moment.at_s, "x");
      plot.setCursor({ left, top: 1 }, false, false);
    }
  }

  chooseMoment() {
    const moment = this.moments[Number(this.slider.value)];
    if (moment && moment.number !== null) {
      this.dispatchEvent(new CustomEvent("choose", { detail: moment.number }));
    }
  }
}
