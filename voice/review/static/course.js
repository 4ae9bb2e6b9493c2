// The course of a leg, as the server tells it, and in words.

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

export const HOUR_S = 3600;

/**
 * Everything that a chart shows, in the order in which it happened, in words.
 * @param {Course} course
 * @param {(at_s: number) => string} clock
 * @returns {Moment[]}
 */
export function momentsOf(course, clock) {
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
