// Numbers and times in words, by the reader's language and the book's units.

import { units } from './state.js';

const ftM = 0.3048;
const sqFtM2 = ftM * ftM;
const acreM2 = 4046.8564224;
const dash = '–';

const makers = new Map();

/**
 * A bare number with so many digits after the point.
 * @param {number|null} value
 * @param {number} digits
 */
export function number(value, digits) {
  if (missing(value)) return dash;
  // Making a format costs some 50 microseconds, and tables have thousands of numbers.
  const key = `n${digits}`;
  if (!makers.has(key)) {
    makers.set(key, new Intl.NumberFormat(navigator.language,
      { minimumFractionDigits: digits, maximumFractionDigits: digits }));
  }
  return makers.get(key).format(value);
}

function missing(v) {
  return v === null || v === undefined || Number.isNaN(v);
}

const imperial = () => units() === 'imperial';

/**
 * A length in metres: "0.35 m", "12.4 m", "350 m", "1.25 km"; feet and miles for imperial.
 * Nothing known is a dash.
 * @param {number|null} m
 */
export function length(m) {
  if (missing(m)) return dash;
  if (imperial()) {
    const ft = m / ftM;
    return Math.abs(ft) < 5280 ? `${number(ft, digitsOf(ft))} ft` : `${number(ft / 5280, 2)} mi`;
  }
  return Math.abs(m) < 1000 ? `${number(m, digitsOf(m, 2))} m` : `${number(m / 1000, 2)} km`;
}

function digitsOf(v, most = 1) {
  const a = Math.abs(v);
  return a >= 100 ? 0 : a >= 10 ? Math.min(1, most) : most;
}

/**
 * An area in square metres: "7,400 m²", "3.2 ha"; square feet and acres for imperial.
 * @param {number|null} m2
 */
export function area(m2) {
  if (missing(m2)) return dash;
  if (imperial()) {
    return m2 < acreM2 ? `${number(m2 / sqFtM2, 0)} sq ft` : `${number(m2 / acreM2, 2)} acres`;
  }
  return m2 < 10_000 ? `${number(m2, m2 < 10 ? 1 : 0)} m²` : `${number(m2 / 10_000, 2)} ha`;
}

/**
 * A share in percent. It is never rounded to 0 or 100 when it is neither.
 * @param {number|null} p
 */
export function percent(p) {
  if (missing(p)) return dash;
  if (p > 0 && p < 0.5) return 'under 1 %';
  if (p > 99.5 && p < 100) return 'over 99 %';
  return `${number(p, 0)} %`;
}

/**
 * A share in percent, rounded down: for what is "at least".
 * @param {number|null} p
 */
export function floorPercent(p) {
  if (missing(p)) return dash;
  if (p > 0 && p < 1) return 'under 1 %';
  return `${number(Math.floor(p), 0)} %`;
}

/**
 * Seconds as "45 s", "12 min" or "3 h 20 min".
 * @param {number|null} s
 */
export function duration(s) {
  if (missing(s)) return dash;
  if (s < 60) return `${number(s, 0)} s`;
  const min = Math.round(s / 60);
  if (min < 60) return `${number(min, 0)} min`;
  const rest = min % 60;
  return `${number(Math.floor(min / 60), 0)} h${rest > 0 ? ` ${rest} min` : ''}`;
}

/**
 * A day in the reader's own time, such as "12 Jun 2026".
 * @param {string|null} t RFC 3339
 */
export function date(t) {
  return missing(t) ? dash : times('date', { dateStyle: 'medium' }).format(new Date(t));
}

/**
 * A day and a time of day in the reader's own time.
 * @param {string|null} t RFC 3339
 */
export function dateTime(t) {
  return missing(t) ? dash : times('dateTime', { dateStyle: 'medium', timeStyle: 'short' }).format(new Date(t));
}

function times(key, options) {
  if (!makers.has(key)) makers.set(key, new Intl.DateTimeFormat(navigator.language, options));
  return makers.get(key);
}

/**
 * A count with its noun: "1 gap", "12 gaps".
 * @param {number} n
 * @param {string} one
 * @param {string} many
 */
export function count(n, one, many) {
  return `${number(n, 0)} ${n === 1 ? one : many}`;
}

/**
 * The size of a file, such as "84 kB".
 * @param {number|null} bytes
 */
export function fileSize(bytes) {
  if (missing(bytes)) return dash;
  if (bytes < 1000) return `${number(bytes, 0)} bytes`;
  return bytes < 1e6 ? `${number(bytes / 1000, 0)} kB` : `${number(bytes / 1e6, 1)} MB`;
}

/**
 * A bearing from true north, such as "047°". 359.6 is 000.
 * @param {number|null} deg
 */
export function bearing(deg) {
  if (missing(deg)) return dash;
  return `${String((((Math.round(deg) % 360) + 360) % 360)).padStart(3, '0')}°`;
}

const lengthUnits = { m: 1, cm: 0.01, mm: 0.001, km: 1000, ft: ftM, "'": ftM, in: 0.0254, '"': 0.0254, yd: 0.9144 };

/**
 * Reads a length as typed: "28 cm", "1,2m", "11in", "4 ft". A bare number is taken in `usual`.
 * @param {string} text
 * @param {string} [usual] a unit
 * @returns {number|null} metres; null when it is no length
 */
export function parseLength(text, usual = imperial() ? 'ft' : 'm') {
  const m = /^\s*(\d+(?:[.,]\d+)?|[.,]\d+)\s*([a-z'"]*)\s*$/i.exec(text);
  const size = m && lengthUnits[m[2].toLowerCase() || usual];
  return size ? Number(m[1].replace(',', '.')) * size : null;
}

// Any two are 45 or more apart in CIE L*a*b*, and 27 to eyes without red or green cones (Machado, Oliveira
// and Fernandes 2009); each has 3.6:1 or more on the map's paper. More visits than colours begin anew.
const colours = ['#121873', '#A87A00', '#962165', '#389156', '#332018', '#1184ED', '#8A2104', '#128CAC'];

/**
 * The colour of a visit, in its list and as its track.
 * @param {number} n its place in the result, from 0; below is a visit that counts for nothing
 */
export function visitColour(n) {
  return n < 0 ? '#8A8375' : colours[n % colours.length];
}
