// The band along the top: the book, what can be claimed of its ground, and the work under way.

import { send } from './api.js';
import { fill, h } from './dom.js';
import { icon } from './drawings.js';
import { calm, say, sentence, trouble } from './say.js';
import { take, watch } from './state.js';
import { theme, turnTheme } from './theme.js';

/** Builds the band into an element. */
export function mountBand(el) {
  const name = h('h1', { class: 'band-name' });
  const claim = h('p', { class: 'claim' });
  const work = h('div', { class: 'work' });
  const undo = h('button', { type: 'button', class: 'quiet undo', onclick: undoLast });
  const shut = h('button', { type: 'button', class: 'quiet', onclick: () => post('/api/books/close', {}) }, 'Books');
  el.append(h('div', { class: 'band-left' }, name, claim, work), h('div', { class: 'band-right' }, undo, shut, themeButton()));
  const bar = workBar();
  watch((s) => {
    el.classList.toggle('without-book', !s.book);
    fill(name, s.book ? s.book.name : 'untrod');
    document.title = s.book ? `${s.book.name} – untrod` : 'untrod';
    claim.textContent = claimOf(s);
    claim.dataset.stage = s.stage;
    drawUndo(undo, s);
    shut.hidden = !s.book;
    const now = bar(s); // left alone while it is the same: a button that is put anew loses the focus, and a click under way
    if (work.firstChild !== now) fill(work, now);
  });
}

function claimOf(s) {
  if (s.refused) return problemWords({ error: s.refused.message, hints: s.refused.hints });
  if (!s.reached) return 'Waiting for untrod to answer …';
  if (!s.book) return 'Where has the coil been, and where has it not?';
  return s.claim.replace(/\bm2\b/g, 'm²') || (s.work.running ? 'Working it out …' : 'No visits yet: add the logs of where you walked.');
}

function drawUndo(button, s) {
  button.hidden = !s.book?.undo;
  const words = `Undo: ${s.book?.undo ?? ''}`;
  if (button.title === words) return; // a click under way would be lost
  button.title = words;
  fill(button, icon('undo'), h('span', null, 'Undo'), h('span', { class: 'undo-what' }, words.slice('Undo'.length)));
}

async function undoLast() {
  try {
    const answer = await send('POST', '/api/undo');
    say(`Undone: ${answer.undone}`);
  } catch (err) {
    trouble(err);
  }
}

// The parts are made once and kept, so that the focus stays on the button while the figures change.
function workBar() {
  const words = h('span', { class: 'work-words', id: 'work-words' });
  const bar = h('progress', { max: '1', 'aria-labelledby': 'work-words' });
  const stop = h('button', { type: 'button', class: 'small', onclick: () => post('/api/stop') }, 'Stop');
  const again = h('button', { type: 'button', class: 'small', onclick: () => post('/api/again') }, 'Work it out');
  const running = h('div', { class: 'row work-row' }, bar, words, stop);
  const stopped = h('div', { class: 'row work-row' }, h('span', { class: 'work-words' }), again);
  return (s) => {
    const w = s.work;
    if (!s.book || !s.reached) return null;
    if (w.running) {
      words.textContent = workWords(s);
      if (w.total > 0) bar.value = w.done / w.total;
      else bar.removeAttribute('value');
      return running;
    }
    if (!w.stopped && !w.problem) return null;
    fill(stopped.firstChild, w.problem ? problemWords(w.problem) : stoppedWords(s));
    return stopped;
  };
}

const stageWords = { logged: 'First sight', rough: 'Rough picture', full: 'Full picture' };

function workWords(s) {
  const parts = [stageWords[s.work.stage], s.work.doing].filter(Boolean).join(': ');
  return `${parts || 'Reading the book'} …`;
}

function stoppedWords(s) {
  return s.stage === 'full' ? 'Stopped.' : s.rev > 0
    ? 'Stopped: what is shown is rougher than it could be.' : 'Stopped before anything was worked out.';
}

function problemWords(problem) {
  return [sentence(problem.error), ...(problem.hints ?? []).map(sentence)].join('. ');
}

async function post(path, doc) {
  try {
    calm();
    take(await send('POST', path, doc));
  } catch (err) {
    trouble(err);
  }
}

function themeButton() {
  const button = h('button', { type: 'button', class: 'quiet icon', onclick: () => { turnTheme(); draw(); } });
  const draw = () => {
    const dark = theme() === 'dark';
    button.setAttribute('aria-label', dark ? 'Light desk' : 'Dark desk');
    button.title = dark ? 'Light desk' : 'Dark desk';
    fill(button, icon(dark ? 'sun' : 'moon'));
  };
  draw();
  return button;
}
