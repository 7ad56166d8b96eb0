// What the lists of the site hold, and how their words and numbers are typed.

import { Problem } from '../api.js';
import { h } from '../dom.js';
import { area, length, parseLength, percent } from '../format.js';
import { areaOf, lengthOf } from './frame.js';

function field(words, value, attrs = {}) {
  const input = h('input', { type: 'text', value, autocomplete: 'off', ...attrs });
  return { input, el: h('label', { class: 'field' }, h('span', null, words), input) };
}

const text = (f) => f.input.value.trim();

function numberIn(f, least, most, what) {
  const v = Number(text(f).replace(',', '.').replace(/[%°]\s*$/, ''));
  if (text(f) === '' || !(v >= least && v <= most)) throw new Problem(`${what} must be ${least} to ${most}`);
  return v;
}

export const keepouts = {
  member: 'keepouts',
  one: 'keep-out',
  about: 'Ground that must not or cannot be searched: a pond, beds, a protected place. It counts for nothing.',
  adds: [['area', 'Draw a keep-out', 'Click the corners of the keep-out.']],
  fresh: () => ({ name: '', outer: [], holes: [] }),
  detail: (k) => area(areaOf(k.outer)),
  fields: (k) => {
    const name = field('Name', k.name);
    return { el: [name.el], read: () => ({ name: text(name) }) };
  },
};

const sizeOf = { point: () => '', line: (l) => length(lengthOf(l.points)), area: (l) => area(areaOf(l.points)) };

export const landmarks = {
  member: 'landmarks',
  one: 'landmark',
  about: 'What finds may gather round: a well, a gateway, an old path. A mark is a point whose true place is known well; standing at it on each visit checks the receiver.',
  adds: [
    ['point', 'Add a point', 'Click where the landmark is.'],
    ['line', 'Add a line', 'Click along the line of the landmark.'],
    ['area', 'Add an area', 'Click the corners of the landmark.'],
  ],
  fresh: (shape) => ({ name: '', kind: '', mark: false, shape, points: [] }),
  detail: (l) => [l.mark ? 'mark' : l.kind, sizeOf[l.shape](l)].filter(Boolean).join(', '),
  fields: (l) => {
    const name = field('Name', l.name);
    const kind = field('What it is', l.kind, { placeholder: 'well, gateway, oak' });
    const mark = h('input', { type: 'checkbox', checked: l.mark });
    const marks = l.shape === 'point' && h('label', { class: 'key-check' }, mark, 'Its true place is known: it is a mark');
    return { el: [name.el, kind.el, marks], read: () => ({ name: text(name), kind: text(kind), mark: l.shape === 'point' && mark.checked }) };
  },
};

export const slow = {
  member: 'slow',
  one: 'slow ground',
  about: 'Steep, wet or thorny ground. It changes no share of swept ground, but the next visit takes longer there.',
  adds: [['area', 'Draw slow ground', 'Click the corners of the slow ground.']],
  fresh: () => ({ name: '', outer: [], holes: [], pace: 0.5 }),
  detail: (s) => `${percent(100 * s.pace)} of the usual pace`,
  fields: (s) => {
    const name = field('Name', s.name);
    const pace = field('Pace there, in percent of the usual', String(Math.round(100 * s.pace)), { inputmode: 'decimal' });
    return { el: [name.el, pace.el], read: () => ({ name: text(name), pace: numberIn(pace, 5, 100, 'the pace') / 100 }) };
  },
};

export const laidOut = {
  member: 'laid_out',
  one: 'laid-out ground',
  about: 'Ground that was walked in lanes along string lines or flags. The log then only has to confirm the lanes.',
  adds: [['area', 'Draw laid-out ground', 'Click the corners of the laid-out ground.']],
  fresh: () => ({ name: '', outer: [], holes: [], spacing_m: 1, direction_deg: 0, session: '' }),
  detail: (l) => `lanes ${length(l.spacing_m)} apart, at ${Math.round(l.direction_deg)}°${l.session ? `, ${l.session}` : ''}`,
  fields: (l) => {
    const name = field('Name', l.name);
    const spacing = field('Between neighbouring lanes', length(l.spacing_m));
    const direction = field('Direction of the lanes, degrees from true north', String(l.direction_deg), { inputmode: 'decimal' });
    const session = field('Visit in which it was walked', l.session, { placeholder: 'any' });
    const read = () => ({ name: text(name), spacing_m: spacingIn(spacing), direction_deg: numberIn(direction, 0, 180, 'the direction'), session: text(session) });
    return { el: [name.el, spacing.el, direction.el, session.el], read };
  },
};

function spacingIn(f) {
  const m = parseLength(text(f));
  if (!(m >= 0.1 && m <= 20)) throw new Problem(`lanes must be ${length(0.1)} to ${length(20)} apart`);
  return m;
}
