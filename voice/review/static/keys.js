// Single keys, for whoever has no hand for the mouse; they can be switched off.

import { byId, fill, h, say } from "./dom.js";
import { ACTS } from "./forms.js";

/** @typedef {{keys: string[], shown: string, told: string, do: () => void}} Key */

const TYPED_INTO = "textarea, select, input:not([type=radio], [type=checkbox], [type=range])";

/**
 * Listen to keys, and list them in the help.
 * @param {{list: import("./list.js").List, panel: import("./panel.js").Panel,
 *   player: import("./player.js").Player, open: Record<string, () => void>}} parts
 */
export function listen({ list, panel, player, open }) {
  /** @type {Key[]} */
  const keys = [
    { keys: ["j"], shown: "j, ↓", told: "Next", do: () => list.move(1) },
    { keys: ["k"], shown: "k, ↑", told: "Previous", do: () => list.move(-1) },
    { keys: ["p"], shown: "p, space", told: "Play, pause", do: () => player.toggle() },
    { keys: ["r"], shown: "r", told: "Play from the beginning", do: () => void player.play() },
    { keys: ["b"], shown: "b", told: "Back one second", do: () => player.step(-1) },
    { keys: ["s"], shown: "s", told: "Slower (three quarters), and back", do: () => player.toggleSlower() },
    { keys: [..."123456789"], shown: "1 to 9", told: "Mark this reading; Enter takes it", do: () => {} },
    ...ACTS.map((act) => ({
      keys: [act.key], shown: act.key, told: `${act.name}; Enter does it`,
      do: () => panel.open(act.act) })),
    { keys: ["f"], shown: "f", told: "The first record of this entry", do: () => {
      const first = byId("first-record");
      if (!first.hidden) first.open = !first.open;
    } },
    { keys: ["o"], shown: "o", told: "Order: by need, by time", do: () => {
      byId(byId("by-need").checked ? "by-time" : "by-need").click();
    } },
    { keys: ["l"], shown: "l", told: "To the list", do: () => list.box.focus() },
    { keys: ["z"], shown: "z", told: "To the time line; ← → step through its values, + − zoom", do: () => {
      byId("time-line").open = true;
      byId("moment").focus();
    } },
    { keys: ["v"], shown: "v", told: "Summary before and after", do: () => open.summary() },
    { keys: ["d"], shown: "d", told: "Tell when the leg was over, where nobody said so on it", do: () => open.end() },
    { keys: ["g"], shown: "g", told: "Sign off", do: () => open.sign_off() },
    { keys: ["?"], shown: "?", told: "This help", do: () => open.help() },
  ];
  const byKey = new Map(keys.flatMap((one) => one.keys.map((key) => [key, one])));
  fill(
    byId("keys"),
    ...keys.map((one) =>
      h("tr", {}, h("th", { scope: "row" }, h("kbd", {}, one.shown)), h("td", {}, one.told))),
    h("tr", {}, h("th", { scope: "row" }, h("kbd", {}, "Esc")), h("td", {}, "Leave a form or a window")),
  );

  byId("list").addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    /** @type {Record<string, () => void>} */
    const moves = {
      ArrowDown: () => list.move(1), ArrowUp: () => list.move(-1),
      PageDown: () => list.move(10), PageUp: () => list.move(-10),
      Home: () => list.move(-list.keys.length), End: () => list.move(list.keys.length),
      " ": () => player.toggle(), Enter: () => player.toggle(),
    };
    take(event, moves[event.key]);
  });
  byId("time-line").addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    const press = { "+": "zoom-in", "=": "zoom-in", "-": "zoom-out", "0": "whole" }[event.key];
    if (press && !plain(event)) take(event, () => byId(press).click());
    else if (event.key === "Enter" && event.target === byId("moment")) take(event, () => byId("to-entry").click());
  });
  // a field may go while it is typed into, as somebody else changes the entry: its text is no command
  /** @type {Element | null} */
  let typedInto = null;
  document.addEventListener("focusin", (event) => {
    const target = /** @type {Element} */ (event.target);
    typedInto = target.matches(TYPED_INTO) ? target : null;
  });
  document.addEventListener("pointerdown", () => { typedInto = null; });
  document.addEventListener("keydown", (event) => {
    if (["Escape", "Tab"].includes(event.key)) typedInto = null;
    const target = /** @type {Element} */ (event.target);
    if (event.defaultPrevented || document.querySelector("dialog[open]")) return;
    if (event.key === "Escape" && panel.formOpen) {
      take(event, () => panel.closeForm(true));
      return;
    }
    if (typedInto !== null && target === document.body && !plain(event)) {
      take(event, () => say("The field that you typed into is gone. Press Esc, then go on."));
      return;
    }
    if (plain(event) || target.matches(TYPED_INTO) || !byId("single-keys").checked) return;
    if (event.key === " " && target === document.body) take(event, () => player.toggle());
    else if (/^[1-9]$/.test(event.key)) take(event, () => panel.mark(Number(event.key)));
    else take(event, byKey.get(event.key)?.do);
  });
}

/** Whether it is the browser's own: a key held with another. @param {KeyboardEvent} event */
const plain = (event) => event.ctrlKey || event.metaKey || event.altKey;

/**
 * @param {KeyboardEvent} event
 * @param {(() => void) | undefined} action
 */
function take(event, action) {
  if (!action) return;
  event.preventDefault();
  action();
}
