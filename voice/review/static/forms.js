// What can be done to an entry or to a stretch of speech, each with its form.

import { h } from "./dom.js";
import { post } from "./server.js";

/** @typedef {import("./leg.js").Item} Item */
/**
 * @typedef {{act: string, key: string, name: string, button: string, told: string,
 *   fits: (item: Item) => boolean,
 *   fields: (item: Item, now: () => Item | null) => HTMLElement[]}} Act
 *   `key` opens the form, `name` stands on its button, `button` on the one that does it; `now` gives what
 *   the form is about by then, as somebody else may correct it meanwhile.
 */

const CHECK_AFTER_MS = 250;

/** @param {Item} item */
const counts = (item) =>
  item.type === "entry" && item.row.replaced_by === null && item.row.state !== "withdrawn";
/** @param {Item} item */
const sounds = (item) => (item.type === "entry" ? item.row.clip : item.gap.clip) !== null;

/** @type {Act[]} */
export const ACTS = [
  {
    act: "approve", key: "y", name: "Right as it is", button: "It is right",
    told: "You have listened, and the entry says what was said.",
    fits: (item) =>
      counts(item) && item.type === "entry" && !item.row.note && item.row.state !== "reviewed",
    fields: () => [],
  },
  {
    act: "type", key: "e", name: "Correct it", button: "Correct it",
    told: "Write the value, or the whole entry as it is said.",
    fits: (item) => counts(item) && item.type === "entry" && !item.row.note,
    fields: (_, now) => [checked("text", "What was said", now, "14, 120/80, pressure fourteen")],
  },
  {
    act: "time", key: "t", name: "Change the time", button: "Change the time",
    told: "When it happened, by the leg’s clock.",
    fits: counts,
    fields: (item) => [
      field("time", "Time", { value: item.type === "entry" ? clockOf(item.row.time) : "", placeholder: "14:05" }),
    ],
  },
  {
    act: "withdraw", key: "w", name: "Withdraw", button: "Withdraw it",
    told: "It no longer counts. It stays in the record, with its sound.",
    fits: counts,
    fields: () => [],
  },
  {
    act: "write_down", key: "n", name: "Write the note down", button: "Write it down",
    told: "The words of the note, as they are heard.",
    fits: (item) => counts(item) && item.type === "entry" && item.row.note,
    fields: (item) => [area("text", "Words", item.type === "entry" ? item.row.written_down : "")],
  },
  {
    act: "add", key: "a", name: "Add an entry from this sound", button: "Add it",
    told: "Something else was said in this sound.",
    fits: sounds,
    fields: (item) => [
      checked("text", "What was said", () => null, "pressure fourteen"),
      field("time", "Time, if not that of the sound", { placeholder: told(item) }),
    ],
  },
  {
    act: "comment", key: "c", name: "Comment", button: "Comment",
    told: "A comment changes nothing in the record.",
    fits: (item) => item.type === "entry",
    fields: () => [area("text", "Comment")],
  },
];

/** Without the date that stands before it on another day: what is typed is the nearest. @param {string} time */
export const clockOf = (time) => time.slice(-"14:05".length);

/** @param {Item} item */
const told = (item) => (item.type === "entry" ? item.row.time : item.gap.time);

/**
 * What the act is about, as the server asks for it.
 * @param {string} act
 * @param {Item} item
 * @param {FormData} typed
 */
export function asked(act, item, typed) {
  const words = Object.fromEntries([...typed].filter(([, value]) => value !== ""));
  if (act === "add") return { clip: item.type === "entry" ? item.row.clip : item.gap.clip, ...words };
  if (item.type === "entry") return { number: item.row.number, ...words };
  return words;
}

/**
 * The usual reasons for an act. What was withdrawn and is added again was not missed: else a list of what is
 * misheard would count it.
 * @param {string} act
 * @param {Item} item
 * @param {string[]} usual
 */
export function reasonsFor(act, item, usual) {
  const again = act === "add" && item.type === "entry" && item.row.state === "withdrawn";
  return again ? usual.toReversed() : usual;
}

/**
 * Why it is done: the usual reasons are offered, any other can be typed.
 * @param {string[]} reasons
 * @param {string} id
 */
export function why(reasons, id) {
  return h(
    "label", { class: "why-field" }, "Why ",
    h("input", { name: "why", value: reasons[0] ?? "", list: `${id}-reasons`, autocomplete: "off",
      required: true }),
    h("datalist", { id: `${id}-reasons` },
      ...reasons.map((reason) => h("option", { value: reason }))),
  );
}

/**
 * @param {string} name
 * @param {string} label
 * @param {Record<string, any>} [attributes]
 */
function field(name, label, attributes = {}) {
  return h("label", {}, `${label} `, h("input", { name, autocomplete: "off", ...attributes }));
}

/**
 * @param {string} name
 * @param {string} label
 * @param {string | null} [text]
 */
function area(name, label, text = "") {
  return h("label", {}, `${label} `, h("textarea", { name, rows: 3, required: true }, text ?? ""));
}

/**
 * A field that says, while one types, what would be kept. What it said is sent along, so that nothing
 * else is kept; until it says something, nothing stands there, also not of what was typed before.
 * @param {string} name
 * @param {string} label
 * @param {() => Item | null} corrects the entry that it corrects
 * @param {string} placeholder
 */
function checked(name, label, corrects, placeholder) {
  const becomes = h("output", { class: "becomes" });
  const sent = h("input", { type: "hidden", name: "becomes" });
  let waiting = 0;
  let turn = 0;
  const tell = (/** @type {string} */ sentence, /** @type {string} */ written) => {
    becomes.textContent = sentence;
    sent.value = written;
  };
  const check = async (/** @type {string} */ text) => {
    const asked = turn;
    const item = corrects();
    try {
      const found = await post("/check", { text, number: item?.type === "entry" ? item.row.number : null });
      if (asked === turn) {
        tell(`Becomes ${found.written}${found.time ? ` at ${found.time}` : ""}`, found.written);
      }
    } catch (error) {
      if (asked === turn) tell(/** @type {Error} */ (error).message, "");
    }
  };
  const oninput = (/** @type {Event} */ event) => {
    clearTimeout(waiting);
    turn += 1;
    tell("", "");
    const text = /** @type {HTMLInputElement} */ (event.target).value;
    if (text.trim()) waiting = window.setTimeout(() => void check(text), CHECK_AFTER_MS);
  };
  return h("div", {}, field(name, label, { oninput, placeholder, required: true }), becomes, sent);
}

/** Look again at what stands in the fields of a form: they were filled in otherwise than by typing, or it is
 * about something else now. @param {Element} fields */
export function checkAgain(fields) {
  fields.querySelector("input[name=text]")?.dispatchEvent(new Event("input"));
}
