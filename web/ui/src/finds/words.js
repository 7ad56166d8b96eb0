// What a find is, in words.

import { dateTime, number } from '../format.js';
import { units } from '../state.js';

const inchM = 0.0254;

/** The verdicts of the book. */
export const verdicts = ['keeper', 'scrap', 'unknown'];

/** A name for a find, also for one that has none. */
export const nameOf = (f) => f.name || f.material || 'Find without a name';

/**
 * A depth: "15 cm", "6 in".
 * @param {number|null} m
 */
export function depth(m) {
  if (m === null || m === undefined) return '';
  const [v, unit] = units() === 'imperial' ? [m / inchM, 'in'] : [m * 100, 'cm'];
  return `${number(v, Math.abs(v - Math.round(v)) < 0.05 ? 0 : 1)} ${unit}`;
}

/** What depths are typed in when no unit is. */
export const depthUnit = () => (units() === 'imperial' ? 'in' : 'cm');

/** The years a find is dated to, "" when it is not. */
export function years(y) {
  if (!y) return '';
  const [from, to] = y;
  if (from === null) return `until ${year(to)}`;
  if (to === null) return `from ${year(from)}`;
  return from === to ? year(from) : `${year(from)} to ${year(to)}`;
}

const year = (y) => (y < 0 ? `${-y} BC` : String(y));

/** What it is, and how it was found; two lines. */
export function factsOf(f, visits) {
  const visit = visits.find((v) => v.id === f.visit);
  return [
    [f.verdict, f.name && f.material, years(f.years)],
    [f.reading && `reading ${f.reading}`, f.depth_m !== null && `${depth(f.depth_m)} deep`, f.time && dateTime(f.time),
      visit && (visit.name || visit.file), f.detector, !f.at && 'no place'],
  ].map((line) => line.filter(Boolean).join(' · '));
}
