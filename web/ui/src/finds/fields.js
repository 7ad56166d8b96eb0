// Fields of a form, each with the place of its fault.

import { fill, h } from '../dom.js';
import { hintsOf, sentence } from '../say.js';

let made = 0;

/**
 * A labelled input, select or textarea.
 * @param {string} label
 * @param {Object} [attrs] of the control; `tag` for another than input, `options` [[value, words]] for a select
 * @param {string} [more] a note under the label
 * @returns {{el: HTMLElement, input: HTMLElement, text: () => string, fault: (err: Error|null) => void}}
 */
export function field(label, { tag = 'input', options, ...attrs } = {}, more = '') {
  const id = `find-field-${++made}`;
  const fault = h('div', { class: 'fault', id: `${id}-fault`, role: 'alert' });
  const input = h(options ? 'select' : tag, {
    id, autocomplete: 'off', 'aria-describedby': `${more ? `${id}-more ` : ''}${id}-fault`, ...attrs,
  }, options?.map(([value, words]) => h('option', { value }, words)));
  return {
    input,
    el: h('div', { class: 'field' }, h('label', { for: id }, label), more && h('p', { class: 'note', id: `${id}-more` }, more), input, fault),
    text: () => input.value.trim(),
    fault: (err) => {
      fill(fault, err && [h('p', null, sentence(err.message)), hintsOf(err)]);
      if (err) input.setAttribute('aria-invalid', 'true');
      else input.removeAttribute('aria-invalid');
    },
  };
}
