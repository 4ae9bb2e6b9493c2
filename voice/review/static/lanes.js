// What each chart of the time line shows, and how it is drawn.
//
// Nothing is told by colour alone: ICP is a solid line with dots, CPP a broken one with squares; what
// is in doubt is hollow; a closed drain is hatched; an ordered limit is dotted.

import { HOUR_S } from "./course.js";

/** @typedef {import("./course.js").Course} Course */
/** @typedef {import("./course.js").Value} Value */
/** @typedef {import("./course.js").Done} Done */
/** @typedef {import("./course.js").Period} Period */

/**
 * @typedef {{title: string, height: number, rows?: string[],
 *   range: (plot: any, low: number, high: number) => [number, number],
 *   draw: (plot: any, ink: {colour: string, paper: string}) => void}} Lane
 */

/**
 * Each chart: its name with the unit, how far its axis goes, and how it is drawn.
 * @param {Course} course
 * @returns {Lane[]}
 */
export function lanesOf(course) {
  const limits = (/** @type {(number | null)[]} */ ...told) =>
    /** @type {number[]} */ (told.filter((one) => one !== null));
  const pressures = course.pressure.map((one) => one.value);
  const perfusions = course.cpp.map((one) => one.value);
  const levels = course.level.map((one) => one.value);
  const volumes = course.output.map((one) => one.volume_ml);
  return [
    {
      title: `ICP, ${course.pressure_unit}`,
      height: 74,
      range: fixed(0, [...pressures, ...limits(course.pressure_limit)]),
      draw: (plot, ink) => {
        limit(plot, course.pressure_limit, "ordered limit", ink);
        line(plot, course.pressure, course.gap_s, ink, { dash: [], square: false });
      },
    },
    {
      title: "CPP, mmHg",
      height: 62,
      range: fixed(40, [...perfusions, ...limits(course.cpp_target)]),
      draw: (plot, ink) => {
        limit(plot, course.cpp_target, "ordered", ink);
        line(plot, course.cpp, course.gap_s, ink, { dash: [6, 4], square: true });
      },
    },
    {
      title: "Drain level, cmH₂O",
      height: 52,
      range: fixed(0, levels),
      draw: (plot, ink) => steps(plot, course.level, course.end_s, ink),
    },
    {
      title: "Output, mL an hour",
      height: 56,
      range: fixed(0, [...volumes, ...limits(course.hourly_limit_ml)]),
      draw: (plot, ink) => {
        bars(plot, course.output, ink);
        limit(plot, course.hourly_limit_ml, "ordered", ink);
      },
    },
    {
      title: "Drugs and events",
      height: 64,
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
export const named = (rows) => ({
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
export function hatch(/** @type {any} */ plot, /** @type {Period[]} */ closed, /** @type {string} */ colour) {
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
