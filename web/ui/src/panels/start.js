// The start: no book is open.

import { send } from '../api.js';
import { fill, h } from '../dom.js';
import { groundDrawing } from '../drawings.js';
import { makeBook, takeFiles } from '../drop.js';
import { fileButton } from '../files.js';
import { dateTime } from '../format.js';
import { busy, calm, trouble } from '../say.js';
import { take, watch } from '../state.js';

export const panel = {
  id: 'start',
  title: 'Books',
  mount(el) {
    const books = h('div');
    el.append(h('div', { class: 'start-inside' }, dropArea(), h('div', { class: 'start-columns' }, books, newBook())));
    let drawn = null;
    watch((s) => {
      const key = JSON.stringify(s.books);
      if (key === drawn) return; // so that the focus stays where it is
      drawn = key;
      fill(books, listOf(s.books));
    });
  },
};

function dropArea() {
  return h('div', { class: 'drop-area' },
    groundDrawing(),
    h('h2', null, 'Drop the logs of your visits here'),
    h('p', null, 'Tracks from a phone, a watch or a hand-held receiver, as many as you have: GPX, FIT, KML, TCX, NMEA, CSV or a zip of them.'),
    h('div', { class: 'row centre' },
      fileButton('Choose the logs', takeFiles, { strong: true }),
      h('button', { type: 'button', onclick: demo }, 'Look at an example')),
    h('p', { class: 'note' }, 'Everything stays on this computer. Nothing is sent anywhere.'));
}

function listOf(books) {
  if (books.length === 0) {
    return [h('h2', null, 'Your books'),
      h('p', { class: 'empty' }, 'None yet. A book is one file that keeps everything of one site: drop logs, or start one by its name.')];
  }
  return [h('h2', null, 'Your books'), h('ul', { class: 'books' }, books.map((b) => h('li', null,
    h('button', { type: 'button', class: 'book', onclick: () => act('/api/books/open', { file: b.file }, 'Opening the book') },
      h('span', { class: 'book-name' }, b.file.replace(/\.gpkg$/i, '')),
      h('span', { class: 'note' }, `changed ${dateTime(b.changed)}`)))))];
}

function newBook() {
  const name = h('input', { id: 'new-book', name: 'name', required: true, maxlength: 80, autocomplete: 'off' });
  return h('form', {
    onsubmit: (e) => {
      e.preventDefault();
      calm();
      makeBook(name.value.trim()).then(() => { name.value = ''; }, trouble);
    },
  },
  h('h2', null, 'A new book'),
  h('label', { for: 'new-book' }, 'What do you call the site?'),
  h('div', { class: 'row' }, name, h('button', { type: 'submit' }, 'Start it')));
}

const demo = () => act('/api/books/demo', {}, 'Making the example');

async function act(path, doc, words) {
  calm();
  try {
    take(await busy(send('POST', path, doc), words));
  } catch (err) {
    trouble(err);
  }
}
