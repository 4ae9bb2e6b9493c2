// The leg as this page knows it: what the server told, and what became of it since.

import { get, isOf, post, Refused } from "./server.js";

/**
 * @typedef {{name: string, role: string}} Person
 * @typedef {{at: string, time: string, by: Person, text: string}} Comment
 * @typedef {{at: string, time: string, by: Person, may_teach: boolean}} SignOff
 * @typedef {{number: number, written: string, state: string, heard: string, spoken_at: string,
 *   happened_at: string, time: string, replaces: number | null, replaced_by: number | null,
 *   clip: string | null, listened: boolean, sound_gone: boolean, need: number, why_look: string[],
 *   note: boolean, written_down: string | null,
 *   desk: {act: string, at: string, by: Person, why: string} | null, comments: Comment[]}} Row
 * @typedef {{id: number, start_at: string, time: string, clip: string | null, listened: boolean, sound_gone: boolean,
 *   outcome: string, heard: string, need: number, why_look: string[],
 *   became: number[]}} Gap
 * @typedef {{time: string | null, known: string,
 *   desk: {at: string, by: Person, why: string} | null}} End
 * @typedef {{type: "entry", key: string, row: Row} | {type: "gap", key: string, gap: Gap}} Item
 */

const DAY = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", timeZone: "UTC" });

/** @param {number} number */
export const entryKey = (number) => `entry-${number}`;
/** @param {number} id */
export const gapKey = (id) => `gap-${id}`;

/**
 * One leg; listeners to `change` get which rows and gaps have changed, which of the rows did not stand
 * before, which gaps are new or gone, and whether its end is another.
 */
export class Leg extends EventTarget {
  /** @param {any} view */
  constructor(view) {
    super();
    this.view = view;
    /** @type {Map<number, Row>} */
    this.rows = new Map(view.rows.map((/** @type {Row} */ row) => [row.number, row]));
    /** @type {Map<number, Gap>} */
    this.gaps = new Map(view.gaps.map((/** @type {Gap} */ gap) => [gap.id, gap]));
    /** What was sent and not answered yet. @type {Set<string>} */
    this.sending = new Set();
  }

  static async load() {
    const leg = new Leg(await get("/data/leg"));
    isOf(leg.view.leg);
    return leg;
  }

  /**
   * Take over what others have changed meanwhile.
   * @returns {Promise<boolean>} whether there was anything
   */
  async catchUp() {
    const since = this.view.head;
    const { head } = await get("/data/head");
    if (head === since || this.view.head !== since) return false;
    this.take(await get(`/data/changes?since=${since}`));
    return true;
  }

  /**
   * Do something to the leg, and take over what came of it.
   * @param {string} act
   * @param {object} about
   * @param {string} [head] where the leg stood when it was decided on
   * @returns {Promise<any>} the answer; its `said` is a sentence
   */
  async act(act, about, head = this.view.head) {
    const sent = JSON.stringify([act, about]);
    if (this.sending.has(sent)) throw new Refused(0, "That is being written already.");
    this.sending.add(sent);
    try {
      const answer = await post("/acts", { by: this.view.who, act: { act, head, ...about } });
      this.take(answer);
      return answer;
    } finally {
      this.sending.delete(sent);
    }
  }

  /**
   * Put what has changed in the place of what was known. An answer tells all that its asker did not
   * know; so one that comes late, after a newer one, tells nothing that still holds.
   * @param {any} answer
   */
  take(answer) {
    if (!("head" in answer) || answer.head < this.view.head) return;
    /** @type {Row[]} */
    const rows = answer.rows ?? [];
    /** @type {Gap[]} */
    const gaps = answer.gaps ?? [];
    const added = rows.filter((row) => {
      const before = this.rows.get(row.number);
      // an entry stands again where its correction was withdrawn
      return !before || (before.replaced_by !== null && row.replaced_by === null);
    });
    const found = gaps.filter((gap) => !this.gaps.has(gap.id));
    for (const row of rows) this.rows.set(row.number, row);
    for (const gap of gaps) this.gaps.set(gap.id, gap);
    const gone = [...this.gaps.keys()].filter((id) => !answer.gap_ids.includes(id));
    for (const id of gone) this.gaps.delete(id);
    const ended = JSON.stringify(answer.end) !== JSON.stringify(this.view.end);
    for (const part of ["head", "comments", "counter", "sign_off", "sign_offs", "end", "notices"]) {
      this.view[part] = answer[part];
    }
    this.dispatchEvent(new CustomEvent("change", { detail: { rows, gaps, added, found, gone, ended } }));
  }

  /**
   * A moment by the leg's clock: "14:05", with seconds where they are asked for.
   * @param {number} seconds since 1970
   * @param {boolean} [withSeconds]
   */
  clock(seconds, withSeconds = false) {
    const local = new Date((seconds + this.view.utc_offset_min * 60) * 1000);
    return local.toISOString().slice(11, withSeconds ? 19 : 16);
  }

  /**
   * A moment by the leg's clock, with the date on any other day than that of its start.
   * @param {string} at as ISO 8601
   */
  time(at) {
    const [local, start] = [at, this.view.started_at].map((one) =>
      new Date(Date.parse(one) + this.view.utc_offset_min * 60_000));
    const day = DAY.format(local);
    return `${day === DAY.format(start) ? "" : `${day} `}${this.clock(Date.parse(at) / 1000)}`;
  }

  /** @returns {Item[]} everything that can be looked at, in the order in which it was said */
  items() {
    /** @type {Item[]} */
    const items = [...this.rows.values()].map((row) => ({
      type: "entry",
      key: entryKey(row.number),
      row,
    }));
    for (const gap of this.gaps.values()) items.push({ type: "gap", key: gapKey(gap.id), gap });
    return items
      .map((item) => ({ item, at: moment(item) }))
      .sort((a, b) => a.at - b.at)
      .map(({ item }) => item);
  }

  /**
   * The entry that stands in the place of this one, after all corrections.
   * @param {number} number
   */
  standing(number) {
    let row = this.rows.get(number);
    while (row && row.replaced_by !== null && this.rows.has(row.replaced_by)) {
      row = this.rows.get(row.replaced_by);
    }
    return row;
  }

  /**
   * @param {string | null} key
   * @returns {Item | null}
   */
  item(key) {
    const [type, id] = (key ?? "").split("-");
    const row = type === "entry" ? this.rows.get(Number(id)) : undefined;
    const gap = type === "gap" ? this.gaps.get(Number(id)) : undefined;
    if (row) return { type: "entry", key: entryKey(row.number), row };
    return gap ? { type: "gap", key: gapKey(gap.id), gap } : null;
  }
}

/** @param {Item} item */
const moment = (item) => Date.parse(item.type === "entry" ? item.row.happened_at : item.gap.start_at);

/** @param {Item} item */
export const about = (item) => (item.type === "entry" ? item.row : item.gap);

/** Stands in what was heard for a stretch in which no word of the grammar was. */
const UNKNOWN = /\[unk\]/g;

/** Whether any word of the grammar is in it. @param {string} text */
export const anyWords = (text) => text.replace(UNKNOWN, "").trim() !== "";

/** @param {string} text */
export const quoted = (text) => `“${text.replace(UNKNOWN, "…")}”`;

/**
 * What was heard; of a free note, what somebody wrote down.
 * @param {Item} item
 */
export function inWords(item) {
  if (item.type === "entry" && item.row.note) {
    return item.row.written_down === null ? "free words" : `written down ${quoted(item.row.written_down)}`;
  }
  const text = item.type === "entry" ? item.row.heard : item.gap.heard;
  return anyWords(text) ? `heard ${quoted(text)}` : "no words made out";
}
