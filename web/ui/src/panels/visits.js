// The visits of the open book: what each added, and whether it counts.

import { ask, send } from '../api.js';
import { fill, h } from '../dom.js';
import { icon } from '../drawings.js';
import { addLogs, onAdded } from '../drop.js';
import { fileButton } from '../files.js';
import { area, count, dateTime, duration, length, percent, visitColour } from '../format.js';
import { confirmed, say, trouble } from '../say.js';
import { current, take, whenNew } from '../state.js';

export const panel = {
  id: 'visits',
  title: 'Visits',
  mount(el) {
    const list = h('div');
    const said = h('details', { class: 'added', hidden: true });
    el.append(
      h('div', { class: 'panel-head' }, h('h2', null, 'Visits'),
        fileButton('Add logs', (files) => addLogs(files).catch(trouble), { strong: true })),
      said, list);
    onAdded(({ text, problem }) => {
      said.hidden = !text && !problem;
      fill(said, h('summary', null, 'What was found in the logs'), h('pre', null, [text, problem].filter(Boolean).join('\n\n')));
    });
    let asked = 0;
    whenNew(async (s) => {
      const mine = ++asked;
      if (!s.book) return;
      try {
        const visits = await ask('/api/visits');
        if (mine === asked) draw(list, visits);
      } catch (err) {
        if (mine === asked) trouble(err);
      }
    });
  },
};

// Drawn anew as a whole; the focus goes back to the control of the same name.
function draw(list, visits) {
  const focused = list.contains(document.activeElement) ? document.activeElement.id : '';
  const widest = Math.max(...visits.map((v) => v.new_ground_m2 ?? 0), 0);
  fill(list, visits.length === 0 ? empty() : [summary(visits),
    h('ol', { class: 'visits' }, [...visits].sort(byTime).map((v) => visitOf(v, widest)))]);
  if (focused) document.getElementById(focused)?.focus();
}

function empty() {
  return h('div', { class: 'empty' },
    h('p', null, 'No visits yet.'),
    h('p', null, 'Drop the logs of your visits anywhere on this page, or add them with the button. One file may hold many visits; the same log twice is counted once.'));
}

const byTime = (a, b) => (a.start ?? '9').localeCompare(b.start ?? '9');

function summary(visits) {
  const counted = visits.filter((v) => !v.left_out);
  const searching = counted.reduce((s, v) => s + (v.searching_s ?? 0), 0);
  const left = visits.length - counted.length;
  return h('p', null, `${count(counted.length, 'visit', 'visits')}, ${duration(searching)} of searching`,
    left > 0 && `; ${count(left, 'is', 'are')} left out`, '.');
}

function visitOf(v, widest) {
  const dot = h('span', { class: 'dot', 'aria-hidden': true });
  dot.style.background = visitColour(v.left_out ? -1 : v.n);
  return h('li', { class: v.left_out ? 'visit left-out' : 'visit' },
    h('div', { class: 'visit-head' }, dot, h('h3', null, v.name || v.file), dropButton(v)),
    h('p', { class: 'note' }, [v.start ? dateTime(v.start) : 'no times', v.walker, v.name && v.name !== v.file && v.file].filter(Boolean).join(' · ')),
    v.copy_of && h('p', { class: 'remark' }, `The same walk as ${v.copy_of}: counted once.`),
    !v.left_out && figures(v),
    !v.left_out && widest > 0 && newBar(v, widest),
    h('div', { class: 'visit-choices' }, counts(v), v.lanes > 0 && lanes(v)));
}

function figures(v) {
  const rows = [
    ['searched', duration(v.searching_s)],
    ['new ground', area(v.new_ground_m2)],
    ['rewalked', percent(v.rewalked_percent)],
    v.ties > 0 && ['at marks', `${count(v.ties, 'time', 'times')}, to ${length(v.tie_m)}`],
    v.lost_s >= 60 && ['no position', duration(v.lost_s)],
  ].filter(Boolean);
  return h('dl', { class: 'figures' }, rows.map(([k, x]) => h('div', null, h('dt', null, k), h('dd', null, x))));
}

// How much new ground beside the other visits.
function newBar(v, widest) {
  const bar = h('span', { class: 'new-bar', 'aria-hidden': true }, h('span'));
  bar.firstChild.style.width = `${(100 * (v.new_ground_m2 ?? 0)) / widest}%`;
  return bar;
}

function counts(v) {
  return tick(`counts-${v.id}`, 'Counts', !v.left_out,
    (yes) => change('/api/visits/left-out', { id: v.id, yes: !yes }, yes ? 'It counts again.' : 'Left out: it counts for nothing, and stays in the book.'));
}

function lanes(v) {
  return h('div', { class: 'lanes' },
    h('p', null, `${count(v.lanes, 'lane', 'lanes')} ${length(v.lane_spacing_m)} apart were found. Were they walked to lines or flags?`),
    tick(`laid-${v.id}`, 'Walked to a line', v.laid_out,
      (yes) => change('/api/visits/laid-out', { id: v.id, yes }, yes ? 'Taken as walked to a line.' : 'No longer taken as walked to a line.')));
}

function tick(id, words, on, then) {
  return h('label', { class: 'tick' }, h('input', { type: 'checkbox', id, checked: on, onchange: (e) => then(e.target.checked) }), words);
}

function dropButton(v) {
  const name = v.name || v.file;
  return h('button', {
    type: 'button', class: 'quiet icon', id: `drop-${v.id}`, 'aria-label': `Drop ${name}`, title: 'Drop this visit',
    onclick: async () => {
      if (await confirmed(`Take ${name} out of ${current().book.name}? Its log leaves the book as well; Undo brings it back.`, 'Drop the visit')) {
        change('/api/visits/drop', { id: v.id }, `${name} was dropped.`);
      }
    },
  }, icon('drop'));
}

async function change(path, doc, words) {
  try {
    take(await send('POST', path, doc));
    say(words);
  } catch (err) {
    trouble(err);
  }
}
