// What a plan brings, what it leaves, what to mind, and its files.

import { fill, h } from '../dom.js';
import { area, count, duration, floorPercent, length, number, percent } from '../format.js';
import { hintsOf, sentence } from '../say.js';
import { openPanel } from '../tabs.js';
import { otherHours } from './hours.js';
import { stopsOf } from './stops.js';

/**
 * @param {Object} doc the answer of POST /api/plan
 * @param {Object|null} now the coverage of GET /api/coverage, as it is before the visit
 */
export function outcomeOf(doc, now) {
  const { plan } = doc;
  if (plan.stops.length === 0) return [nothingToWalk(plan), leftOut(plan), mind(plan)];
  return [
    h('p', { class: 'gain' }, gainWords(plan.expected, now)),
    doc.stage !== 'full' && h('p', { class: 'note' }, 'Not all is worked out yet: this is asked anew when it is.'),
    figures(plan), filesOf(doc),
    h('h3', null, count(plan.stops.length, 'stop', 'stops')), guidance(plan), stopsOf(doc),
    otherHours(doc), leftOut(plan), mind(plan),
  ];
}

/** What is expected, such as "Most likely 65 → 95 % swept". */
export function gainWords(after, now) {
  const likely = after.expected_percent_after;
  if (likely === null) return `${fromTo(now?.as_logged_percent, after.as_logged_percent_after, percent)} swept, as logged`;
  return `Most likely ${fromTo(now?.expected_percent, likely, percent)} swept`;
}

const fromTo = (a, b, words) => (a === null || a === undefined ? words(b) : `${words(a).replace(' %', '')} → ${words(b)}`);

function nothingToWalk(plan) {
  const second = plan.second_pass;
  if (!plan.no_gaps) return h('p', { class: 'gain' }, 'Nothing can be planned for this time.');
  return [h('p', { class: 'gain' }, 'No gaps are left to walk.'),
    second && h('p', null, `One more pass over the whole would raise it from ${percent(second.now_percent)} to ${percent(second.after_percent)}: ${length(second.lane_m)} of lanes, ${duration(second.search_s)} of searching.`)];
}

function figures(p) {
  const sure = p.expected.at_least_percent_after;
  const rows = [
    ['time', `${duration(p.used_s)} of ${duration(p.budget_s)}`],
    ['new ground', area(p.expected.fresh_m2)],
    sure !== null && ['then at least', floorPercent(sure)],
    ['searching', `${duration(p.search_s)}, ${length(p.lane_m)}`],
    ['walking', `${duration(p.walk_s)}, ${length(p.walk_m)}`],
    ['digging', duration(p.dig_s)],
  ].filter(Boolean);
  return h('dl', { class: 'figures' }, rows.map(([k, v]) => h('div', null, h('dt', null, k), h('dd', null, v))));
}

// How lanes are found on the ground; a receiver that cannot lead must be said first.
function guidance(p) {
  const m = p.magnetic;
  const useless = m.declination_deg === null || m.horizontal_nt === 0 || m.blackout;
  return [
    h('p', { class: p.guided ? 'note' : 'remark' }, p.guided
      ? 'The receiver can lead you: load the GPX and follow its routes, one for each block of lanes.'
      : 'The receiver cannot keep you on a lane. Find where a stop begins from the landmarks given, lay a string line or flags along its first lane, and measure each next lane from there.'),
    h('p', { class: 'note' }, `Paces are of ${length(p.settings.pace_m)}. `, useless ? 'Bearings are from true north; a compass is of no use here.'
      : `Magnetic north is ${number(Math.abs(m.declination_deg), 1)}° ${m.declination_deg < 0 ? 'west' : 'east'} of true north. Keep the compass away from the detector and the spade.`),
    m.expired && h('p', { class: 'remark' }, 'The magnetic model is out of date: check the compass on a line whose bearing you know.'),
    m.caution && !m.blackout && h('p', { class: 'remark' }, 'So near the magnetic pole a compass may mislead: check it on a line whose bearing you know.'),
  ];
}

function filesOf({ id }) {
  const link = (file, words) => h('li', null, h('a', { class: 'button small', href: `/plan/${id}/${file}`, download: '' }, words));
  return h('div', { class: 'next-files' }, h('h3', null, 'Take it along'),
    h('ul', { class: 'row plain' },
      link('sheet.pdf?paper=a4', 'Sheet to print, A4'), link('sheet.pdf?paper=letter', 'Sheet, Letter'), link('next.gpx', 'GPX'), link('next.kml', 'KML'),
      link('next.csv', 'CSV'), link('next.txt', 'Walking list'), link('next.png', 'Map')),
    h('p', { class: 'note' }, 'They tell others where you dig: share them with care.'));
}

function leftOut(p) {
  return p.left.length > 0 && h('details', { class: 'section' }, h('summary', null, h('h3', null, `Left for another day: ${count(p.left.length, 'gap', 'gaps')}`)),
    h('ul', null, p.left.map((l) => h('li', null, `Gap ${l.gap}, ${area(l.area_m2)}: ${l.why}.`))));
}

function mind(p) {
  return h('div', null, p.notes.map((n) => h('p', { class: 'note' }, `${sentence(n)}.`)),
    h('p', { class: 'remark' }, 'Search only with the owner’s leave and where the law allows it. Mind wells and cellar holes, leave what may be ammunition alone, and do not walk with your eyes on a screen. ',
      h('button', { type: 'button', class: 'link', onclick: () => openPanel('cautions', { focus: true }) }, 'All cautions')));
}

/** Shows in place why there is no plan. */
export function showProblem(el, err) {
  fill(el, h('div', { class: 'fault', role: 'alert' }, h('p', null, sentence(err.message)), hintsOf(err)));
}
