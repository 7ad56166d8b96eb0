// What else the comparison tells: what may be left, new ground by visit, readings; and the charts as pictures.

import { h } from '../dom.js';
import { count, number, percent } from '../format.js';
import { sentence } from '../say.js';
import { short } from './words.js';

/** What may be left in the ground, where it can be told. */
export function leftOf({ left, finds }) {
  if (finds.on_site === 0) return null;
  const all = [['the whole site', left.site], ...left.landmarks.map((l) => [`round ${l.landmark}`, l])];
  const told = all.filter(([, l]) => l.estimate);
  return h('details', { class: 'section' }, h('summary', null, h('h3', null, 'What may be left')),
    told.length > 0 && h('ul', null, told.map(([name, { estimate: e }]) => h('li', null, `${sentence(name)}: about ${number(e.left, 0)} left of ${number(e.n, 0)} (${number(e.lo, 0)} to ${e.hi === null ? 'any number' : number(e.hi, 0)})${e.rough ? ', roughly' : ''}.`))),
    told.length > 0 && h('p', { class: 'note' }, 'Such figures are low: what is easy to find goes first, so what is left is harder to find than what was dug.'),
    told.length < all.length && h('ul', null, grouped(all.filter(([, l]) => !l.estimate)).map(([why, names]) => h('li', null, `${sentence(names.join(', '))}: cannot be told. ${sentence(why)}.`))));
}

function grouped(all) {
  const by = new Map();
  for (const [name, l] of all) by.set(l.refused, [...(by.get(l.refused) ?? []), name]);
  return [...by];
}

/** What readings turned out to be. */
export function readingsOf({ readings }) {
  if (readings.length === 0) return null;
  const detectors = [...new Set(readings.map((b) => b.detector))];
  return h('details', { class: 'section' }, h('summary', null, h('h3', null, 'What readings meant')), detectors.map((d) => h('table', null,
    h('caption', null, d || 'Readings'),
    h('thead', null, h('tr', null, ['Reading', 'Dug', 'Keepers', 'Keepers lost by skipping all below'].map((t, i) => h('th', { scope: 'col', class: i > 0 && 'number' }, t)))),
    h('tbody', null, readings.filter((b) => b.detector === d).map((b) => h('tr', null,
      h('th', { scope: 'row' }, `${short(b.from)} to ${short(b.to)}`), h('td', { class: 'number' }, number(b.dug, 0)),
      h('td', { class: 'number' }, number(b.keepers, 0), b.keeper_share.n > 0 && h('small', null, `${percent(100 * b.keeper_share.lo)} to ${percent(100 * b.keeper_share.hi)}`)),
      h('td', { class: 'number' }, b.skip_all_under_to.keepers_lost.n > 0 ? percent(100 * b.skip_all_under_to.keepers_lost.value) : '–')))))));
}

/** The charts that the program draws, each fetched when it is opened. */
export function picturesOf(doc, rev) {
  const all = [
    ['zones', 'Rings side by side, with limits', 'Bars of the finds for the same ground swept, ring by ring, with limits. The tables above have the figures.'],
    ['effort', 'Where the searching went', 'Map of the site with seconds searched on each square metre, and the rings round the landmarks.'],
    doc.finds.on_site > 0 && ['finds', 'Where the finds were', 'Map of the site with the finds by verdict, over what was swept.'],
    doc.dates.dated > 0 && ['dates', 'How old the finds are', `Bars of the finds by decade: ${count(doc.dates.dated, 'find is', 'finds are')} dated, mean year ${number(doc.dates.mean_year, 0).replace(/\D/g, '')}.`],
  ].filter(Boolean);
  return h('div', { class: 'pictures' }, all.map(([name, title, alt]) => pictureOf(`/pictures/${rev}/${name}.png`, title, alt)));
}

function pictureOf(src, title, alt) {
  const img = h('img', { alt, decoding: 'async' });
  return h('details', { class: 'section', ontoggle: (e) => { if (e.target.open && !img.src) img.src = src; } }, h('summary', null, h('h3', null, title)),
    h('a', { href: src, target: '_blank', rel: 'noopener' }, img));
}
