// What a ring against the rest of the site comes to, in words.

import { count, number } from '../format.js';
import { units } from '../state.js';

const ftM = 0.3048;
const moreWorked = 1.25; // passes against the rest's from which the words tell of it, as the program's own text does

/** A ring by its distances: "5 to 10 m". */
export function ringWords(z) {
  const unit = units() === 'imperial' ? ftM : 1;
  return `${round(z.from_m / unit)} to ${round(z.to_m / unit)} ${unit === 1 ? 'm' : 'ft'}`;
}

const round = (v) => number(v, v >= 10 || Math.abs(v - Math.round(v)) < 0.05 ? 0 : 1);

/** Figures to two places that matter: 0.034, 1.2, 35. */
export function short(v) {
  if (v === null || v === undefined) return '–';
  const a = Math.abs(v);
  return number(v, a >= 10 || a === 0 ? 0 : a >= 1 ? 1 : a >= 0.1 ? 2 : 3);
}

/** Limits such as "0.4 to 3.1"; null is without end. */
export const span = (r) => `${short(r.lo)} to ${r.hi === null ? 'any' : short(r.hi)}`;

/** The areas that effort and finds are told for, by the units of the book. */
export function per() {
  return units() === 'imperial'
    ? { effort: ftM * ftM, effortWords: 's per sq ft', finds: (1000 * ftM * ftM) / 100, findsWords: 'finds per 1,000 sq ft' }
    : { effort: 1, effortWords: 's per m²', finds: 1, findsWords: 'finds per 100 m²' };
}

/** A rate times f. */
export const times = (r, f) => ({ value: timed(r.value, f), lo: timed(r.lo, f), hi: timed(r.hi, f) });

const timed = (v, f) => (v === null ? null : v * f);

/**
 * What can be said of a ring: "richer", "poorer", "may be chance", "cannot tell", "no finds" or "not swept".
 * @param {Object} z
 * @param {number} level of the limits, such as 0.95
 */
export function verdict(z, level) {
  const r = z.ratio_to_rest;
  if (!r || r.p === null) return 'not swept';
  if (r.value === null) return 'no finds';
  if (r.p_holm < 1 - level) return r.value > 1 ? 'richer' : 'poorer';
  return r.p < 1 - level ? 'may be chance' : 'cannot tell';
}

/** Whether the ground of a ring that was swept was gone over clearly more often than that of the rest. */
export function searchedHarder(z, rest) {
  const mine = workings(z);
  const others = workings(rest);
  return mine !== null && others !== null && mine > moreWorked * others;
}

function workings(z) {
  return z.swept_m2 > 0 && z.mean_passes !== null ? (z.mean_passes * z.searchable_m2) / z.swept_m2 : null;
}

/** A sentence on one ring. */
export function sentenceOf(z, rest, level) {
  const r = z.ratio_to_rest;
  const so = verdict(z, level);
  const words = {
    richer: () => `${short(r.value)} times the finds of the rest for the same ground swept (${span(r)}).`,
    poorer: () => `${short(r.value)} times the finds of the rest for the same ground swept (${span(r)}).`,
    'may be chance': () => `${short(r.value)} times the finds of the rest (${span(r)}); with so many rings looked at, that may be chance.`,
    'cannot tell': () => `anything from ${span(r)} times the finds of the rest is possible.`,
    'no finds': () => 'nothing can be said.',
    'not swept': () => 'nothing can be said.',
  }[so]();
  return words + (searchedHarder(z, rest) ? ` Where swept, ${short(workings(z))} passes against ${short(workings(rest))}.` : '');
}

/** How many finds there are, and those that no ring can hold. */
export function findWords(f) {
  const not = [
    f.outside > 0 && `${count(f.outside, 'lies', 'lie')} off the ground that can be searched`,
    f.no_place > 0 && `${count(f.no_place, 'has', 'have')} no place`,
    f.left_out > 0 && `${count(f.left_out, 'is', 'are')} of visits left out`,
  ].filter(Boolean);
  return `${count(f.on_site, 'find', 'finds')} on the site${not.length > 0 ? `; ${not.join(', ')}` : ''}.`;
}

/** A sentence on all rings together. */
export function sumUp(doc) {
  const tested = doc.zones.filter((z) => z.ratio_to_rest && z.ratio_to_rest.p !== null);
  if (doc.finds.on_site === 0) return '';
  if (!(doc.rest.searchable_m2 > 0)) return 'The rings take up the whole site: there is no rest to compare them with.';
  if (tested.length === 0) return 'No ring can be compared with the rest: one of the two was not swept.';
  const unlike = tested.filter((z) => z.ratio_to_rest.p_holm < 1 - doc.settings.level);
  if (unlike.length === 0) return 'No ring differs from the rest more than chance would make it. That is not to say that they are alike: anything within the limits is possible.';
  return `${count(unlike.length, 'ring differs', 'rings differ')} from the rest more than chance would make it: ${unlike.map((z) => `${z.landmark}, ${ringWords(z)} (${verdict(z, doc.settings.level)})`).join('; ')}.`;
}

/** The share that is swept: most likely, or as logged with perfect positions. */
export const sweptOf = (z) => z.expected_percent ?? z.as_logged_percent;
