// What the result rests on: coil, swing, sky, units, and finer settings.

import { ask } from '../api.js';
import { canopyCards, cards, coilCards, settingField, settingTick, swingCards } from '../choices.js';
import { fill, h } from '../dom.js';
import { begin } from '../firstvisit.js';
import { trouble } from '../say.js';
import { current, units, whenNew } from '../state.js';

// Shown above the finer ones, or where a visit is.
const elsewhere = ['coil', 'swing', 'swath', 'sweep-time', 'canopy', 'accuracy', 'accuracy-as', 'units', 'laid-out', 'without'];

export const panel = {
  id: 'settings',
  title: 'Settings',
  mount(el) {
    const body = h('div');
    el.append(h('h2', null, 'Settings'),
      h('p', null, 'Everything is worked out anew when one changes. Undo takes a change back.'), body, more());
    let form = null;
    let made = '';
    whenNew(async (s) => {
      if (!s.book) return;
      try {
        const doc = await ask('/api/settings');
        const key = `${s.book.file} ${units()}`;
        if (key !== made) { // sizes are round figures of the units
          form = formOf(doc);
          fill(body, form.el);
          made = key;
        }
        form.show(doc.says ?? {});
      } catch (err) {
        if (err.status !== 409) trouble(err);
      }
    });
  },
};

function formOf({ known = [] }) {
  const parts = [coilCards(), swingCards(), sweepTime(), canopyCards(), unitCards()];
  const rather = [swath(), accuracy(), accuracyAs()];
  const finer = known.filter((k) => !elsewhere.includes(k.name)).map((k) => ({ group: k.group, ...fieldOf(k) }));
  const show = (says) => [...parts, ...rather, ...finer].forEach((p) => p.show(says));
  return {
    show,
    el: h('div', { class: 'settings' }, parts.map((p) => p.el),
      h('details', null, h('summary', null, 'If you have measured'), rather.map((p) => p.el)),
      h('details', null, h('summary', null, 'Finer settings'),
        h('p', { class: 'note' }, 'Each stands at what suits most sites. An empty field takes that again.'),
        grouped(finer))),
  };
}

function grouped(fields) {
  const names = [...new Set(fields.map((f) => f.group))];
  return names.map((name) => [h('h3', null, name.replace(/ \(with --.*\)/, '')), fields.filter((f) => f.group === name).map((f) => f.el)]);
}

const words = (name) => name[0].toUpperCase() + name.slice(1).replaceAll('-', ' ');

function fieldOf({ name, usage, default: usual }) {
  const said = usage.replaceAll('`', '').replaceAll('--', '');
  const more = said.charAt(0).toUpperCase() + said.slice(1);
  if (usual === 'false') return settingTick({ name, label: words(name), more });
  return settingField({ name, label: words(name), example: usual ?? '', more });
}

const sweepTime = () => settingField({
  name: 'sweep-time', label: 'Time of one sweep', example: 'not measured',
  more: 'From one end of the swing to the other, such as 1.2s. With it, swept means that the coil itself passed over.',
});

const swath = () => settingField({
  name: 'swath', label: 'Width of the swath', example: units() === 'imperial' ? '5ft' : '1.5m',
  more: 'Instead of coil and swing: how wide a strip one forward walk sweeps.',
});

const accuracy = () => settingField({
  name: 'accuracy', label: 'Accuracy of the receiver', example: units() === 'imperial' ? '13ft' : '4m',
  more: 'Instead of the sky over you: the radius that holds 95 % of its positions.',
});

const accuracyAs = () => settingField({
  name: 'accuracy-as', label: 'What that accuracy means', example: '95',
  more: 'The radius of 95, 68 or 50 % of positions, or rms.',
});

function unitCards() {
  const c = cards({
    name: 'units', legend: 'Units',
    options: [{ value: 'metric', words: 'Metres' }, { value: 'imperial', words: 'Feet' }],
  });
  return { el: c.el, show: (says) => c.show({ units: 'metric', ...says }) };
}

function more() {
  return h('div', { class: 'row' },
    h('button', { type: 'button', onclick: () => begin(current().book?.file) }, 'Go through the first steps again'),
    h('a', { class: 'button', href: '/api/book.gpkg', download: '' }, 'Save a copy of the book'));
}
