// The time line in numbers: a table for each chart.

import { byId, fill, h } from "./dom.js";

/** @typedef {import("./course.js").Course} Course */

/**
 * Fill the tables; `choose` is called with the number of an entry.
 * @param {Course} course
 * @param {(at_s: number) => string} clock
 * @param {(number: number) => void} choose
 */
export function showTables(course, clock, choose) {
  const cpp = new Map(course.cpp.map((one) => [one.number, String(Math.round(one.value))]));
  const entry = (/** @type {number} */ number) =>
    h("button", { type: "button", onclick: () => choose(number) }, `Entry ${number}`);
  const done = (/** @type {import("./course.js").Done[]} */ told) =>
    told.map((one) => [clock(one.at_s), one.text, one.doubt, entry(one.number)]);
  fill(
    byId("tables"),
    table("Pressures", ["Time", `ICP, ${course.pressure_unit}`, "CPP, mmHg", "Doubt", "Entry"],
      course.pressure.map((one) => [
        clock(one.at_s), String(one.value), cpp.get(one.number) ?? "", one.doubt, entry(one.number)])),
    table("Drain level", ["Time", "Level, cmH₂O", "Doubt", "Entry"],
      course.level.map((one) => [clock(one.at_s), String(one.value), one.doubt, entry(one.number)])),
    table("Drain closed", ["From", "To", "Minutes", "Reason"],
      course.closed.map((one) => [
        clock(one.start_s), one.ended ? clock(one.end_s) : "not opened",
        ((one.end_s - one.start_s) / 60).toFixed(0), one.reason])),
    table("Output by clock hour", ["From", "Drained, mL"],
      course.output.map((one) => [clock(one.start_s), one.volume_ml.toFixed(1)])),
    table("Drugs", ["Time", "Given", "Doubt", "Entry"], done(course.given)),
    table("Events", ["Time", "What", "Doubt", "Entry"], done(course.events)),
    h("p", {}, orders(course)),
  );
}

/** @param {Course} course */
function orders(course) {
  const told = [
    course.pressure_limit !== null && `ICP not above ${course.pressure_limit} ${course.pressure_unit}`,
    course.cpp_target !== null && `CPP ${course.cpp_target} mmHg`,
    course.hourly_limit_ml !== null && `output at most ${course.hourly_limit_ml} mL an hour`,
  ].filter(Boolean);
  return `Ordered: ${told.length > 0 ? told.join("; ") : "no limit was told"}.`;
}

/**
 * @param {string} caption
 * @param {string[]} heads
 * @param {(string | Node)[][]} rows
 */
function table(caption, heads, rows) {
  if (rows.length === 0) return h("p", {}, `${caption}: nothing told.`);
  return h("table", {},
    h("caption", {}, caption),
    h("thead", {}, h("tr", {}, ...heads.map((head) => h("th", { scope: "col" }, head)))),
    h("tbody", {},
      ...rows.map(([first, ...cells]) =>
        h("tr", {}, h("th", { scope: "row" }, first), ...cells.map((cell) => h("td", {}, cell))))));
}
