// A list of corners beside the map, for those who move them by keys.

import { fill, h } from '../dom.js';
import { length } from '../format.js';
import { placeWords } from './spot.js';

const STEP_M = 0.5;
const FAR_M = 5;
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/**
 * Edits places on the map and in a list at once.
 * @returns {{el: HTMLElement, finished: Promise<number[][]|null>}}
 */
export function cornerEditor(ground, points, kind) {
  const list = h('ol', { class: 'corners' });
  const head = h('p', { class: 'note' }, `Arrow keys move a corner by ${length(STEP_M)}, with Shift by ${length(FAR_M)}. Delete takes it away.`);
  let session = null;
  const rows = [];
  const show = (places, chosen) => {
    while (rows.length > places.length) rows.pop().remove();
    while (rows.length < places.length) rows.push(row(rows.length));
    places.forEach((p, i) => {
      rows[i].firstChild.textContent = placeWords(p);
      rows[i].firstChild.setAttribute('aria-current', String(i === chosen));
    });
    if (list.children.length !== rows.length) fill(list, rows);
  };
  const row = (i) => h('li', null, h('button', {
    type: 'button', class: 'corner', onfocus: () => session?.choose(i), onkeydown: (e) => keyed(e, i),
  }));
  const keyed = (e, i) => {
    const way = WAYS[e.key];
    if (!way && e.key !== 'Delete') return;
    e.preventDefault();
    if (e.key === 'Delete') session.remove(i);
    else session.move(i, nudged(session.points()[i], way, e.shiftKey ? FAR_M : STEP_M));
    rows[Math.min(i, rows.length - 1)]?.firstChild.focus();
  };
  session = ground.edit(points, kind, show);
  const buttons = h('div', { class: 'row' },
    h('button', { type: 'button', class: 'strong', onclick: () => session.done() }, 'Save'),
    h('button', { type: 'button', onclick: () => session.cancel() }, 'Leave as it was'));
  return { el: h('div', { class: 'corner-editor' }, head, list, buttons), finished: session.finished };
}

function nudged([x, y], [right, up], m) {
  return [x + right * m, y + up * m];
}
