// Elements made by calls. Text always goes in as text, never as HTML.

const SVG = 'http://www.w3.org/2000/svg';

/**
 * Makes an HTML element.
 * @param {string} tag
 * @param {Object|null} [attrs] attributes; also `class`, `on...` functions such as `onclick`,
 *   `dataset` (an object) and `value`, `checked` and other properties of form controls. false, null
 *   and undefined leave an attribute out, true sets it without a value (aria-* get "true" and "false").
 * @param {...*} children nodes, texts, numbers, arrays of these; null, undefined and false are nothing
 * @returns {HTMLElement}
 */
export function h(tag, attrs, ...children) {
  return build(document.createElement(tag), attrs, children);
}

/**
 * Makes an SVG element, with attributes and children as in h.
 * @returns {SVGElement}
 */
export function svg(tag, attrs, ...children) {
  return build(document.createElementNS(SVG, tag), attrs, children);
}

/**
 * Replaces what is in an element.
 * @param {Element} el
 * @param {...*} children as in h
 * @returns {Element} el
 */
export function fill(el, ...children) {
  el.replaceChildren(...nodes(children));
  return el;
}

function build(el, attrs, children) {
  el.append(...nodes(children)); // first, since a select takes its value only from options it has
  for (const [name, value] of Object.entries(attrs ?? {})) {
    set(el, name, value);
  }
  return el;
}

const properties = new Set(['value', 'checked', 'indeterminate', 'selected', 'scrollTop']);

function set(el, name, value) {
  if (name.startsWith('on')) {
    if (value) el.addEventListener(name.slice(2).toLowerCase(), value);
  } else if (name === 'dataset') {
    Object.assign(el.dataset, value);
  } else if (properties.has(name) && name in el && !(el instanceof SVGElement)) {
    if (value !== null && value !== undefined) el[name] = value;
  } else if (name.startsWith('aria-') && typeof value === 'boolean') {
    el.setAttribute(name, String(value));
  } else if (value !== false && value !== null && value !== undefined) {
    el.setAttribute(name, value === true ? '' : String(value));
  }
}

function nodes(children) {
  return children.flat(Infinity)
    .filter((c) => c !== null && c !== undefined && c !== false && c !== true)
    .map((c) => (c instanceof Node ? c : document.createTextNode(String(c))));
}
