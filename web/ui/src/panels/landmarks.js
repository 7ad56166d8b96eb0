// Landmarks: the ground round each beside the rest of the site.

import { ask } from '../api.js';
import { fill, h } from '../dom.js';
import { barWords, barsOf, scalesOf } from '../landmarks/bars.js';
import { leftOf, picturesOf, readingsOf } from '../landmarks/more.js';
import { ringLandmark, unring } from '../landmarks/rings.js';
import { tableOf } from '../landmarks/table.js';
import { findWords, ringWords, searchedHarder, sentenceOf, sumUp, verdict } from '../landmarks/words.js';
import { whenShown } from '../next/shown.js';
import { hintsOf, sentence } from '../say.js';
import { current, units, watch } from '../state.js';
import { lowerPanel, openPanel } from '../tabs.js';

export const panel = {
  id: 'landmarks',
  title: 'Landmarks',
  mount(el) {
    const body = h('div');
    el.append(h('h2', null, 'Landmarks'),
      h('p', null, 'What the ground round each landmark gave, beside the rest of the site: for the same ground swept, so that searching more does not look like finding more.'), body);
    let asked = 0;
    let key = null;
    whenShown(el, (shown) => (shown ? update(current()) : unring()));
    watch(update);
    async function update(s) {
      if (el.hidden) return;
      const now = `${s.book?.file} ${s.rev} ${s.work.running} ${units()}`;
      if (now === key) return;
      key = now;
      const mine = ++asked;
      const drawn = await contentOf(s);
      if (mine === asked) draw(body, drawn);
    }
  },
};

async function contentOf(s) {
  if (!s.book) return null;
  if (s.rev === 0) return empty('There is nothing to compare yet.', 'The comparison needs the log of a visit, landmarks, and finds.', 'Go to the visits', 'visits');
  try {
    const doc = await ask('/api/comparison');
    return doc.working ? h('p', { role: 'status' }, 'Landmarks are compared once everything is worked out.') : comparison(doc, s.rev);
  } catch (err) {
    return h('div', { class: 'empty' }, h('p', null, sentence(err.message)), hintsOf(err));
  }
}

// Drawn anew as a whole; what was folded out stays so, and the focus where it was.
function draw(body, content) {
  const opened = [...body.querySelectorAll('details[open] > summary')].map((x) => x.textContent);
  const focused = body.contains(document.activeElement) ? document.activeElement.id : '';
  fill(body, content);
  for (const summary of body.querySelectorAll('details > summary')) {
    if (opened.includes(summary.textContent)) summary.parentElement.open = true;
  }
  if (focused) document.getElementById(focused)?.focus();
}

function empty(what, more, action, panelId) {
  return h('div', { class: 'empty' }, h('p', null, what), h('p', null, more),
    h('button', { type: 'button', onclick: () => openPanel(panelId, { focus: true }) }, action));
}

function comparison(doc, rev) {
  const names = [...new Set(doc.zones.map((z) => z.landmark))];
  if (names.length === 0) {
    return empty('The site has no landmarks yet.', 'Mark on the map what finds may gather round: a well, a gateway, an old path, a row of trees. A point, a line or an area will do.', 'Draw a landmark', 'ground');
  }
  const scales = scalesOf(doc);
  const on = names.filter((n) => zonesOf(doc, n).length > 0);
  const bare = names.filter((n) => !on.includes(n));
  return [
    doc.finds.on_site === 0
      ? empty('There are no finds on the site yet.', 'Until there are, this tells only how hard the ground round each landmark was searched.', 'Add finds', 'finds')
      : h('p', null, findWords(doc.finds), ' ', h('strong', null, sumUp(doc))),
    on.map((name, i) => landmark(doc, name, scales, i)),
    bare.length > 0 && h('p', { class: 'note' }, `Left out: ${bare.join(', ')}; none of the ground that can be searched is in the rings, or all of it is nearer to another landmark.`),
    h('p', { class: 'note' }, 'Ground is counted for the landmark it is nearest to. A find near the edge of a ring counts on both sides in part, by where it may truly have been.'),
    leftOf(doc), readingsOf(doc), picturesOf(doc, rev),
  ];
}

const zonesOf = (doc, name) => doc.zones.filter((z) => z.landmark === name && z.searchable_m2 > 0);

function landmark(doc, name, scales, i) {
  const zones = zonesOf(doc, name);
  const level = doc.settings.level;
  const title = name || 'Landmark without a name';
  return h('section', { class: 'landmark', 'aria-labelledby': `landmark-${i}` },
    h('div', { class: 'landmark-head' }, h('h3', { id: `landmark-${i}` }, title),
      h('button', { type: 'button', class: 'small', id: `show-landmark-${i}`, onclick: () => { lowerPanel(); ringLandmark(name, doc.settings.rings_m); } },
        'Show on the map', h('span', { class: 'unseen' }, `: ${title}`))),
    barsOf(zones, doc.rest, scales, barWords(title, zones, doc.rest)),
    doc.finds.on_site > 0 && h('ul', { class: 'so plain' }, zones.map((z) => h('li', null,
      h('span', { class: 'chip', dataset: { so: verdict(z, level) } }, verdict(z, level)), searchedHarder(z, doc.rest) && h('span', { class: 'chip' }, 'searched harder'),
      ' ', h('strong', null, ringWords(z)), ': ', sentenceOf(z, doc.rest, level)))),
    h('details', { class: 'section' }, h('summary', null, 'In figures', h('span', { class: 'unseen' }, `: ${title}`)), tableOf(title, zones, doc.rest, level)));
}
