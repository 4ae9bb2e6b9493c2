// Making and finding elements. Text is always put in as text, never as markup.

/** @typedef {Node | string | null | undefined | false} Child */

/**
 * An element with these attributes and children; what is null or false is left out.
 * `on…` attributes are listeners.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Record<string, any>} [attributes]
 * @param {...Child} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children) if (child || child === "") element.append(child);
  return element;
}

/**
 * The element of the page with this id, which is there.
 * @param {string} id
 * @returns {any}
 */
export function byId(id) {
  const element = document.getElementById(id);
  if (!element) throw new Error(`no element ${id}`);
  return element;
}

/**
 * Put these children in the place of those that are there.
 * @param {Element} element
 * @param {...Child} children
 */
export function fill(element, ...children) {
  element.replaceChildren(
    .../** @type {(Node | string)[]} */ (children.filter((child) => child || child === "")),
  );
}

/** Take back the trouble that was told, once it is over. */
export function unsay() {
  byId("trouble").textContent = "";
}

/**
 * Say something to whoever reads the page, by eye or by ear.
 * @param {string} sentence
 * @param {{trouble?: boolean}} [how]
 */
export function say(sentence, { trouble = false } = {}) {
  const told = byId(trouble ? "trouble" : "said");
  byId(trouble ? "said" : "trouble").textContent = "";
  if (told.textContent !== sentence) {
    told.textContent = sentence;
    return;
  }
  // emptied first, so that the same sentence is spoken a second time
  told.textContent = "";
  requestAnimationFrame(() => {
    if (!told.textContent) told.textContent = sentence;
  });
}
