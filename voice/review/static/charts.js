// The leg as a time line: pressures, the drain, output, and what was done, over one time axis.
//
// Nothing is told by colour alone: ICP is a solid line with dots, CPP a broken one with squares; what
// is in doubt is hollow; a closed drain is hatched; an ordered limit is dotted.

import { byId, fill, h } from "./dom.js";

/**
 * @typedef {{at_s: number, value: number, number: number, doubt: string}} Value
 * @typedef {{at_s: number, text: string, number: number, doubt: string}} Done
 * @typedef {{start_s: number, end_s: number, reason: string, ended: boolean}} Period
 * @typedef {{start_s: number, end_s: number, pressure_unit: string, gap_s: number,
 *   pressure: Value[], pressure_limit: number | null, cpp: Value[], cpp_target: number | null,
 *   level: Value[], closed: Period[], output: {start_s: number, volume_ml: number}[],
 *   hourly_limit_ml: number | null, given: Done[], events: Done[]}} Course
 * @typedef {{at_s: number, text: string, number: number | null}} Moment
 */

const HOUR_S = 3600;
const SHORTEST_S = 60;
const ZOOM = 2;
const LANE_PX = 74;
const TIMES_PX = 24;
const AXIS_PX = 52;
const PADDING = [5, 24, 5, 0];
const CLICK_PX = 4;

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
    const first = this.course === null;
    const same = JSON.stringify(course) === JSON.stringify(this.course);
    this.course = course;
    if (same) return;
    this.moments = momentsOf(course, (at_s) => this.leg.clock(at_s));
    this.slider.max = String(Math.max(this.moments.length - 1, 0));
    byId("charts-empty").hidden = this.moments.length > 0;
    if (first) {
      this.from = course.start_s;
      this.to = Math.max(course.end_s, course.start_s + SHORTEST_S);
    }
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
    const axis = { stroke: colour, grid: { stroke: faint, width: 1 }, ticks: { stroke: faint }, font };
    const frame = h("div", { class: "lane" }, h("h3", {}, lane.title));
    box.append(frame);
    const options = {
      width,
      height: LANE_PX + (last ? TIMES_PX : 0),
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
        ready: [(/** @type {any} */ plot) => this.listen(plot)],
      },
    };
    // what is drawn is drawn by the lane itself; the data only carry the time axis
    const data = [[course.start_s, course.end_s], [null, null]];
    // @ts-ignore: uPlot is a script of its own
    return new uPlot(options, data, frame);
  }

  /** @param {any} plot */
  selected(plot) {
    if (plot.select.width > CLICK_PX) {
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
    const end = Math.max(course.end_s, course.start_s + SHORTEST_S);
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

const font = "12px system-ui, sans-serif";

/**
 * @typedef {{title: string, range: (plot: any, low: number, high: number) => [number, number],
 *   rows?: string[],
 *   draw: (plot: any, ink: {colour: string, paper: string}) => void}} Lane
 */

/**
 * Each chart: its name with the unit, how far its axis goes, and how it is drawn.
 * @param {Course} course
 * @returns {Lane[]}
 */
function lanesOf(course) {
  const limits = (/** @type {(number | null)[]} */ ...told) =>
    /** @type {number[]} */ (told.filter((one) => one !== null));
  const pressures = course.pressure.map((one) => one.value);
  const perfusions = course.cpp.map((one) => one.value);
  const levels = course.level.map((one) => one.value);
  const volumes = course.output.map((one) => one.volume_ml);
  return [
    {
      title: `ICP, ${course.pressure_unit}`,
      range: fixed(0, [...pressures, ...limits(course.pressure_limit)]),
      draw: (plot, ink) => {
        limit(plot, course.pressure_limit, "ordered limit", ink);
        line(plot, course.pressure, course.gap_s, ink, { dash: [], square: false });
      },
    },
    {
      title: "CPP, mmHg",
      range: fixed(40, [...perfusions, ...limits(course.cpp_target)]),
      draw: (plot, ink) => {
        limit(plot, course.cpp_target, "ordered", ink);
        line(plot, course.cpp, course.gap_s, ink, { dash: [6, 4], square: true });
      },
    },
    {
      title: "Drain level, cmH₂O",
      range: fixed(0, levels),
      draw: (plot, ink) => steps(plot, course.level, course.end_s, ink),
    },
    {
      title: "Output, mL an hour",
      range: fixed(0, [...volumes, ...limits(course.hourly_limit_ml)]),
      draw: (plot, ink) => {
        bars(plot, course.output, ink);
        limit(plot, course.hourly_limit_ml, "ordered", ink);
      },
    },
    {
      title: "Drugs and events",
      range: () => [0, 2],
      rows: ["event", "drug"],
      draw: (plot, ink) => {
        marks(plot, course.given, 1, ink);
        marks(plot, course.events, 0, ink);
      },
    },
  ];
}

/**
 * An axis of rows with names in place of numbers.
 * @param {string[]} rows the lowest first
 */
const named = (rows) => ({
  splits: () => rows.map((_, at) => at + 0.5),
  values: () => rows,
  grid: { show: false },
  ticks: { show: false },
});

/**
 * @param {number} least is always on the axis
 * @param {number[]} values
 * @returns {Lane["range"]}
 */
function fixed(least, values) {
  const low = Math.min(least, ...values);
  const high = Math.max(least + 10, ...values);
  return () => [low, high + (high - low) * 0.2];
}

/** The time for which the drain was closed: hatched. */
function hatch(/** @type {any} */ plot, /** @type {Period[]} */ closed, /** @type {string} */ colour) {
  inside(plot, (pen, { left, top, width, height }) => {
    pen.strokeStyle = colour;
    pen.lineWidth = devicePixelRatio;
    const apart = 7 * devicePixelRatio;
    for (const period of closed) {
      const start = Math.max(plot.valToPos(period.start_s, "x", true), left);
      const end = Math.min(plot.valToPos(period.end_s, "x", true), left + width);
      if (end <= start) continue;
      pen.save();
      pen.beginPath();
      pen.rect(start, top, end - start, height);
      pen.clip();
      pen.beginPath();
      for (let x = start - height; x < end; x += apart) {
        pen.moveTo(x, top + height);
        pen.lineTo(x + height, top);
      }
      pen.stroke();
      pen.strokeRect(start, top, end - start, height);
      pen.restore();
    }
  });
}

/**
 * @param {any} plot
 * @param {(pen: CanvasRenderingContext2D, box: any) => void} draw
 */
function inside(plot, draw) {
  const pen = plot.ctx;
  const { left, top, width, height } = plot.bbox;
  pen.save();
  pen.beginPath();
  pen.rect(left, top, width, height);
  pen.clip();
  draw(pen, plot.bbox);
  pen.restore();
}

/**
 * @param {any} plot
 * @param {Value[]} values
 * @param {number} gap_s
 * @param {{colour: string, paper: string}} ink
 * @param {{dash: number[], square: boolean}} shape
 */
function line(plot, values, gap_s, ink, shape) {
  inside(plot, (pen) => {
    const ratio = devicePixelRatio;
    const at = values.map((one) => [plot.valToPos(one.at_s, "x", true), plot.valToPos(one.value, "y", true)]);
    pen.strokeStyle = ink.colour;
    pen.lineWidth = 1.5 * ratio;
    pen.setLineDash(shape.dash.map((length) => length * ratio));
    pen.beginPath();
    values.forEach((one, index) => {
      const near = index > 0 && one.at_s - values[index - 1].at_s <= gap_s;
      pen[near ? "lineTo" : "moveTo"](at[index][0], at[index][1]);
    });
    pen.stroke();
    pen.setLineDash([]);
    const size = 4 * ratio;
    values.forEach((one, index) => {
      const [x, y] = at[index];
      pen.fillStyle = one.doubt ? ink.paper : ink.colour;
      pen.beginPath();
      if (shape.square) pen.rect(x - size, y - size, 2 * size, 2 * size);
      else pen.arc(x, y, size, 0, 2 * Math.PI);
      pen.fill();
      pen.stroke();
    });
  });
}

/** A level holds until the next is set. */
function steps(
  /** @type {any} */ plot, /** @type {Value[]} */ values, /** @type {number} */ end_s,
  /** @type {{colour: string, paper: string}} */ ink,
) {
  const held = values.flatMap((one, index) => {
    const until = values[index + 1]?.at_s ?? end_s;
    return [one, { ...one, at_s: until }];
  });
  inside(plot, (pen) => {
    pen.strokeStyle = ink.colour;
    pen.lineWidth = 1.5 * devicePixelRatio;
    pen.beginPath();
    held.forEach((one, index) => {
      pen[index ? "lineTo" : "moveTo"](plot.valToPos(one.at_s, "x", true), plot.valToPos(one.value, "y", true));
    });
    pen.stroke();
  });
  line(plot, values, 0, ink, { dash: [], square: true });
}

/** What drained in each clock hour, as wide as the hour. */
function bars(
  /** @type {any} */ plot, /** @type {Course["output"]} */ hours,
  /** @type {{colour: string, paper: string}} */ ink,
) {
  inside(plot, (pen) => {
    pen.strokeStyle = ink.colour;
    pen.fillStyle = ink.colour;
    pen.lineWidth = 1.5 * devicePixelRatio;
    const foot = plot.valToPos(0, "y", true);
    for (const { start_s, volume_ml } of hours) {
      const left = plot.valToPos(start_s, "x", true);
      const width = plot.valToPos(start_s + HOUR_S, "x", true) - left;
      const top = plot.valToPos(volume_ml, "y", true);
      pen.globalAlpha = 0.15;
      pen.fillRect(left, top, width, foot - top);
      pen.globalAlpha = 1;
      pen.strokeRect(left, top, width, foot - top);
    }
  });
}

/** A dotted line where something was ordered. */
function limit(
  /** @type {any} */ plot, /** @type {number | null} */ value, /** @type {string} */ name,
  /** @type {{colour: string, paper: string}} */ ink,
) {
  if (value === null) return;
  inside(plot, (pen, { left, width }) => {
    const y = plot.valToPos(value, "y", true);
    pen.strokeStyle = ink.colour;
    pen.fillStyle = ink.colour;
    pen.lineWidth = devicePixelRatio;
    pen.setLineDash([2 * devicePixelRatio, 3 * devicePixelRatio]);
    pen.beginPath();
    pen.moveTo(left, y);
    pen.lineTo(left + width, y);
    pen.stroke();
    write(pen, ink, `${name} ${value}`, left + 4 * devicePixelRatio, y);
  });
}

/** Words on a ground of their own, in the middle of whose left edge the point stands. */
function write(
  /** @type {CanvasRenderingContext2D} */ pen, /** @type {{colour: string, paper: string}} */ ink,
  /** @type {string} */ text, /** @type {number} */ x, /** @type {number} */ y,
) {
  const size = 11 * devicePixelRatio;
  pen.font = `${size}px system-ui, sans-serif`;
  pen.textAlign = "left";
  pen.textBaseline = "middle";
  const { width } = pen.measureText(text);
  pen.fillStyle = ink.paper;
  pen.fillRect(x - 2, y - size * 0.6, width + 4, size * 1.2);
  pen.fillStyle = ink.colour;
  pen.fillText(text, x, y);
  return width;
}

/** A tick for each, its words beside it where they cover no other. */
function marks(
  /** @type {any} */ plot, /** @type {Done[]} */ done, /** @type {number} */ row,
  /** @type {{colour: string, paper: string}} */ ink,
) {
  inside(plot, (pen, { left, width }) => {
    const ratio = devicePixelRatio;
    const [top, foot] = [plot.valToPos(row + 0.9, "y", true), plot.valToPos(row + 0.1, "y", true)];
    pen.strokeStyle = ink.colour;
    pen.lineWidth = 1.5 * ratio;
    pen.font = `${11 * ratio}px system-ui, sans-serif`;
    const seen = done
      .map((one) => ({ text: one.text, x: plot.valToPos(one.at_s, "x", true) }))
      .filter((one) => one.x >= left && one.x <= left + width);
    for (const { x } of seen) {
      pen.beginPath();
      pen.moveTo(x, top);
      pen.lineTo(x, foot);
      pen.stroke();
    }
    const free = [left, left];
    for (const { text, x } of seen) {
      const wide = pen.measureText(text).width + 8 * ratio;
      const start = x + wide > left + width ? x - wide : x + 4 * ratio;
      const row_at = free.findIndex((taken) => taken <= start);
      if (row_at < 0) continue;
      free[row_at] = start + wide;
      write(pen, ink, text, start, top + (foot - top) * (row_at ? 0.75 : 0.25));
    }
  });
}

/**
 * Everything that a chart shows, in the order in which it happened, in words.
 * @param {Course} course
 * @param {(at_s: number) => string} clock
 * @returns {Moment[]}
 */
function momentsOf(course, clock) {
  const doubt = (/** @type {{doubt: string}} */ one) => (one.doubt ? ` (${one.doubt})` : "");
  const cpp = new Map(course.cpp.map((one) => [one.number, one]));
  /** @type {Moment[]} */
  const found = [
    ...course.pressure.map((one) => {
      const with_it = cpp.get(one.number);
      const also = with_it ? `, CPP ${Math.round(with_it.value)} mmHg` : "";
      const text = `ICP ${one.value} ${course.pressure_unit}${also}${doubt(one)}`;
      return { at_s: one.at_s, text, number: one.number };
    }),
    ...course.level.map((one) => ({
      at_s: one.at_s, text: `Drain level ${one.value} cmH₂O${doubt(one)}`, number: one.number })),
    ...course.closed.map((one) => ({
      at_s: one.start_s, text: `Drain closed${one.reason ? ` for ${one.reason}` : ""}`, number: null })),
    ...course.closed.filter((one) => one.ended).map((one) => ({
      at_s: one.end_s, text: "Drain open", number: null })),
    ...course.output.map((one) => ({
      at_s: Math.max(one.start_s, course.start_s),
      text: `Drained from ${clock(one.start_s)} to ${clock(one.start_s + HOUR_S)}: ${one.volume_ml.toFixed(1)} mL`,
      number: null })),
    ...[...course.given, ...course.events].map((one) => ({
      at_s: one.at_s, text: `${one.text}${doubt(one)}`, number: one.number })),
  ];
  return found.sort((a, b) => a.at_s - b.at_s);
}
