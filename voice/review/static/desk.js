// The reviewer's desk: puts the parts of the page together.

import { Charts } from "./charts.js";
import { byId, say } from "./dom.js";
import { listen } from "./keys.js";
import { entryKey, Leg } from "./leg.js";
import { List } from "./list.js";
import { Panel } from "./panel.js";
import { Player } from "./player.js";
import { get } from "./server.js";
import { showTables } from "./tables.js";
import { known, windows } from "./windows.js";

const ASK_EVERY_MS = 15_000;

async function start() {
  const course = get("/data/course");
  const leg = await Leg.load();
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
  leg.addEventListener("change", (event) => {
    if (/** @type {CustomEvent} */ (event).detail.rows.length === 0) return;
    quietly(async () => showCourse(await get("/data/course")));
  });
  player.addEventListener("heard", (event) => {
    const clip = /** @type {CustomEvent} */ (event).detail;
    if (clip && leg.view.who && leg.view.readonly === null) {
      quietly(async () => void (await leg.act("listened", { clip })));
    }
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

  showCourse(await course);
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
