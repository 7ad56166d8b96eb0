// Small bars: how much of each ring is swept, how long it was searched, what it gave. The table under them says the same.

import { svg } from '../dom.js';
import { percent } from '../format.js';
import { per, ringWords, short, sweptOf, times } from './words.js';

const size = { label: 74, column: 92, bar: 46, row: 24, head: 22 };

/** What all landmarks' bars have for their full length, so that they can be compared. */
export function scalesOf(doc) {
  const all = [...doc.zones.filter((z) => z.searchable_m2 > 0), doc.rest];
  const most = (f) => Math.max(...all.map(f).filter((v) => v !== null), 0) || 1;
  return { swept: 100, effort: most((z) => z.search_s_per_m2), finds: 1.6 * most((z) => z.finds_per_100m2.value) };
}

/**
 * @param {Object[]} zones rings of one landmark
 * @param {Object} rest
 * @param {Object} scales of scalesOf
 * @param {string} words what the picture is, for those who do not see it
 */
export function barsOf(zones, rest, scales, words) {
  const rows = [...zones.map((z) => [ringWords(z), z, 'ring']), ['the rest', rest, 'rest']];
  const p = per();
  const columns = [
    { head: 'swept', of: (z) => ({ value: sweptOf(z) }), most: scales.swept, words: percent },
    { head: p.effortWords, of: (z) => ({ value: z.search_s_per_m2 }), most: scales.effort, words: (v) => short(v === null ? null : v * p.effort) },
    { head: p.findsWords.replace('finds ', ''), of: (z) => z.finds_per_100m2, most: scales.finds, words: (v) => short(v === null ? null : v * p.finds) },
  ];
  const width = size.label + 3 * size.column;
  const height = size.head + rows.length * size.row;
  return svg('svg', { class: 'bars', viewBox: `0 0 ${width} ${height}`, role: 'img', 'aria-label': words },
    columns.map((c, i) => columnOf(c, size.label + i * size.column, rows)),
    rows.map(([label, , kind], k) => text(0, k, label, kind === 'rest' ? 'rest' : '')));
}

function columnOf(c, x, rows) {
  return svg('g', null, svg('text', { x, y: 12, class: 'head' }, c.head), rows.map(([, z, kind], k) => {
    const r = c.of(z);
    const y = size.head + k * size.row;
    const wide = (v) => Math.max(0, Math.min(1, v / c.most)) * size.bar;
    return [
      svg('rect', { x, y: y + 5, width: size.bar, height: 12, class: 'whole' }),
      r.value !== null && svg('rect', { x, y: y + 5, width: wide(r.value), height: 12, class: kind }),
      r.lo !== undefined && r.lo !== null && whisker(x + wide(r.lo), x + wide(r.hi ?? Infinity), y + 11),
      text(x + size.bar + 5, k, c.words(r.value)),
    ];
  }));
}

const whisker = (from, to, y) => svg('path', { class: 'limits', d: `M${from} ${y}H${to}M${from} ${y - 3}v6M${to} ${y - 3}v6` });

const text = (x, k, words, kind = '') => svg('text', { x, y: size.head + k * size.row + 15, class: kind }, words);

/** What the bars show, for those who do not see them. */
export function barWords(name, zones, rest) {
  const p = per();
  const one = (label, z) => `${label}: ${percent(sweptOf(z))} swept, ${short(times({ value: z.search_s_per_m2, lo: null, hi: null }, p.effort).value)} ${p.effortWords}, ${short(times(z.finds_per_100m2, p.finds).value)} ${p.findsWords}`;
  return `${name} beside the rest. ${[...zones.map((z) => one(ringWords(z), z)), one('the rest', rest)].join('; ')}.`;
}
