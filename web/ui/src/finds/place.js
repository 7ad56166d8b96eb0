// Where a find was: none, or a place picked on the map.

import { fill, h } from '../dom.js';
import { ground } from '../ground.js';

const marks = 'find-place';

/**
 * @param {number[]|null} at
 * @param {Object|null} datum of at
 * @returns {{el: HTMLElement, value: () => {at: number[]|null, datum: Object|null}, close: () => void}}
 */
export function placeField(at, datum) {
  let now = { at, datum };
  const words = h('p', { class: 'note', 'aria-live': 'polite' });
  const pick = h('button', { type: 'button', class: 'small', onclick: ask }, 'Click it on the map');
  const none = h('button', { type: 'button', class: 'small', onclick: () => { set(null, null); pick.focus(); } }, 'No place');
  async function ask() {
    const xy = await ground.pick('Click where the find was.');
    if (xy) set(xy, ground.datum());
    pick.focus();
  }
  function set(xy, from) {
    now = { at: xy, datum: from };
    none.hidden = !xy;
    fill(words, xy ? 'It is marked on the map.' : ground.datum()
      ? 'None. With the time known, it is put where you stood then, if a visit holds that time.'
      : 'There is no map yet to click it on: add a visit or an outline first.');
    pick.disabled = !ground.datum();
    ground.setMarks(marks, xy ? [{ id: 0, at: xy, kind: 'keep' }] : [], from ?? undefined);
    ground.highlight(marks, xy ? 0 : null);
  }
  set(at, datum);
  return {
    el: h('fieldset', { class: 'field' }, h('legend', { class: 'small-legend' }, 'Place'), words, h('div', { class: 'row' }, pick, none)),
    value: () => now,
    close: () => {
      ground.setMarks(marks, []);
      ground.highlight(marks, null);
    },
  };
}
