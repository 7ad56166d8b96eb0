// The first steps with a new book, above whichever panel is shown. Each can be skipped; where one is
// stands in this browser, by book, so that it goes on after a reload.

import { ask } from './api.js';
import { canopyCards, coilCards, swingCards } from './choices.js';
import { fill, h } from './dom.js';
import { fileButton } from './files.js';
import { ground } from './ground.js';
import { say, trouble } from './say.js';
import { changeSite, takeOutline } from './site.js';
import { current, watch, whenNew } from './state.js';
import { lowerPanel, openPanel, raisePanel } from './tabs.js';

const proposed = 16; // corners: few enough to drag each
const steps = [
  { title: 'Where is the edge?', body: outline },
  { title: 'What is in the way, what stands out?', body: things },
  { title: 'How do you search?', body: coil },
  { title: 'How leafy was it?', body: sky },
  { title: 'What the picture tells', body: picture },
];

const ownOutline = 'The outline was drawn round where you walked. Drag its corners to the edge of the ground that may be searched: the percentage is of the ground inside it.';
const drawnOutline = 'The book has an outline. Look whether it is the edge of the ground that may be searched: the percentage is of the ground inside it.';

let strip = null;
let file = null; // of the book that is shown
const keyOf = (f) => `untrod.first.${f}`;

/** Builds the strip. It is empty unless a book is at its first steps. */
export function mountFirstVisit(el) {
  strip = el;
  watch((s) => {
    const now = s.book?.file ?? null;
    if (now === file) return;
    file = now;
    draw();
  });
}

/**
 * Begins the first steps with a book.
 * @param {string} [book] its file
 */
export function begin(book) {
  if (!book) return;
  file = book;
  go(0);
}

function at() {
  try {
    const v = file && localStorage.getItem(keyOf(file));
    return v === null || v === '' ? -1 : Number(v);
  } catch {
    return memory.get(file) ?? -1;
  }
}

const memory = new Map(); // where the browser keeps nothing

function keep(step) {
  memory.set(file, step);
  try {
    localStorage.setItem(keyOf(file), String(step));
  } catch { /* kept in memory then */ }
  draw();
}

function draw() {
  const i = at();
  const step = steps[i];
  strip.hidden = !step;
  if (!step) {
    fill(strip);
    return;
  }
  const last = i === steps.length - 1;
  fill(strip, h('section', { class: 'strip', 'aria-labelledby': 'strip-title', tabindex: '-1' },
    h('div', { class: 'strip-head' }, h('p', { class: 'strip-count' }, `First steps: ${i + 1} of ${steps.length}`),
      h('button', { type: 'button', class: 'quiet small', onclick: () => keep(-1) }, last ? 'Close' : 'Not now')),
    h('h2', { id: 'strip-title' }, step.title),
    step.body(),
    h('div', { class: 'row end' },
      i > 0 && h('button', { type: 'button', class: 'small', onclick: () => go(i - 1) }, 'Back'),
      h('button', { type: 'button', class: 'strong small', onclick: () => (last ? finish() : go(i + 1)) }, last ? 'Done' : 'Next'))));
}

function go(step) {
  keep(step);
  strip.closest('.leaf-inside').scrollTop = 0;
  strip.firstElementChild?.focus({ preventScroll: true });
}

function finish() {
  keep(-1);
  openPanel('ground', { focus: true });
}

// On a narrow screen the panel is laid down while something is done on the map.
async function onMap(work) {
  lowerPanel();
  try {
    return await work();
  } catch (err) {
    trouble(err);
    return null;
  } finally {
    raisePanel();
  }
}

function outline() {
  const words = h('p', null, ownOutline);
  const drag = h('button', { type: 'button', disabled: true, onclick: () => onMap(setOutline) }, 'Drag the corners');
  const el = h('div', null, words, h('div', { class: 'row' }, drag,
    fileButton('Take it from a file', (files) => takeOutline(files).catch(trouble), { one: true, accept: '.geojson,.json,.kml,.kmz,.gpx,.csv,.zip' })));
  whileShown(el, async (s) => {
    drag.disabled = s.rev === 0; // before the first picture there is nothing to draw it round
    if (s.rev > 0) words.textContent = (await ask('/api/ground')).own_outline ? ownOutline : drawnOutline;
  });
  return el;
}

async function setOutline() {
  const g = await ask('/api/ground');
  const drawn = !g.own_outline && g.boundary?.[0]?.outer;
  const points = drawn || (await ask(`/api/outline?corners=${proposed}`)).outer;
  const outer = await ground.edit(points, 'area').finished;
  if (!outer) return;
  await changeSite((site) => {
    const [first, ...others] = site.boundary;
    site.boundary = [{ name: '', holes: [], ...first, outer }, ...others];
  });
  say('The outline was kept.');
}

function things() {
  const name = h('input', { id: 'thing-name', autocomplete: 'off', maxlength: 80 });
  const named = () => {
    const text = name.value.trim();
    name.value = '';
    return text;
  };
  return h('div', null,
    h('p', null, 'Keep-outs are ground that cannot or may not be searched: a pond, a thicket, a bed of flowers. Landmarks are what you want to compare: a wall, a well, a big tree.'),
    h('div', { class: 'field' }, h('label', { for: 'thing-name' }, 'Its name'), name),
    h('div', { class: 'row' },
      h('button', { type: 'button', onclick: () => onMap(() => keepOut(named())) }, 'Draw a keep-out'),
      h('button', { type: 'button', onclick: () => onMap(() => landmark(named())) }, 'Point at a landmark')));
}

async function keepOut(name) {
  const outer = await ground.draw('area', 'Click round the keep-out, corner by corner.');
  if (!outer) return;
  await changeSite((site) => site.keepouts.push({ name, outer, holes: [] }));
  say(`${name || 'The keep-out'} was kept.`);
}

async function landmark(name) {
  const points = await ground.draw('point', 'Click where the landmark is.');
  if (!points) return;
  await changeSite((site) => site.landmarks.push({ name: name || `landmark ${site.landmarks.length + 1}`, kind: '', mark: false, shape: 'point', points }));
  say(`${name || 'The landmark'} was kept.`);
}

function settingsOf(...parts) {
  const el = h('div', null, parts.map((p) => p.el));
  whileShown(el, async () => {
    const { says } = await ask('/api/settings');
    parts.forEach((p) => p.show(says ?? {}));
  });
  return el;
}

// Calls fn at once, and whenever there is something new as long as el is on the page.
function whileShown(el, fn) {
  let stop = null;
  stop = whenNew((s) => {
    if (stop && !el.isConnected) stop();
    else if (s.book) fn(s).catch(trouble);
  });
}

function coil() {
  return settingsOf(coilCards(), swingCards());
}

function sky() {
  return settingsOf(canopyCards());
}

function picture() {
  const line = (kind, what, more) => h('div', null, h('dt', null, h('span', { class: `swatch ${kind}`, 'aria-hidden': true }), what), h('dd', null, more));
  return h('div', null,
    h('dl', { class: 'key' },
      line('untrodden', 'Untrodden', 'Go here: it was hardly ever under the coil in any walk that fits your logs.'),
      line('doubt', 'In doubt', 'The receiver is not good enough to tell.'),
      line('swept', 'Surely swept', 'Under the coil in nearly all of them.')),
    h('p', null, 'The first picture takes the logs at their word. A better one follows, which allows for how wrong a receiver can be; “at least” is what you can claim.'),
    !current().work.running ? null : h('p', { class: 'note' }, 'It is being worked out now; you can go on meanwhile.'));
}
