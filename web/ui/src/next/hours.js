// What other hours would bring: worked out only when it is asked for.

import { ask } from '../api.js';
import { fill, h } from '../dom.js';
import { area, duration, number, percent } from '../format.js';
import { hintsOf, sentence } from '../say.js';

/** A part of the page that asks for it when it is folded out. */
export function otherHours({ id, plan }) {
  const body = h('div', { 'aria-live': 'polite' });
  let asked = false;
  return h('details', {
    class: 'section', ontoggle: async (e) => {
      if (!e.target.open || asked) return;
      asked = true;
      fill(body, h('p', { class: 'note' }, 'Working it out'));
      try {
        fill(body, tableOf((await ask(`/plan/${id}/next.json`)).budgets, plan.expected.expected_percent_after === null ? 'Then swept' : 'Then likely'));
      } catch (err) {
        fill(body, h('div', { class: 'fault' }, h('p', null, sentence(err.message)), hintsOf(err)));
      }
    },
  }, h('summary', null, h('h3', null, 'What other hours would bring')), body);
}

function tableOf(budgets, after) {
  const heads = ['Hours', 'Stops', 'Time used', 'New ground', after];
  return h('table', null, h('caption', { class: 'unseen' }, 'What other hours would bring'),
    h('thead', null, h('tr', null, heads.map((t, i) => h('th', { scope: 'col', class: i > 0 && 'number' }, t)))),
    h('tbody', null, budgets.map((b) => h('tr', null, h('th', { scope: 'row' }, number(b.hours, Number.isInteger(b.hours) ? 0 : 2)),
      [b.stops, duration(b.used_s), area(b.fresh_m2), percent(b.expected_percent_after)].map((t) => h('td', { class: 'number' }, t))))));
}
