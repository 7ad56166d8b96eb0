// Plain choices of settings: cards with a drawing each, and a field for what no card says.

import { send } from './api.js';
import { fill, h } from './dom.js';
import { canopyDrawing, coilDrawing, swingDrawing } from './drawings.js';
import { parseLength } from './format.js';
import { hintsOf, say, sentence } from './say.js';
import { take, units } from './state.js';

let made = 0;

/**
 * Keeps settings in the book.
 * @param {Object<string, string>} settings values as typed after `untrod set`; "default" takes one out
 */
export async function keepSettings(settings) {
  take(await send('PUT', '/api/settings', settings));
  say(`Kept: ${Object.entries(settings).map(([k, v]) => `${k} ${v}`).join(', ')}.`);
}

/** The place of a field's fault. It is spoken when it comes. */
export function faultOf(id) {
  const el = h('div', { class: 'fault', id, role: 'alert' });
  return {
    el,
    clear: () => fill(el),
    // The program names the setting first; here the field says which one it is.
    show: (err) => fill(el, h('p', null, sentence(err.message.replace(/^(--)?[a-z-]+ ("[^"]*"|\S+): /, ''))), hintsOf(err)),
  };
}

/**
 * A field for one setting, kept when it is left or Enter is pressed. An empty one is the default.
 * @param {{name: string, label: string, more?: string, example?: string, also?: (says: Object) => Object}} of
 *   also: settings that must be kept with it, as the book's settings are
 * @returns {{el: HTMLElement, show: (says: Object) => void}}
 */
export function settingField({ name, label, more, example, also }) {
  const id = `set-${name}-${++made}`;
  const fault = faultOf(`${id}-fault`);
  let said = {};
  const kept = () => said[name] ?? '';
  const input = h('input', {
    id, type: 'text', autocomplete: 'off', spellcheck: 'false', placeholder: example,
    'aria-describedby': `${more ? `${id}-more ` : ''}${id}-fault`, onchange: keep,
    onkeydown: (e) => { if (e.key === 'Escape') { input.value = kept(); fault.clear(); } },
  });
  async function keep() {
    const text = input.value.trim();
    if (text === kept()) return fault.clear();
    try {
      await keepSettings({ [name]: text || 'default', ...(text ? also?.(said) : null) });
      fault.clear();
      input.removeAttribute('aria-invalid');
    } catch (err) {
      fault.show(err);
      input.setAttribute('aria-invalid', 'true');
    }
  }
  const el = h('div', { class: 'field' }, h('label', { for: id }, label),
    more && h('p', { class: 'note', id: `${id}-more` }, more), input, fault.el);
  return {
    el,
    show: (says) => {
      said = says;
      if (document.activeElement !== input && !input.hasAttribute('aria-invalid')) input.value = kept();
    },
  };
}

/**
 * A setting that is on or off.
 * @param {{name: string, label: string, more?: string}} of
 * @returns {{el: HTMLElement, show: (says: Object) => void}}
 */
export function settingTick({ name, label, more }) {
  const fault = faultOf(`tick-${name}-${++made}`);
  const input = h('input', {
    type: 'checkbox', onchange: async () => {
      try {
        await keepSettings({ [name]: input.checked ? 'true' : 'default' });
        fault.clear();
      } catch (err) {
        fault.show(err);
      }
    },
  });
  return {
    el: h('div', { class: 'field' }, h('label', { class: 'tick' }, input, h('strong', null, label)), more && h('p', { class: 'note' }, more), fault.el),
    show: (says) => { input.checked = says[name] === 'true'; },
  };
}

/**
 * Cards of which one is set.
 * @param {{name: string, legend: string, more?: string, also?: (says: Object) => Object, same?: (a: string, b: string) => boolean,
 *   options: {value: string, words: string, more?: string, picture?: Element}[], other?: {label: string, example: string}}} of
 * @returns {{el: HTMLElement, show: (says: Object) => void}}
 */
export function cards({ name, legend, more, also, options, other, same = (a, b) => a === b }) {
  const group = `cards-${name}-${++made}`;
  const fault = faultOf(`${group}-fault`);
  let said = {};
  const inputs = options.map((o) => h('input', {
    type: 'radio', name: group, value: o.value, onchange: async () => {
      try {
        await keepSettings({ [name]: o.value, ...also?.(said) });
        fault.clear();
      } catch (err) {
        fault.show(err);
      }
    },
  }));
  const field = other && settingField({ name, label: other.label, example: other.example, also });
  const el = h('fieldset', { class: 'cards' }, h('legend', null, legend), more && h('p', { class: 'note' }, more),
    h('div', { class: 'cards-row' }, options.map((o, i) => h('label', { class: 'card' }, inputs[i], o.picture,
      h('span', { class: 'card-words' }, o.words), o.more && h('span', { class: 'note' }, o.more)))),
    fault.el, field?.el);
  return {
    el,
    show: (says) => {
      said = says;
      let any = false;
      for (const i of inputs) {
        i.checked = same(i.value, says[name] ?? '');
        any ||= i.checked;
      }
      field?.show(any ? { ...says, [name]: '' } : says);
    },
  };
}

const sameLength = (a, b) => {
  const [x, y] = [parseLength(a), parseLength(b)];
  return x !== null && y !== null && Math.abs(x - y) < 1e-4;
};

// A coil without a swing says nothing, so that whichever is chosen first brings the other.
// In each unit the usual sizes are round figures of their own.
const sizes = {
  metric: { coil: ['23cm', '28cm', '33cm', '38cm'], swing: ['0.8m', '1.2m', '1.6m'] },
  imperial: { coil: ['9in', '11in', '13in', '15in'], swing: ['2.5ft', '4ft', '5ft'] },
};

const spaced = (text) => text.replace(/([a-z]+)$/, ' $1');
const mine = () => sizes[units()] ?? sizes.metric;

/** Cards of coil sizes. */
export function coilCards() {
  return cards({
    name: 'coil', legend: 'Your coil', more: 'Its longer side.', also: (says) => (says.swing ? {} : { swing: mine().swing[1] }), same: sameLength,
    options: mine().coil.map((value) => ({ value, words: spaced(value), picture: coilDrawing(parseLength(value)) })),
    other: { label: 'Another size', example: units() === 'imperial' ? '10in' : '25cm' },
  });
}

const swingWords = ['short, among trees', 'usual', 'long, on open ground'];

/** Cards of how wide the coil is swung. */
export function swingCards() {
  return cards({
    name: 'swing', legend: 'Your swing', more: 'How far the middle of the coil goes from side to side.',
    also: (says) => (says.coil ? {} : { coil: mine().coil[1] }), same: sameLength,
    options: mine().swing.map((value, i) => ({ value, words: spaced(value), more: swingWords[i], picture: swingDrawing(parseLength(value)) })),
    other: { label: 'Another width', example: units() === 'imperial' ? '3.5ft' : '1m' },
  });
}

/** Cards of the sky over the walk. */
export function canopyCards() {
  return cards({
    name: 'canopy', legend: 'The sky over you',
    more: 'Leaves make a receiver wander. In doubt take the denser: too little is claimed then, not too much.',
    options: [
      { value: 'open', words: 'Open', more: 'field, beach', picture: canopyDrawing('open') },
      { value: 'light', words: 'Some leaves', more: 'orchard, hedge', picture: canopyDrawing('light') },
      { value: 'dense', words: 'Closed leaves', more: 'wood', picture: canopyDrawing('dense') },
    ],
  });
}
