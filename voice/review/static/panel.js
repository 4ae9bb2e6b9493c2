// The one entry, or stretch of speech, that is being looked at.

import { byId, fill, h, say, unsay } from "./dom.js";
import { ACTS, asked, checkAgain, reasonsFor, why } from "./forms.js";
import { bySound, outcome, stateWord } from "./list.js";
import { about, anyWords, entryKey, inWords, quoted } from "./leg.js";
import { get, newest, Refused } from "./server.js";

/** @typedef {import("./leg.js").Item} Item */
/** @typedef {{index: number, text: string, written: string | null, now: boolean,
 *   behind: number | null, why_not: string | null}} Alternative */

const DESK = {
  approved: "Found right",
  corrected: "Corrected",
  added: "Added",
  withdrawn: "Withdrawn",
};

/**
 * The readings that are offered: none where other talk was likelier than all of them.
 * @param {Item} item
 * @param {Alternative[]} alternatives likeliest first
 */
function likely(item, alternatives) {
  if (item.type === "gap" && alternatives.length > 0 && !anyWords(alternatives[0].text)) return [];
  return alternatives.filter((one) => one.now || anyWords(one.text));
}

/** A free note is no phrase. @param {Item | null} item */
const hasReadings = (item) => item !== null && !(item.type === "entry" && item.row.note);

export class Panel {
  /**
   * @param {import("./leg.js").Leg} leg
   * @param {import("./list.js").List} list
   * @param {import("./player.js").Player} player
   * @param {() => Promise<boolean>} known asks who it is where that is not known yet
   */
  constructor(leg, list, player, known) {
    this.leg = leg;
    this.list = list;
    this.player = player;
    this.known = known;
    /** @type {string | null} */
    this.key = null;
    /** @type {Alternative[]} */
    this.alternatives = [];
    /** Whose readings they are; those of another are never shown. @type {string | null} */
    this.alternativesOf = null;
    /**
     * Where the leg stood when somebody began to decide: what others change after that is in the
     * way of the act, though the page has taken it over since.
     * @type {string | null}
     */
    this.decidedOn = null;
    /** How often something else was chosen, opened or marked. */
    this.turn = 0;
    /** Whose first record is shown. @type {string | null} */
    this.historyOf = null;
    /** Of which readings, and of which acts, there are buttons. */
    this.drawn = { readings: "", acts: "" };
    /** What was typed and not sent, by what it was typed for. @type {Map<string, FormData>} */
    this.drafts = new Map();
    list.addEventListener("choose", (event) => {
      void this.show(/** @type {CustomEvent} */ (event).detail);
    });
    leg.addEventListener("change", () => this.follow());
    byId("first-record").addEventListener("toggle", () => void this.showHistory());
    this.askHistory = newest(
      async () => {
        const { key } = this;
        return { key, ...(await get(`/data/entries/${/** @type {any} */ (this.item).row.number}/history`)) };
      },
      ({ key, history }) => {
        if (key === this.key) this.drawHistory(history);
      },
    );
  }

  get item() {
    return this.leg.item(this.key);
  }

  /** @param {string | null} key */
  async show(key) {
    if (this.formOpen) this.drafts.set(this.draft, new FormData(byId("act-form")));
    this.key = key;
    this.turn += 1;
    this.decidedOn = null;
    this.closeForm();
    this.tell();
    byId("first-record").open = false;
    const item = this.item;
    void this.player.load(item && !about(item).sound_gone ? about(item).clip : null);
    if (!item) return;
    if (byId("play-each").checked) void this.player.play();
    await this.showAlternatives();
  }

  /** Something in the leg has changed: what is typed stays, the rest is told anew. */
  follow() {
    const item = this.item;
    if (!item) {
      if (this.key === null) return;
      this.list.choose(null);
      say("An entry has come of this speech meanwhile.");
      return;
    }
    const stands = item.type === "entry" ? this.leg.standing(item.row.number) : null;
    const before = this.key;
    if (stands) this.key = entryKey(stands.number);
    this.tell();
    if (this.key !== before) {
      this.list.chosen = this.key;
      this.list.mark();
      byId("first-record").open = false;
      checkAgain(byId("act-fields"));
    }
    void this.showAlternatives();
    void this.showHistory();
  }

  tell() {
    const item = this.item;
    byId("panel-body").hidden = !item;
    byId("panel-empty").hidden = Boolean(item);
    if (!item) return;
    const told = about(item);
    byId("panel-title").textContent =
      item.type === "entry" ? `Entry ${item.row.number}: ${item.row.written}` : "Speech without an entry";
    const state = item.type === "entry" ? stateWord(item.row) : outcome(item.gap);
    const when = item.type === "entry" && item.row.spoken_at !== item.row.happened_at
      ? `${told.time}, said ${this.leg.time(item.row.spoken_at)}`
      : told.time;
    fill(
      byId("panel-facts"),
      h("span", {}, when), h("span", { class: "state" }, state),
      h("span", {}, bySound(item)),
    );
    fill(byId("panel-why"), ...told.why_look.map((reason) => h("li", {}, reason)));
    byId("panel-look").hidden = told.why_look.length === 0;
    byId("heard").textContent = inWords(item);
    this.tellDesk(item);
    this.tellActs(item);
  }

  /** @param {Item} item */
  tellDesk(item) {
    const row = item.type === "entry" ? item.row : null;
    const lines = [];
    if (row?.desk) lines.push(h("p", {}, this.deskWords(row.desk)));
    if (row?.written_down) lines.push(h("p", {}, `Written down: “${row.written_down}”`));
    for (const comment of row?.comments ?? []) lines.push(this.commentLine(comment));
    fill(byId("panel-desk"), ...lines);
    byId("first-record").hidden = row === null || row.replaces === null;
  }

  /** @param {{act: string, at: string, by: {name: string, role: string}, why: string}} desk */
  deskWords({ act, at, by, why: reason }) {
    const what = DESK[/** @type {keyof typeof DESK} */ (act)] ?? act;
    const time = this.leg.time(at);
    return `${what} at the desk by ${by.name} (${by.role}), ${time}: ${reason || "no reason given"}`;
  }

  /** @param {import("./leg.js").Comment} comment */
  commentLine({ time, by, text }) {
    return h("p", { class: "comment" }, `${by.name} (${by.role}), ${time}: `, h("q", {}, text));
  }

  /** @param {Item} item */
  tellActs(item) {
    const fit = this.leg.view.readonly === null ? ACTS.filter((act) => act.fits(item)) : [];
    const open = byId("act-form").dataset.act ?? null;
    const drawn = fit.map((act) => act.act).join();
    if (drawn !== this.drawn.acts) {
      this.drawn.acts = drawn;
      fill(
        byId("acts"),
        ...fit.map((act) =>
          h("button",
            { type: "button", "data-act": act.act, "aria-controls": "act-place",
              onclick: () => this.open(act.act) },
            act.name, " ", h("kbd", {}, act.key))),
      );
    }
    for (const button of byId("acts").children) {
      button.setAttribute("aria-expanded", String(button.dataset.act === open));
    }
  }

  async showAlternatives() {
    const item = this.item;
    if (this.alternativesOf !== this.key) this.clearAlternatives();
    if (!item || !hasReadings(item)) return;
    const address = item.type === "entry"
      ? `/data/entries/${item.row.number}/alternatives`
      : `/data/gaps/${item.gap.id}/alternatives`;
    try {
      const found = await get(address);
      if (this.key !== item.key) return;
      this.alternatives = likely(item, found.alternatives);
      this.alternativesOf = item.key;
      byId("second").textContent = found.second ?? "";
      this.drawAlternatives(item);
    } catch (error) {
      if (this.key === item.key) this.refused(error);
    }
  }

  /** Until the readings of this one are there: a mark on those of the one before would be taken for one of these. */
  clearAlternatives() {
    this.alternatives = [];
    this.alternativesOf = null;
    this.drawn.readings = "";
    fill(byId("alternatives-list"));
    fill(byId("alternatives-do"));
    byId("alternatives").hidden = true;
    byId("no-alternatives").hidden = true;
    byId("second").textContent = "";
  }

  /** @param {Item} item */
  drawAlternatives(item) {
    // nobody loses a mark, or the words in a field, to what has not changed
    const drawn = JSON.stringify([item.key, this.alternatives]);
    if (drawn === this.drawn.readings) return;
    this.drawn.readings = drawn;
    const act = item.type === "entry" ? "alternative" : "add";
    const may = this.leg.view.readonly === null
      && this.alternatives.some((one) => one.written !== null && !one.now);
    fill(
      byId("alternatives-list"),
      ...this.alternatives.map((one, at) => {
        const can = one.written !== null && !one.now && this.leg.view.readonly === null;
        const notes = [one.behind === null && "the second listener alone",
          one.now ? "stands now" : one.why_not].filter(Boolean);
        return h("li", {},
          h("label", {},
            h("input", { type: "radio", name: "index", value: one.index, disabled: !can,
              required: true, onchange: () => this.decide() }),
            " ", h("kbd", {}, String(at + 1)), " ",
            h("span", { class: "what" }, one.written ?? quoted(one.text)),
            one.written !== null && h("span", { class: "detail" }, ` ${quoted(one.text)}`),
            notes.length > 0 && h("span", { class: "detail" }, ` (${notes.join("; ")})`)));
      }),
    );
    fill(
      byId("alternatives-do"),
      may && why(this.leg.view.reasons[act], "alternative"),
      may && h("button", { type: "submit" },
        item.type === "entry" ? "Take this reading" : "Add this entry"),
    );
    const others = this.alternatives.some((one) => !one.now);
    byId("alternatives").hidden = !others;
    byId("no-alternatives").hidden = others;
    byId("no-alternatives").textContent = this.alternatives.length > 0 || item.type === "entry"
      ? "Nothing else was near." : "Other talk was likeliest.";
    if (this.formOpen) byId("act-place").scrollIntoView({ block: "nearest" }); // it was pushed down
  }

  /**
   * Mark the n-th reading; Enter takes it.
   * @param {number} nth counted from 1
   */
  mark(nth) {
    const input = /** @type {HTMLInputElement | undefined} */ (
      document.querySelectorAll("#alternatives input[type=radio]")[nth - 1]);
    if (this.alternativesOf === null && hasReadings(this.item)) {
      say("The other readings are not there yet.");
    } else if (!input || byId("alternatives").hidden) {
      say(`There is no reading ${nth}.`);
    } else if (input.disabled) {
      const one = this.alternatives[nth - 1];
      say(one.why_not ?? (one.now ? `${one.written} stands now.` : "This leg is shown read-only."));
    } else {
      input.checked = true;
      input.focus();
      this.decide();
    }
  }

  /** From now on somebody decides, by what the page shows now. */
  decide() {
    this.turn += 1;
    this.decidedOn = this.leg.view.head;
  }

  async takeAlternative() {
    const item = this.item;
    const typed = new FormData(byId("alternatives"));
    const taken = this.alternatives.find((one) => one.index === Number(typed.get("index")));
    if (!item || !taken || this.alternativesOf !== item.key) return;
    const about = { text: taken.text, becomes: taken.written, why: typed.get("why") };
    if (item.type === "entry") await this.do("alternative", { number: item.row.number, ...about });
    else await this.do("add", { clip: item.gap.clip, ...about });
  }

  /**
   * Open the form of an act, where it fits what is looked at.
   * @param {string} name
   */
  open(name) {
    const item = this.item;
    const act = ACTS.find((one) => one.act === name);
    if (!item || !act) return;
    if (this.leg.view.readonly !== null || !act.fits(item)) {
      say(this.leg.view.readonly ?? `“${act.name}” is not for this one.`);
      return;
    }
    if (byId("act-form").dataset.act === name) {
      this.focusForm();
      return;
    }
    this.decide();
    byId("act-form").dataset.act = name;
    byId("act-title").textContent = act.name;
    fill(
      byId("act-fields"),
      h("p", {}, act.told),
      ...act.fields(item, () => this.item),
      name in this.leg.view.reasons && why(reasonsFor(name, item, this.leg.view.reasons[name]), "act"),
      h("div", { class: "row" },
        h("button", { type: "submit" }, act.button),
        h("button", { type: "button", onclick: () => this.closeForm(true) }, "Leave it ",
          h("kbd", {}, "Esc"))),
    );
    byId("act-place").hidden = false;
    for (const [field, text] of this.drafts.get(this.draft) ?? []) {
      byId("act-form").elements[field].value = text;
    }
    checkAgain(byId("act-fields"));
    this.tellActs(item);
    this.focusForm();
  }

  /** The first field that is to be filled in, or else what does it. */
  focusForm() {
    const fields = byId("act-fields");
    byId("act-place").scrollIntoView({ block: "nearest" });
    const first = fields.querySelector("input:not([name=why], [type=hidden]), textarea")
      ?? fields.querySelector("[type=submit]");
    first.focus();
    first.select?.();
  }

  /** @param {boolean} [back] whether the list is gone on with */
  closeForm(back = false) {
    if (back) {
      this.drafts.delete(this.draft);
      unsay(); // a refusal was of what was typed
    }
    delete byId("act-form").dataset.act;
    byId("act-place").hidden = true;
    fill(byId("act-fields"));
    if (this.item) this.tellActs(this.item);
    if (back) this.list.box.focus();
  }

  /** Under which name what is typed now is kept. */
  get draft() {
    return `${this.key} ${byId("act-form").dataset.act}`;
  }

  get formOpen() {
    return !byId("act-place").hidden;
  }

  async submit() {
    const name = byId("act-form").dataset.act;
    const item = this.item;
    if (!name || !item) return;
    await this.do(name, asked(name, item, new FormData(byId("act-form"))));
  }

  /**
   * Do it, say what came of it, and go back to the list; where it is refused all stays as typed.
   * @param {string} act
   * @param {object} body
   */
  async do(act, body) {
    const { draft, turn, typed } = this;
    const head = this.decidedOn ?? this.leg.view.head;
    // who has gone on meanwhile may decide something else already, or have typed on
    const stayed = () => turn === this.turn && typed === this.typed;
    if (!(await this.known())) return;
    try {
      const answer = await this.leg.act(act, body, head);
      this.drafts.delete(draft);
      if (stayed()) {
        this.decidedOn = null;
        this.closeForm(true);
      }
      say(answer.said);
    } catch (error) {
      this.refused(error, stayed());
    }
  }

  /** What stands in the form of an act now. */
  get typed() {
    const words = [...new FormData(byId("act-form"))].filter(([name]) => name !== "becomes");
    return JSON.stringify(words);
  }

  /**
   * @param {unknown} error
   * @param {boolean} [stayed] whether it is about what is being decided now
   */
  refused(error, stayed = false) {
    if (!(error instanceof Refused)) throw error;
    if (error.status === 409) {
      this.leg.take(error.answer);
      if (stayed) this.decide(); // the sentence tells what has changed
    }
    say(error.message, { trouble: true });
  }

  async showHistory() {
    const item = this.item;
    if (!byId("first-record").open || item?.type !== "entry") return;
    if (this.historyOf !== item.key) fill(byId("history"));
    try {
      await this.askHistory();
    } catch (error) {
      if (this.key === item.key) this.refused(error);
    }
  }

  /** @param {import("./leg.js").Row[]} history */
  drawHistory(history) {
    this.historyOf = this.key;
    fill(
      byId("history"),
      ...history.map((row) =>
        h("li", {},
          `Entry ${row.number}: ${row.written}, ${row.time}, ${row.state}`,
          row.heard && `, heard ${quoted(row.heard)}`, ". ",
          row.desk && h("span", { class: "detail" }, this.deskWords(row.desk)))),
    );
  }
}
