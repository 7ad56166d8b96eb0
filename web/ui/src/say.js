// What the page says of itself: notices, troubles, questions, waiting.

import { fill, h } from './dom.js';

const shownFor = 6000; // milliseconds; long enough to read two lines twice

let polite = null;
let notices = null;
let troubles = null;

/** Finds the places of index.html that these words go to. */
export function mountSay() {
  polite = document.getElementById('polite');
  notices = document.getElementById('notices');
  troubles = document.getElementById('troubles');
}

/**
 * Says something in passing: on the page for a moment, and to screen readers.
 * @param {string} text
 */
export function say(text) {
  fill(polite, text);
  const note = h('p', { class: 'notice' }, text);
  fill(notices, note);
  setTimeout(() => note.remove(), shownFor);
}

/**
 * Shows what went wrong until it is put away.
 * @param {Error} err a Problem, with hints, or any other
 */
export function trouble(err) {
  if (err?.name === 'AbortError') return;
  if (err?.name !== 'Problem') console.error(err);
  const box = h('div', { class: 'trouble', role: 'alert' },
    h('div', { class: 'trouble-words' },
      h('p', { class: 'trouble-what' }, sentence(err?.message ?? String(err))),
      hintsOf(err)),
    h('button', { type: 'button', class: 'quiet icon', 'aria-label': 'Put this message away', onclick: () => box.remove() }, '×'));
  fill(troubles, box);
}

/** Takes away what trouble shows. */
export function calm() {
  fill(troubles);
}

/**
 * The hints of a problem as a list, or null.
 * @param {{hints?: string[]}} err
 */
export function hintsOf(err) {
  const hints = err?.hints ?? [];
  return hints.length === 0 ? null : h('ul', { class: 'hints' }, hints.map((t) => h('li', null, sentence(t))));
}

/** Text with a capital. The program writes its errors without, for they begin with a place; its own name has none. */
export function sentence(text) {
  return /^(?!untrod\b)[a-z]+[\s,]/.test(text) ? text[0].toUpperCase() + text.slice(1) : text;
}

/**
 * Asks before something is done.
 * @param {string} text the question
 * @param {string} action on the button that does it, such as "Drop the visit"
 * @returns {Promise<boolean>}
 */
export async function confirmed(text, action) {
  return (await chosen(text, [], action)) !== null;
}

/**
 * Asks which of several, in a dialog.
 * @param {string} text the question
 * @param {{value: string, words: string, more?: string}[]} options radio buttons, the first one set; may be none
 * @param {string} action on the button
 * @returns {Promise<string|null>} the value, null when put away
 */
export function chosen(text, options, action) {
  return new Promise((resolve) => {
    const choices = options.map((o, i) => h('label', { class: 'choice' },
      h('input', { type: 'radio', name: 'chosen', value: o.value, checked: i === 0 }),
      h('span', null, h('span', { class: 'choice-words' }, o.words), o.more && h('small', null, o.more))));
    const form = h('form', { method: 'dialog' },
      h('p', { class: 'dialog-question', id: 'dialog-question' }, text),
      choices.length > 0 && h('fieldset', { class: 'choices' }, h('legend', { class: 'unseen' }, text), choices),
      h('div', { class: 'row end' },
        h('button', { type: 'submit', value: '' }, 'Cancel'),
        h('button', { type: 'submit', class: 'strong', value: 'yes' }, action)));
    const dialog = h('dialog', { 'aria-labelledby': 'dialog-question' }, form);
    const before = document.activeElement;
    dialog.addEventListener('close', () => {
      const value = form.querySelector('input:checked')?.value ?? 'yes';
      resolve(dialog.returnValue === 'yes' ? value : null);
      dialog.remove();
      before?.focus?.();
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}

/**
 * Shows that something takes a while, and hands on what comes of it.
 * @template T
 * @param {Promise<T>} promise
 * @param {string} text such as "Adding the logs"
 * @returns {Promise<T>}
 */
export async function busy(promise, text) {
  const note = h('p', { class: 'notice busy', role: 'status' }, h('span', { class: 'turning', 'aria-hidden': true }), text);
  const late = setTimeout(() => notices.append(note), 250); // what is done at once needs no word
  try {
    return await promise;
  } finally {
    clearTimeout(late);
    note.remove();
  }
}
