// The panel of the ground: the visits replayed, and the site as it is drawn.

import { h } from '../dom.js';
import { ground } from '../ground.js';
import { Backdrop } from '../ground/backdrop.js';
import { keepouts, laidOut, landmarks, slow } from '../ground/kinds.js';
import { Outline } from '../ground/outline.js';
import { replay } from '../ground/replay.js';
import { ShapeList } from '../ground/shapelist.js';
import { nothing, onHeld } from '../ground/store.js';

function section(title, el, open = false) {
  const count = h('span', { class: 'section-count' });
  const details = h('details', { class: 'section' }, h('summary', null, h('h3', null, title), count), el);
  details.open = open;
  return { details, tell: (n) => { count.textContent = n > 0 ? String(n) : ''; } };
}

function mount(el) {
  const outline = new Outline(ground);
  const backdrop = new Backdrop(ground);
  const lists = [['Keep-outs', keepouts], ['Landmarks and marks', landmarks], ['Slow ground', slow], ['Laid-out ground', laidOut]]
    .map(([title, of]) => {
      const list = new ShapeList(ground, of);
      return { list, section: section(title, list.el), member: of.member };
    });
  el.append(
    h('h2', null, 'Ground'),
    section('Replay the visits', replay(ground), true).details,
    section('Outline', outline.el, true).details,
    ...lists.map((l) => l.section.details),
    section('Picture behind', backdrop.el).details);
  onHeld(({ ground, backdrop: doc }) => {
    const g = ground ?? nothing;
    outline.show(g);
    for (const l of lists) {
      l.list.show(g);
      l.section.tell(g[l.member].length);
    }
    backdrop.show(doc);
  });
}

export const panel = { id: 'ground', title: 'Ground', mount };
