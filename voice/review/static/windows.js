// The windows that open over the page: who reviews, help, the summary, signing off, a second person.

import { byId, fill, h, say } from "./dom.js";
import { ending } from "./ending.js";
import { get, newest, post, Refused } from "./server.js";

const AROUND = 2;
const WHO = "who";
const SIDES = { same: "", before: "before", after: "after" };

/** @typedef {{side: keyof typeof SIDES, text: string}} Line */

/** @param {import("./leg.js").Leg} leg */
export function windows(leg) {
  for (const button of document.querySelectorAll("dialog [data-close]")) {
    button.addEventListener("click", () => button.closest("dialog")?.close());
  }
  byId("whole-summary").addEventListener("change", () => showLines());
  byId("open-help").addEventListener("click", () => open.help());
  byId("open-summary").addEventListener("click", () => open.summary());
  byId("open-sign-off").addEventListener("click", () => open.sign_off());
  byId("open-end").addEventListener("click", () => open.end());
  byId("open-who").addEventListener("click", () => void askWho(leg));
  byId("open-seat").addEventListener("click", () => void seat());
  byId("lock").addEventListener("click", () => void lock());
  byId("sign-off-form").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    void signOff(leg, decidedOn);
  });
  byId("leg-comment").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    void comment(leg);
  });
  let decidedOn = "";
  leg.addEventListener("change", () => {
    tellLeg(leg);
    if (byId("summary").open) void showSummary();
  });
  tellLeg(leg);
  const open = {
    help: () => byId("help").showModal(),
    summary: () => {
      fill(byId("summary-lines"), h("p", {}, "It is being worked out; the page can be used meanwhile."));
      byId("summary-lines").hidden = false;
      byId("summary-same").hidden = true;
      byId("summary").showModal();
      void showSummary();
    },
    end: ending(leg, known),
    sign_off: () => {
      if (leg.view.readonly !== null) {
        say(leg.view.readonly);
        return;
      }
      decidedOn = leg.view.head;
      byId("sign-off").showModal();
    },
  };
  return open;
}

/**
 * Ask who reviews, unless that is known.
 * @param {import("./leg.js").Leg} leg
 * @param {{again?: boolean}} [how]
 * @returns {Promise<boolean>} whether it is known now
 */
export async function known(leg, { again = false } = {}) {
  if (leg.view.readonly !== null) {
    say(leg.view.readonly);
    return false;
  }
  if (leg.view.who && !again) return true;
  return askWho(leg);
}

/**
 * Who sits at this window, as was said in it: windows of one browser share a session, and another of them
 * may be somebody else's.
 * @param {import("./leg.js").Leg} leg
 */
export function remember(leg) {
  const here = sessionStorage.getItem(WHO);
  leg.view.who = leg.view.who && here ? JSON.parse(here) : null;
}

/** @param {import("./leg.js").Leg} leg */
function askWho(leg) {
  const dialog = byId("who");
  const form = byId("who-form");
  dialog.showModal();
  return /** @type {Promise<boolean>} */ (
    new Promise((resolve) => {
      form.onsubmit = async (/** @type {Event} */ event) => {
        event.preventDefault();
        const typed = new FormData(form);
        try {
          const { who } = await post("/who", { name: typed.get("name"), role: typed.get("role") });
          leg.view.who = who;
          sessionStorage.setItem(WHO, JSON.stringify(who));
          tellLeg(leg);
          dialog.close();
          say(`You review as ${who.name} (${who.role}).`);
        } catch (error) {
          byId("who-trouble").textContent = /** @type {Error} */ (error).message;
        }
      };
      dialog.onclose = () => resolve(Boolean(leg.view.who));
    })
  );
}

/** @param {import("./leg.js").Leg} leg */
function tellLeg(leg) {
  const { who, readonly, notices, damage, comments, counter, sign_off, sign_offs, end } = leg.view;
  byId("reviewer").textContent = who ? `${who.name} (${who.role})` : "nobody yet";
  byId("signed").textContent = sign_off
    ? `Signed off ${sign_off.time} by ${sign_off.by.name} (${sign_off.by.role}).`
    : sign_offs.length > 0
      ? "Changed since it was signed off: it needs a new signature."
      : "Not signed off.";
  byId("sign-off-counter").textContent = `You have listened to ${counter.listened} of ${counter.of} sounds.`;
  byId("ended").textContent = end.desk
    ? `Over at ${end.time}, as ${end.desk.by.name} (${end.desk.by.role}) tells.`
    : end.time === null ? "Nobody told when it was over." : "";
  byId("open-end").hidden = readonly !== null || (end.time !== null && !end.desk);
  byId("leg-comment").hidden = readonly !== null;
  const person = (/** @type {import("./leg.js").Comment} */ one) =>
    `${one.time} ${one.by.name} (${one.by.role})`;
  fill(
    byId("leg-told"),
    ...damage.map((/** @type {string} */ sentence) => h("li", {}, `Damage: ${sentence}`)),
    ...notices.map((/** @type {{time: string, text: string}} */ one) =>
      h("li", {}, `${one.time} Program: ${one.text}`)),
    ...comments.map((/** @type {import("./leg.js").Comment} */ one) =>
      h("li", {}, `${person(one)}: `, h("q", {}, one.text))),
    ...sign_offs.map((/** @type {any} */ one) => h("li", {}, `${person(one)}: signed off`)),
  );
}

/**
 * @param {import("./leg.js").Leg} leg
 * @param {string} decidedOn where it stood when the window was opened
 */
async function signOff(leg, decidedOn) {
  const may_teach = byId("may-teach").checked;
  byId("sign-off").close();
  if (!(await known(leg))) return;
  await attempt(async () => say((await leg.act("sign_off", { may_teach }, decidedOn)).said), leg);
}

/** @param {import("./leg.js").Leg} leg */
async function comment(leg) {
  if (!(await known(leg))) return;
  const field = byId("leg-comment-text");
  await attempt(async () => {
    const text = field.value;
    const { said } = await leg.act("comment", { number: null, text });
    if (field.value === text) field.value = "";
    say(said);
  }, leg);
}

async function seat() {
  await attempt(async () => {
    const { address } = await post("/seats", {});
    byId("seat-address").value = address;
    byId("seat").showModal();
    byId("seat-address").select();
  });
}

async function lock() {
  await attempt(async () => {
    await post("/lock", {});
    sessionStorage.removeItem(WHO);
    location.reload();
  });
}

/** As they were told last. @type {Line[]} */
let lines = [];
const askSummary = newest(() => get("/data/summary"), (summary) => {
  lines = summary.lines;
  showLines();
});
const showSummary = () => attempt(askSummary);

function showLines() {
  const shown = byId("whole-summary").checked ? lines : changes(lines);
  fill(byId("summary-lines"), ...shown.map(line));
  byId("summary-same").hidden = lines.some((one) => one.side !== "same");
  byId("summary-lines").hidden = shown.length === 0;
}

/** What has changed, with a little before and after it; `null` stands for what is left out. */
function changes(/** @type {Line[]} */ lines) {
  const near = (/** @type {number} */ at) =>
    lines.slice(Math.max(at - AROUND, 0), at + AROUND + 1).some((one) => one.side !== "same");
  /** @type {(Line | null)[]} */
  const shown = [];
  lines.forEach((one, at) => {
    if (near(at)) shown.push(one);
    else if (shown.length > 0 && shown.at(-1) !== null) shown.push(null);
  });
  return shown;
}

/** @param {Line | null} one */
function line(one) {
  if (one === null) return h("p", { class: "left-out" }, "…");
  const side = SIDES[one.side];
  return h("p", { class: `side-${one.side}` },
    side && h("span", { class: "side" }, `${side} `),
    one.side === "before" ? h("del", {}, one.text)
      : one.side === "after" ? h("ins", {}, one.text) : one.text);
}

/**
 * @param {() => Promise<void>} action
 * @param {import("./leg.js").Leg} [leg] takes over what has stood in the way
 */
async function attempt(action, leg) {
  try {
    await action();
  } catch (error) {
    if (leg && error instanceof Refused) leg.take(error.answer);
    say(/** @type {Error} */ (error).message, { trouble: true });
  }
}
