// What every part of the script needs of the document.

export const html = document.documentElement;
/** Where the site stands. */
export const root = new URL(html.dataset.base || "./", location.href);

/**
 * Everything that a selector finds.
 * @template {Element} [E=HTMLElement]
 * @param {string} selector
 * @param {ParentNode} [within]
 * @returns {E[]}
 */
export function all(selector, within = document) {
  /** @type {NodeListOf<E>} */
  const found = within.querySelectorAll(selector);
  return [...found];
}

/**
 * The first that a selector finds, where the builder always writes one.
 * @template {Element} [E=HTMLElement]
 * @param {string} selector
 * @param {ParentNode} [within]
 * @returns {E}
 */
export function the(selector, within = document) {
  /** @type {E | null} */
  const found = within.querySelector(selector);
  if (!found) throw new Error(`nothing is ${selector}`);
  return found;
}

/**
 * A new element.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Partial<HTMLElementTagNameMap[T]>} [properties]
 * @param {(Node | string)[]} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function make(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}
