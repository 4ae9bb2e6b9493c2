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
 * @param {string} address
 * @param {RequestInit} how
 */
async function ask(address, how) {
  let response;
  try {
    response = await fetch(address, { credentials: "same-origin", ...how });
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
