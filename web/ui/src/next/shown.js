// Whether a panel is the one that is shown.

/**
 * Calls fn(shown) whenever a panel comes up or goes away.
 * @param {Element} el of the panel, which tabs.js hides
 * @param {(shown: boolean) => void} fn
 */
export function whenShown(el, fn) {
  new MutationObserver(() => fn(!el.hidden)).observe(el, { attributes: true, attributeFilter: ['hidden'] });
}
