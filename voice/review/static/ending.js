// The window that tells when a leg was over of which nobody said so.

import { byId, fill, h, say } from "./dom.js";
import { clockOf, why } from "./forms.js";
import { Refused } from "./server.js";

/**
 * @param {import("./leg.js").Leg} leg
 * @param {(leg: import("./leg.js").Leg) => Promise<boolean>} known asks who it is where that is not known yet
 * @returns {() => void} opens the window
 */
export function ending(leg, known) {
  const dialog = byId("end");
  const form = byId("end-form");
  /** Where the leg stood when it was decided on. */
  let decidedOn = "";

  form.addEventListener("submit", async (/** @type {Event} */ event) => {
    event.preventDefault();
    const typed = new FormData(form);
    if (!(await known(leg))) return;
    try {
      const about = { time: typed.get("time"), why: typed.get("why") };
      const { said } = await leg.act("end", about, decidedOn);
      dialog.close();
      say(said);
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      leg.take(error.answer);
      decidedOn = leg.view.head; // the sentence tells what has changed
      byId("end-trouble").textContent = error.message;
    }
  });
  leg.addEventListener("change", () => tell(leg));
  return () => {
    const { end, readonly, reasons } = leg.view;
    if (readonly !== null || (end.time !== null && !end.desk)) {
      say(readonly ?? "“End leg” was said on the leg: its end stands.");
      return;
    }
    tell(leg);
    decidedOn = leg.view.head;
    byId("end-trouble").textContent = "";
    form.elements.time.value = clockOf(end.time ?? end.known);
    fill(byId("end-why"), why(end.desk ? reasons.end.toReversed() : reasons.end, "end"));
    dialog.showModal();
    form.elements.time.select();
  };
}

/** @param {import("./leg.js").Leg} leg */
function tell(leg) {
  const { time, known, desk } = leg.view.end;
  fill(
    byId("end-told"),
    h("p", {}, desk
      ? `It was over at ${time}, as ${desk.by.name} (${desk.by.role}) told ${leg.time(desk.at)}: ${desk.why}. `
        + "Where that is wrong, tell it again: the last counts."
      : "Nobody said on the leg that it was over, so it has no end, and cannot be sealed."),
    h("p", {}, `The last that is known of it is of ${known}.`),
  );
}
