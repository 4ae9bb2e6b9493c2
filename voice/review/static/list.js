// The list of all that was said: entries, and speech that became nothing.

import { byId, fill, h } from "./dom.js";
import { about, entryKey, gapKey, inWords } from "./leg.js";

/** @typedef {import("./leg.js").Item} Item */
/** @typedef {import("./leg.js").Row} Row */

/** @type {Record<string, (item: Item) => boolean>} */
const SHOWN = {
  counting: (item) => item.type === "gap" || item.row.replaced_by === null,
  unheard: (item) => Boolean(about(item).clip) && !about(item).sound_gone && !about(item).listened,
  unconfirmed: (item) => item.type === "entry" && item.row.state === "unconfirmed" && !isOpenNote(item.row),
  gaps: (item) => item.type === "gap",
  notes: (item) => item.type === "entry" && item.row.note,
  all: () => true,
};
const OUTCOME = {
  not_understood: "not understood",
  not_for_us: "taken for other talk",
  ask: "asked about, never answered",
  accept: "understood, never kept",
};

/**
 * As many are drawn at once as fill a screen; the rest follow page by page, while nothing else is
 * done. What is out of sight is laid out by pages as well.
 */
const PAGE = 50;

/** A list of which one is chosen; listeners to `choose` get its key. */
export class List extends EventTarget {
  /** @param {import("./leg.js").Leg} leg */
  constructor(leg) {
    super();
    this.leg = leg;
    this.box = byId("list");
    /** @type {string[]} */
    this.keys = [];
    /** Those of them that are not drawn yet, the next first. @type {string[]} */
    this.undrawn = [];
    /** @type {string | null} */
    this.chosen = null;
    for (const name of ["order", "shown"]) {
      for (const input of document.getElementsByName(name)) {
        input.addEventListener("change", () => this.arrange());
      }
    }
    this.box.addEventListener("click", (/** @type {MouseEvent} */ event) => {
      const option = /** @type {Element} */ (event.target).closest("[role=option]");
      if (option) this.choose(option.id);
    });
    leg.addEventListener("change", (event) => {
      this.update(/** @type {CustomEvent} */ (event).detail);
    });
    this.arrange();
  }

  /** Put the list in order anew; that happens only when it is asked for, not after each act. */
  arrange() {
    const shown = SHOWN[byId("shown").value];
    const items = this.leg.items().filter(shown);
    if (byId("by-need").checked) items.sort((a, b) => about(b).need - about(a).need);
    this.keys = items.map((item) => item.key);
    this.undrawn = [...this.keys];
    fill(this.box);
    this.drawPage();
    this.drawTo(this.chosen);
    this.drawRest();
    this.tell();
    this.mark();
  }

  /** Draw the next page. */
  drawPage() {
    const keys = this.undrawn.splice(0, PAGE);
    const items = /** @type {Item[]} */ (keys.map((key) => this.leg.item(key)));
    this.box.append(h("div", { role: "none", class: "page" }, ...items.map((item) => this.option(item))));
  }

  /** Draw what is left, and let others come between its pages. */
  drawRest() {
    if (this.undrawn.length === 0) return;
    setTimeout(() => {
      this.drawPage();
      this.drawRest();
    });
  }

  /** Draw as far as this one, where somebody is faster. @param {string | null} key */
  drawTo(key) {
    while (key !== null && this.undrawn.includes(key)) this.drawPage();
  }

  /**
   * What has changed takes the place of what it was, so that the next is still the next.
   * @param {{rows: Row[], gaps: import("./leg.js").Gap[], added: Row[],
   *   found: import("./leg.js").Gap[], gone: number[]}} changed
   */
  update({ rows, gaps, added, found, gone }) {
    for (const id of gone) this.remove(gapKey(id));
    for (const gap of found) this.place(gapKey(gap.id), null);
    for (const row of added) {
      if (this.keys.includes(entryKey(row.number))) continue;
      this.place(entryKey(row.number), row.replaces === null ? null : entryKey(row.replaces));
    }
    for (const row of rows) this.draw(entryKey(row.number));
    for (const gap of gaps) this.draw(gapKey(gap.id));
    this.tell();
    this.mark();
  }

  /**
   * A new entry stands where the one stood that it corrects, else below what is chosen.
   * @param {string} key
   * @param {string | null} replaced
   */
  place(key, replaced) {
    const item = /** @type {Item} */ (this.leg.item(key));
    const option = this.option(item);
    this.drawTo(replaced);
    const at = replaced === null ? -1 : this.keys.indexOf(replaced);
    if (replaced !== null && at >= 0 && byId("shown").value !== "all") {
      byId(replaced).replaceWith(option);
      this.keys[at] = key;
      if (this.chosen === replaced) this.chosen = key;
    } else {
      const after = this.chosen === null ? -1 : this.keys.indexOf(this.chosen);
      this.keys.splice(after + 1, 0, key);
      if (after >= 0) byId(/** @type {string} */ (this.chosen)).after(option);
      else this.box.prepend(option);
    }
  }

  /** @param {string} key */
  remove(key) {
    this.drawTo(key);
    this.keys = this.keys.filter((one) => one !== key);
    document.getElementById(key)?.remove();
  }

  /** @param {string} key */
  draw(key) {
    const item = this.leg.item(key);
    const drawn = document.getElementById(key);
    if (item && drawn && this.keys.includes(key)) drawn.replaceWith(this.option(item));
  }

  /** @param {Item} item */
  option(item) {
    const told = about(item);
    const what = item.type === "entry" ? item.row.written : "Speech without an entry";
    const state = item.type === "entry" ? stateWord(item.row) : outcome(item.gap);
    const kind = item.type === "gap" ? "gap" : isOpenNote(item.row) ? "note" : item.row.state;
    return h(
      "div",
      { id: item.key, role: "option", class: `is-${kind}`,
        "aria-selected": String(item.key === this.chosen) },
      h("span", { class: "time" }, told.time),
      " ",
      h("span", { class: "what" }, what),
      " ",
      h("span", { class: "state" }, state),
      h("span", { class: "detail" },
        inWords(item), " · ", bySound(item)),
      told.why_look.length > 0 && h("span", { class: "why" }, `Look: ${told.why_look.join("; ")}`),
    );
  }

  tell() {
    const { listened, of } = this.leg.view.counter;
    byId("counter").textContent = `${listened} of ${of} listened to`;
    const shown = this.keys.length;
    byId("list-count").textContent = shown === 1 ? "1 shown" : `${shown} shown`;
    byId("list-empty").hidden = shown > 0;
  }

  /**
   * @param {string | null} key
   * @param {{scroll?: boolean}} [how]
   */
  choose(key, { scroll = true } = {}) {
    if (key !== null && !this.keys.includes(key)) {
      byId("shown").value = "all";
      this.arrange();
    }
    this.chosen = key;
    this.drawTo(key);
    this.mark();
    if (key !== null && scroll) byId(key).scrollIntoView({ block: "nearest" });
    fill(byId("said"));
    this.dispatchEvent(new CustomEvent("choose", { detail: key }));
  }

  /** List and panel fill the window, where they lie below it. */
  bringUp() {
    const work = /** @type {Element} */ (this.box.closest(".work"));
    if (work.getBoundingClientRect().top > innerHeight / 3) work.scrollIntoView();
  }

  mark() {
    for (const option of this.box.querySelectorAll("[aria-selected=true]")) {
      option.setAttribute("aria-selected", "false");
    }
    const option = this.chosen === null ? null : document.getElementById(this.chosen);
    if (option) {
      option.setAttribute("aria-selected", "true");
      this.box.setAttribute("aria-activedescendant", option.id);
    } else {
      this.box.removeAttribute("aria-activedescendant");
    }
  }

  /**
   * The one so many places below (or, below zero, above) what is chosen.
   * @param {number} by
   */
  move(by) {
    const at = this.chosen === null ? -1 : this.keys.indexOf(this.chosen);
    const to = at < 0 ? 0 : Math.min(Math.max(at + by, 0), this.keys.length - 1);
    if (this.keys.length > 0) this.choose(this.keys[to]);
    this.bringUp();
  }
}

/** What became of its sound. @param {Item} item */
export function bySound(item) {
  const { clip, listened, sound_gone } = about(item);
  if (clip === null) return "no sound";
  const heard = listened ? "listened to" : "not listened to";
  return sound_gone ? `${heard}, its sound had to go` : heard;
}

/** A note that counts: nothing is read back of it, so nobody can confirm it. @param {Row} row */
const isOpenNote = (row) => row.note && row.state === "unconfirmed";

/** @param {Row} row */
export function stateWord(row) {
  if (isOpenNote(row)) return row.written_down === null ? "kept as sound" : "written down";
  const by_desk = row.desk?.act === "added" ? "added at the desk" : null;
  return by_desk && row.state === "reviewed" ? by_desk : [row.state, by_desk].filter(Boolean).join(", ");
}

/** @param {import("./leg.js").Gap} gap */
export const outcome = (gap) =>
  gap.became.length > 0
    ? `became entry ${gap.became.join(", ")}`
    : OUTCOME[/** @type {keyof typeof OUTCOME} */ (gap.outcome)];
