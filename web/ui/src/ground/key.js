// The key of the map: which picture is shown, what its colours mean, what lies over it.

import { fill, h } from '../dom.js';
import { chip } from './spot.js';

const SIGNS = [
  ['keepout', 'keep-out'],
  ['edge', 'edge of the site'],
  ['point', 'landmark'],
  ['mark', 'mark: its place is known well'],
];

/** The key, a box that folds. */
export class Key {
  /**
   * @param {{choose: (name: string) => void, opacity: (share: number) => void,
   *   turn: (name: string, on: boolean) => void, turnVisit: (n: number, on: boolean) => void, opened: () => void}} does
   */
  constructor(does) {
    this.does = does;
    this.title = h('span', { class: 'key-title' }, 'Key');
    this.choices = h('fieldset', { class: 'key-layers' });
    this.legend = h('ul', { class: 'key-legend' });
    this.visits = h('ul', { class: 'key-visits', hidden: true });
    this.el = h('div', { class: 'map-key' },
      h('details', { ontoggle: (e) => e.target.open && this.does.opened() }, h('summary', { title: 'Choose what the map shows' }, this.title),
        h('div', { class: 'key-body' }, this.choices, this.fade(), this.overlays(), this.visits,
          h('ul', { class: 'key-legend' }, SIGNS.map(sign)))),
      this.legend);
  }

  fade() {
    const input = h('input', { type: 'range', min: 0, max: 100, step: 5, value: 100, oninput: () => this.does.opacity(input.value / 100) });
    return h('label', { class: 'key-fade' }, h('span', null, 'Strength'), input);
  }

  overlays() {
    const box = (name, words, on) => h('label', { class: 'key-check' },
      h('input', { type: 'checkbox', checked: on, onchange: (e) => this.does.turn(name, e.target.checked) }), words);
    return h('fieldset', { class: 'key-overlays' }, h('legend', null, 'Over it'),
      box('gaps', 'Gaps and their numbers', true), box('shapes', 'Keep-outs and landmarks', true), box('names', 'Names', true),
      box('net', 'Distances along the edges', true), box('tracks', 'Walked lines', false));
  }

  /** Shows the layers there are, and the colours of the chosen one, or of a moment of the replay. */
  show(layers, chosen, replayed) {
    const now = layers.find((l) => l.name === (replayed ? 'swept' : chosen));
    this.title.textContent = replayed || now?.title || 'Key';
    fill(this.legend, (now?.legend ?? []).map((l) => h('li', null, swatch(l), l.words)));
    const titles = layers.map((l) => `${l.name} ${l.title}`).join('\n');
    if (titles !== this.titles) fill(this.choices, h('legend', { class: 'unseen' }, 'Show'), layers.map((l) => this.choice(l)));
    this.titles = titles;
    for (const input of this.choices.querySelectorAll('input')) input.checked = input.value === chosen;
  }

  choice({ name, title }) {
    return h('label', { class: 'key-check' },
      h('input', { type: 'radio', name: 'layer', value: name, onchange: () => this.does.choose(name) }), title);
  }

  /** Lists the visits whose walks are drawn; none when they are not. */
  showVisits(visits) {
    this.visits.hidden = !visits.length;
    fill(this.visits, visits.map((v) => h('li', null, h('label', { class: 'key-check' },
      h('input', { type: 'checkbox', checked: true, onchange: (e) => this.does.turnVisit(v.n, e.target.checked) }), chip(v.n), v.name))));
  }
}

function swatch({ colour, dots, outline }) {
  const el = h('span', { class: `swatch${dots ? ' dotted' : ''}${outline ? ' outlined' : ''}`, 'aria-hidden': 'true' });
  el.style.setProperty('--wash', colour);
  if (dots) el.style.setProperty('--dots', dots);
  return el;
}

function sign([name, words]) {
  return h('li', null, h('span', { class: `swatch sign-${name}`, 'aria-hidden': 'true' }), words);
}
