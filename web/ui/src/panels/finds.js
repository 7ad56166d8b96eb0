// The finds of the book: the list, and what is done with each.

import { Problem, send, upload } from '../api.js';
import { fill, h } from '../dom.js';
import { fileButton } from '../files.js';
import { findForm } from '../finds/form.js';
import { rowOf } from '../finds/row.js';
import { choose, followFinds, held, onFinds } from '../finds/store.js';
import { factsOf, nameOf, verdicts } from '../finds/words.js';
import { count } from '../format.js';
import { ground } from '../ground.js';
import { busy, confirmed, say, trouble } from '../say.js';
import { take, watch } from '../state.js';
import { openPanel } from '../tabs.js';

followFinds();
ground.onPick('finds', (id) => {
  openPanel('finds', { focus: true });
  goTo?.(id);
});

let goTo = null;
const fewest = 5; // finds that a filter is worth its room for

export const panel = {
  id: 'finds',
  title: 'Finds',
  mount(el) {
    const at = { form: h('div'), said: h('details', { class: 'added', hidden: true }), filter: filterOf(() => draw(at, does)), list: h('div'), typed: false, added: 0, close: null };
    const does = { change: (f) => openForm(at, f), drop };
    el.append(
      h('div', { class: 'panel-head' }, h('h2', null, 'Finds'),
        h('button', { type: 'button', class: 'strong', id: 'add-find', onclick: () => openForm(at, null) }, 'Add a find')),
      at.form, at.filter.el, at.list, adding(at), at.said);
    onFinds(() => draw(at, does));
    watch((s, before) => {
      if (before && s.book?.file !== before.book?.file) at.close?.(); // it is of another book
    });
    goTo = (id) => {
      if (!document.getElementById(`find-${id}`)) at.filter.clear();
      const row = document.getElementById(`find-${id}`);
      row?.scrollIntoView({ block: 'center' });
      row?.focus({ preventScroll: true });
    };
  },
};

function filterOf(changed) {
  const words = h('input', { type: 'search', id: 'finds-words', placeholder: 'any word of it', oninput: changed });
  const verdict = h('select', { id: 'finds-verdict', onchange: changed }, h('option', { value: '' }, 'all'), verdicts.map((v) => h('option', { value: v }, v)));
  return {
    el: h('div', { class: 'pair finds-filter', hidden: true },
      h('div', { class: 'field' }, h('label', { for: 'finds-words' }, 'Look for'), words),
      h('div', { class: 'field' }, h('label', { for: 'finds-verdict' }, 'Verdict'), verdict)),
    takes: (f) => (!verdict.value || f.verdict === verdict.value)
      && [nameOf(f), f.note, ...factsOf(f, held.visits)].join(' ').toLowerCase().includes(words.value.trim().toLowerCase()),
    clear: () => {
      words.value = verdict.value = '';
      changed();
    },
  };
}

// Drawn anew as a whole; the focus goes back to where it was.
function draw(at, does) {
  const row = document.activeElement?.closest?.('.find');
  const focused = row && document.activeElement.id;
  const place = row ? [...row.parentElement.children].indexOf(row) : -1;
  at.filter.el.hidden = held.finds.length < fewest;
  const shown = held.finds.filter(at.filter.el.hidden ? () => true : at.filter.takes).sort(newestFirst);
  fill(at.list, held.finds.length === 0 ? empty() : [
    h('p', { 'aria-live': 'polite' }, summary(shown)),
    h('ol', { class: 'finds' }, shown.map((f) => rowOf(f, held.visits, does)))]);
  choose(null);
  const next = (focused && document.getElementById(focused)) ?? at.list.querySelectorAll('.find')[Math.min(place, shown.length - 1)];
  if (row) (next ?? document.getElementById('add-find')).focus();
  else if (at.added && document.getElementById(`find-${at.added}`)) goTo(at.added);
  if (document.getElementById(`find-${at.added}`)) at.added = 0;
}

const newestFirst = (a, b) => (b.time ?? '').localeCompare(a.time ?? '') || b.id - a.id;

function summary(shown) {
  const keepers = shown.filter((f) => f.verdict === 'keeper').length;
  const placeless = shown.filter((f) => !f.at).length;
  const of = shown.length < held.finds.length ? ` of ${held.finds.length}` : '';
  return [`${count(shown.length, 'find', 'finds')}${of}`, keepers > 0 && `${count(keepers, 'keeper', 'keepers')}`,
    placeless > 0 && `${count(placeless, 'is', 'are')} without a place`].filter(Boolean).join(', ') + '.';
}

function empty() {
  return h('div', { class: 'empty' },
    h('p', null, 'No finds yet.'),
    h('p', null, 'With finds in the book, untrod tells how many each part of the ground gave for the same ground swept. Enter scrap as well: it tells as much of where people were, and of what your readings mean.'));
}

function adding(at) {
  return h('div', { class: 'finds-adding' },
    h('h3', null, 'Many at once'),
    h('p', { class: 'note' }, 'Tables (CSV) with a find in each row, waypoints (GPX), or photos: place and time are read from them, and a photo without a place is put where you stood then.'),
    fileButton('Add tables or photos', async (files) => {
      try {
        const said = await busy(upload('/api/finds/file', files), 'Reading the finds');
        at.said.hidden = !said.text && !said.problem;
        fill(at.said, h('summary', null, 'What was found in the files'), h('pre', null, [said.text, said.problem].filter(Boolean).join('\n\n')));
        say(said.text.split('\n')[0] || 'Read.');
        if (said.problem) trouble(new Problem(said.problem));
      } catch (err) {
        trouble(err);
      }
    }, { accept: '.csv,.tsv,.txt,.gpx,.zip,image/*,.heic,.heif' }));
}

async function openForm(at, f) {
  if (at.typed && !(await confirmed('Leave what is typed in the other form?', 'Leave it'))) return;
  const form = findForm(f, held, (id) => {
    Object.assign(at, { typed: false, close: null });
    at.added = f ? 0 : id ?? 0; // its row is yet to come
    fill(at.form);
    document.getElementById(f ? `change-find-${f.id}` : 'add-find')?.focus();
  });
  at.typed = false;
  at.close = form.close;
  form.el.addEventListener('input', () => { at.typed = true; });
  fill(at.form, form.el);
  form.el.scrollIntoView({ block: 'nearest' });
  form.focus();
}

async function drop(f) {
  if (!(await confirmed(`Take ${nameOf(f)} out of the book? Undo brings it back.`, 'Drop the find'))) return;
  try {
    take(await send('DELETE', `/api/finds/${f.id}`));
    say(`${nameOf(f)} was dropped. Undo brings it back.`);
  } catch (err) {
    trouble(err);
  }
}
