// The reviewer's desk: puts the parts of the page together.

import { Charts } from "./charts.js";
import { byId, say } from "./dom.js";
import { listen } from "./keys.js";
import { entryKey, Leg } from "./leg.js";
import { List } from "./list.js";
import { Panel } from "./panel.js";
import { Player } from "./player.js";
import { get, newest } from "./server.js";
import { showTables } from "./tables.js";
import { known, remember, windows } from "./windows.js";

const ASK_EVERY_MS = 15_000;

async function start() {
  const firstCourse = get("/data/course");
  const leg = await Leg.load();
  remember(leg);
  const player = new Player();
  const list = new List(leg);
  const panel = new Panel(leg, list, player, () => known(leg));
  const charts = new Charts(leg);
  const open = windows(leg);
  listen({ list, panel, player, open });

  const choose = (/** @type {number} */ number) => {
    list.choose(entryKey(number));
    list.bringUp();
  };
  charts.addEventListener("choose", (event) => choose(/** @type {CustomEvent} */ (event).detail));
  const showCourse = (/** @type {import("./course.js").Course} */ shown) => {
    charts.show(shown);
    byId("tables-box").ontoggle = () => {
      if (byId("tables-box").open) showTables(shown, (at_s) => leg.clock(at_s), choose);
    };
    byId("tables-box").ontoggle();
  };
  const course = newest(() => get("/data/course"), showCourse);
  leg.addEventListener("change", (event) => {
    const { rows, ended } = /** @type {CustomEvent} */ (event).detail;
    if (rows.length > 0 || ended) quietly(course);
  });
  /** Those that were told as heard, or are just being told. @type {Set<string>} */
  const heard = new Set();
  player.addEventListener("heard", (event) => {
    const clip = /** @type {CustomEvent} */ (event).detail;
    if (!clip || heard.has(clip) || !leg.view.who || leg.view.readonly !== null) return;
    heard.add(clip);
    quietly(async () => {
      try {
        await leg.act("listened", { clip });
      } catch (error) {
        heard.delete(clip);
        throw error;
      }
    });
  });
  byId("act-form").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    void panel.submit();
  });
  byId("alternatives").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    void panel.takeAlternative();
  });
  byId("next").addEventListener("click", () => list.move(1));
  byId("previous").addEventListener("click", () => list.move(-1));
  setInterval(() => {
    if (!document.hidden) quietly(() => lookForOthers(leg));
  }, ASK_EVERY_MS);

  showCourse(await firstCourse);
  list.choose(list.keys[0] ?? null, { scroll: false });
  list.box.focus({ preventScroll: true });
  document.documentElement.dataset.ready = "yes";
  if (leg.view.readonly === null && !leg.view.who) await known(leg);
}

/** Somebody else may work on the same leg. @param {Leg} leg */
async function lookForOthers(leg) {
  if (await leg.catchUp()) {
    say("Somebody else has changed something: the page shows the leg as it stands now.");
  }
}

/** @param {() => Promise<void>} action */
function quietly(action) {
  action().catch((error) => say(error.message, { trouble: true }));
}

start().catch((error) => say(error.message, { trouble: true }));
