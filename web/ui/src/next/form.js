// How long the next visit is, and from where to where.

import { fill, h } from '../dom.js';
import { number } from '../format.js';
import { ground } from '../ground.js';
import { shift } from '../ground/frame.js';

const usual = 3; // hours

/**
 * @param {() => void} changed
 * @returns {{el: HTMLElement, show: (g: Object) => void, read: () => Object|null, reset: () => void}}
 *   read gives what POST /api/plan takes, null while the hours are no number
 */
export function nextForm(changed) {
  const hours = hoursField(changed);
  const start = endField('start', 'Start', 'the usual place', changed);
  const end = endField('end', 'End', 'back at the start', changed);
  const byFinds = h('input', { type: 'checkbox', id: 'next-by-finds', 'aria-describedby': 'next-by-finds-more', onchange: changed });
  return {
    el: h('form', { class: 'next-form', onsubmit: (e) => e.preventDefault() },
      hours.el, h('div', { class: 'pair' }, start.el, end.el),
      h('div', { class: 'field' }, h('label', { class: 'tick' }, byFinds, 'Go by the finds'),
        h('p', { class: 'note', id: 'next-by-finds-more' }, 'Ground near finds comes first; scrap does not count.'))),
    show: (g) => {
      start.show(g.landmarks);
      end.show(g.landmarks);
    },
    reset: () => {
      start.reset();
      end.reset();
      byFinds.checked = false;
    },
    read: () => hours.value() && { datum: ground.datum(), hours: hours.value(), start: start.value(), end: end.value(), by_finds: byFinds.checked },
  };
}

// The slider is for the usual visits; the number beside it takes others as well.
function hoursField(changed) {
  const words = (v) => `${number(v, v % 1 === 0 ? 0 : v % 0.5 === 0 ? 1 : 2)} hours`;
  const slider = h('input', {
    type: 'range', id: 'next-hours', min: '0.5', max: '8', step: '0.25', value: usual, 'aria-valuetext': words(usual), oninput: () => set(slider.valueAsNumber),
  });
  const box = h('input', {
    type: 'number', min: '0.25', max: '24', step: '0.25', value: usual, 'aria-label': 'Hours', 'aria-describedby': 'next-hours-fault', oninput: () => set(box.valueAsNumber),
  });
  const fault = h('div', { class: 'fault', id: 'next-hours-fault', role: 'alert' });
  let now = usual;
  function set(v) {
    const fits = v > 0 && v <= 24;
    fill(fault, !fits && h('p', null, 'Hours are more than 0 and at most 24.'));
    if (fits) box.removeAttribute('aria-invalid');
    else box.setAttribute('aria-invalid', 'true');
    now = fits ? v : null;
    if (!fits) return;
    if (document.activeElement !== box) box.value = v;
    if (document.activeElement !== slider) slider.value = v;
    slider.setAttribute('aria-valuetext', words(v));
    changed();
  }
  return {
    value: () => now,
    el: h('div', { class: 'field' }, h('label', { for: 'next-hours' }, 'Hours you have'),
      h('div', { class: 'hours' }, slider, box, h('span', { 'aria-hidden': true }, 'h')), fault),
  };
}

/** A place to set out from or to end at: the usual one, a landmark, or one that is picked. */
function endField(name, label, otherwise, changed) {
  const id = `next-${name}`;
  let picked = null; // {at, datum}
  let landmarks = [];
  const select = h('select', { id, onchange: () => (select.value === 'pick' ? pick() : changed()) });
  const button = h('button', { type: 'button', class: 'small', onclick: pick }, 'Pick on the map', h('span', { class: 'unseen' }, `: ${label}`));
  async function pick() {
    const at = await ground.pick(name === 'start' ? 'Click where you set out.' : 'Click where the visit ends.');
    if (at) picked = { at, datum: ground.datum() };
    options(picked ? 'picked' : '');
    button.focus();
    if (at) changed();
  }
  function options(value) {
    const all = [['', otherwise], ...landmarks.map((l, i) => [`l${i}`, l.name || l.kind || 'landmark without a name']), picked && ['picked', 'the place picked']].filter(Boolean);
    fill(select, all.map(([v, words]) => h('option', { value: v }, words)));
    select.value = all.some(([v]) => v === value) ? value : '';
  }
  const chosen = () => landmarks[Number(select.value.slice(1))];
  options('');
  return {
    el: h('div', { class: 'field' }, h('label', { for: id }, label), select, button),
    show: (all) => {
      const name = select.value.startsWith('l') ? chosen().name : null;
      landmarks = all.filter((l) => l.points.length > 0);
      const at = name === null ? -1 : landmarks.findIndex((l) => l.name === name);
      options(name === null ? select.value : at < 0 ? '' : `l${at}`);
    },
    reset: () => {
      picked = null;
      landmarks = []; // they were of another book
      options('');
    },
    value: () => {
      if (select.value === '') return null;
      return select.value === 'picked' ? shift(picked.at, picked.datum, ground.datum()) : chosen().points[0];
    },
  };
}
