// What can be done to an entry or to a stretch of speech, each with its form.

import { h } from "./dom.js";
import { post } from "./server.js";

/** @typedef {import("./leg.js").Item} Item */
/**
 * @typedef {{act: string, key: string, name: string, button: string, told: string,
 *   fits: (item: Item) => boolean, fields: (item: Item) => HTMLElement[]}} Act
 *   `key` opens the form, `name` stands on its button, `button` on the one that does it.
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
    fields: (item) => [checked("text", "What was said", item, "14, 120/80, pressure fourteen")],
  },
  {
    act: "time", key: "t", name: "Change the time", button: "Change the time",
    told: "When it happened, by the leg’s clock.",
    fits: counts,
    fields: (item) => [
      field("time", "Time", { value: item.type === "entry" ? item.row.time : "", placeholder: "14:05" }),
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
      checked("text", "What was said", null, "pressure fourteen"),
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
 * A field that says, while one types, what would be kept.
 * @param {string} name
 * @param {string} label
 * @param {Item | null} item the entry that it corrects
 * @param {string} placeholder
 */
function checked(name, label, item, placeholder) {
  const becomes = h("output", { class: "becomes" });
  const number = item?.type === "entry" ? item.row.number : null;
  let waiting = 0;
  const check = async (/** @type {HTMLInputElement} */ input) => {
    const text = input.value;
    let sentence = "";
    if (text.trim()) {
      try {
        const found = await post("/check", { text, number });
        sentence = `Becomes ${found.written}${found.time ? ` at ${found.time}` : ""}`;
      } catch (error) {
        sentence = /** @type {Error} */ (error).message;
      }
    }
    if (input.value === text) becomes.textContent = sentence;
  };
  const oninput = (/** @type {Event} */ event) => {
    clearTimeout(waiting);
    const input = /** @type {HTMLInputElement} */ (event.target);
    waiting = window.setTimeout(() => void check(input), CHECK_AFTER_MS);
  };
  return h("div", {}, field(name, label, { oninput, placeholder, required: true }), becomes);
}
