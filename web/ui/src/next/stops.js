// The stops of a plan, each with the way to it and the lanes to walk.

import { h } from '../dom.js';
import { area, bearing, count, duration, length } from '../format.js';
import { sentence } from '../say.js';
import { lowerPanel } from '../tabs.js';
import { ringStop, zoomToStop } from './marks.js';

/** The list of stops. */
export function stopsOf(doc) {
  const { plan } = doc;
  return h('ol', { class: 'stops' }, plan.stops.map((s, i) => h('li', {
    class: 'stop', id: `stop-${s.stop}`,
    onpointerenter: (e) => e.pointerType !== 'touch' && ringStop(s.stop), onpointerleave: (e) => e.pointerType !== 'touch' && ringStop(null),
    onfocusin: () => ringStop(s.stop), onfocusout: () => ringStop(null),
  }, h('details', { class: 'section' },
    h('summary', null, h('span', { class: 'stop-n' }, s.stop), h('span', null, `${gapsOf(s)}: ${area(s.fresh_m2)}, ${duration(s.search_s + s.dig_s)}`)),
    stopBody(doc, s, i)))));
}

const gapsOf = (s) => (s.gaps.length > 1 ? `Gaps ${s.gaps.join(', ')}` : `Gap ${s.gap}`) + (s.part ? `, part ${s.part}` : '');

function stopBody(doc, s, i) {
  const { plan } = doc;
  const from = i === 0 ? 'the start' : `stop ${plan.stops[i - 1].stop}`;
  const begin = s.reach.map((r) => h('dd', null, reachOf(r, plan)));
  return [
    h('dl', { class: 'stop-words' },
      s.why && h('div', null, h('dt', null, 'Why'), h('dd', null, sentence(s.why))),
      h('div', null, h('dt', null, 'Way'), h('dd', null, `${length(s.approach_m)} (${paces(s.approach_m, plan)}) from ${from}`)),
      h('div', null, h('dt', null, 'Begin'), begin.length > 0 ? begin : h('dd', null, 'No landmark is near enough to find it from.')),
      h('div', null, h('dt', null, 'Walk'), s.blocks.map((b, k) => blockOf(s, b, k, plan)))),
    lanesOf(s, plan),
    h('button', { type: 'button', class: 'small', onclick: () => { lowerPanel(); zoomToStop(doc, s.stop); } }, 'Show on the map', h('span', { class: 'unseen' }, `: stop ${s.stop}`)),
  ];
}

const paces = (m, plan) => count(Math.round(m / plan.settings.pace_m), 'pace', 'paces');

function reachOf(r, plan) {
  const name = (r.landmark || 'the landmark without a name') + (r.mark ? ' (mark)' : '');
  if (r.distance_m < 1 || r.bearing_true_deg === null) return `At ${name}`;
  return `${length(r.distance_m)} (${paces(r.distance_m, plan)}) from ${name} on ${both(r, plan)}`;
}

/** A bearing from true north and, where a compass is of use, as one shows it. */
function both(b, plan) {
  const m = plan.magnetic;
  const compass = m.horizontal_nt > 0 && !m.blackout && b.bearing_magnetic_deg !== null;
  return `${bearing(b.bearing_true_deg)} true${compass ? `, ${bearing(b.bearing_magnetic_deg)} by compass` : ''}`;
}

function blockOf(s, b, k, plan) {
  const lanes = s.lanes.filter((l) => l.block === k + 1);
  if (lanes.length === 0) return null;
  const numbers = lanes.length === 1 ? `Lane ${lanes[0].lane}` : `Lanes ${lanes[0].lane} to ${lanes.at(-1).lane}`;
  const apart = b.spacing_m === null ? '' : `, ${length(b.spacing_m)} apart`;
  const rims = b.rims > 0 ? `; ${count(b.rims, 'runs', 'run')} beside what cannot be searched` : '';
  const how = lanes.length === 1 ? `: ${length(b.length_m)} on ${both(lanes[0], plan)}` : `${apart}, ${length(b.length_m)} in all; the first on ${both(lanes[0], plan)}`;
  return h('dd', null, numbers + how + rims);
}

function lanesOf(s, plan) {
  return h('details', { class: 'stop-lanes' }, h('summary', null, 'Lane by lane'), h('table', null,
    h('caption', { class: 'unseen' }, `Lanes of stop ${s.stop}`),
    h('thead', null, h('tr', null, h('th', { scope: 'col' }, 'Lane'), h('th', { scope: 'col', class: 'number' }, 'Length'),
      h('th', { scope: 'col', class: 'number' }, 'Paces'), h('th', { scope: 'col', class: 'number' }, 'True'), h('th', { scope: 'col', class: 'number' }, 'Compass'))),
    h('tbody', null, s.lanes.map((l) => h('tr', null, h('th', { scope: 'row' }, String(l.lane)), h('td', { class: 'number' }, length(l.length_m)),
      h('td', { class: 'number' }, String(Math.round(l.length_m / plan.settings.pace_m))), h('td', { class: 'number' }, bearing(l.bearing_true_deg)),
      h('td', { class: 'number' }, plan.magnetic.blackout ? '–' : bearing(l.bearing_magnetic_deg)))))));
}
