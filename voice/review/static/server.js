// Asking the program on this machine; nothing else is ever asked.

/** What went wrong, in a sentence to be shown; `status` is that of the answer, 0 for none. */
export class Refused extends Error {
  /**
   * @param {number} status
   * @param {string} sentence
   * @param {any} [answer]
   */
  constructor(status, sentence, answer = {}) {
    super(sentence);
    this.status = status;
    this.answer = answer;
  }
}

/** Which leg the page shows: a desk at another one that has taken the port does not answer it. @type {string | null} */
let shown = null;

/** @param {string} leg its id */
export function isOf(leg) {
  shown = leg;
}

/** @param {string} clip */
export const soundOf = (clip) => `/clips/${clip}?leg=${encodeURIComponent(shown ?? "")}`;

/**
 * @param {string} address
 * @returns {Promise<any>}
 */
export const get = (address) => ask(address, {});

/**
 * @param {string} address
 * @param {object} body
 * @returns {Promise<any>}
 */
export const post = (address, body) =>
  ask(address, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  });

/**
 * Asks again and again for what changes; an answer that comes after a newer one is not shown.
 * @template T
 * @param {() => Promise<T>} ask
 * @param {(answer: T) => void} show
 * @returns {() => Promise<void>}
 */
export function newest(ask, show) {
  let asked = 0;
  let shown_of = 0;
  return async () => {
    asked += 1;
    const turn = asked;
    const answer = await ask();
    if (turn < shown_of) return;
    shown_of = turn;
    show(answer);
  };
}

/**
 * @param {string} address
 * @param {RequestInit} how
 */
async function ask(address, how) {
  let response;
  try {
    const headers = new Headers(how.headers);
    if (shown !== null) headers.set("Legbook-Leg", shown);
    response = await fetch(address, { credentials: "same-origin", ...how, headers });
  } catch {
    throw new Refused(
      0,
      "legbook does not answer. Look whether “legbook review” still runs in its terminal; " +
        "what you have typed stays on this page.",
    );
  }
  const answer = await response.json().catch(() => ({}));
  if (!response.ok) {
    const nearest = answer.nearest?.length ? ` Nearest: ${answer.nearest.join("; ")}.` : "";
    throw new Refused(
      response.status,
      (answer.error ?? `legbook answered ${response.status}.`) + nearest,
      answer,
    );
  }
  return answer;
}
