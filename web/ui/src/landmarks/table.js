// The comparison in figures.

import { h } from '../dom.js';
import { area, floorPercent, percent } from '../format.js';
import { per, ringWords, short, span, sweptOf, times } from './words.js';

/** The rings of a landmark and the rest, in a table. */
export function tableOf(name, zones, rest, level) {
  const p = per();
  const heads = ['Ring', 'Swept', p.effortWords, 'Finds', p.findsWords.replace('finds ', ''), '× the rest'];
  return h('div', { class: 'wide-table', tabindex: '0', role: 'region', 'aria-label': `Figures of ${name}` }, h('table', null,
    h('caption', null, `${name}, with ${percent(100 * level)} limits`),
    h('thead', null, h('tr', null, heads.map((t, i) => h('th', { scope: 'col', class: i > 0 && 'number' }, t)))),
    h('tbody', null, zones.map((z) => rowOf(ringWords(z), z, p)), rowOf('the rest', rest, p))));
}

function rowOf(label, z, p) {
  const rate = times(z.finds_per_100m2, p.finds);
  const r = z.ratio_to_rest;
  const cell = (main, small) => h('td', { class: 'number' }, main, small && h('small', null, small));
  return h('tr', null, h('th', { scope: 'row' }, label, h('small', null, area(z.searchable_m2))),
    cell(percent(sweptOf(z)), z.at_least_percent !== null && `at least ${floorPercent(z.at_least_percent)}`),
    cell(short(times({ value: z.search_s_per_m2, lo: null, hi: null }, p.effort).value)),
    cell(short(z.finds), z.keepers > 0 && `${short(z.keepers)} kept`),
    cell(short(rate.value), rate.value !== null && span(rate)),
    cell(r ? short(r.value) : '', r && r.value !== null && span(r)));
}
