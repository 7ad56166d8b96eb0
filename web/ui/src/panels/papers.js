// Papers: what is printed, sent or carried, each made by the program's own commands.

import { send, upload } from '../api.js';
import { fill, h } from '../dom.js';
import { fileButton } from '../files.js';
import { fileSize } from '../format.js';
import { busy, hintsOf, say, sentence, trouble } from '../say.js';

const position = 'It holds the site’s position: give it only to those who may know where it is.';
const paper = { name: 'paper', label: 'Paper', choices: [['a4', 'A4'], ['letter', 'Letter']] };

/** The kinds of paper, with the options of each as web/papers.go takes them. */
const kinds = [
  {
    kind: 'statement', title: 'Statement', action: 'Make the statement',
    words: 'What was searched, for somebody who was not there: as PDF, as a page to send, and as a file with which anybody who has the logs can check it.',
    caution: position,
    fields: [
      { name: 'by', label: 'Who searched' },
      { name: 'for', label: 'For whom', example: 'the owner; permit 12' },
      { name: 'note', label: 'Words for the first page', long: true },
      { name: 'finds', label: 'Count the finds too', tick: true },
      paper,
      { name: 'key', label: 'Sign it with your key', file: '.pem', more: 'Others can then tell that it is yours.' },
    ],
    beside: () => newKey(),
  },
  {
    kind: 'sheet', title: 'Field sheet', action: 'Make the sheet',
    words: 'Pages to print and carry: maps that can be read in grey and in rain, what to walk, lines for finds, an emergency box.',
    caution: 'It does not say where the site is unless you give words for the emergency box.',
    fields: [
      { name: 'hours', label: 'Hours there are', number: true, example: 'the map alone' },
      { name: 'place', label: 'Where the site is, for the emergency box', example: 'left blank' },
      paper,
    ],
  },
  {
    kind: 'report', title: 'Report', action: 'Make the report',
    words: 'Everything in one file for a browser, with pictures and tables; it needs no network.',
    caution: position,
    fields: [{ name: 'hours', label: 'Hours of the next visit', number: true, example: '3' }],
  },
  {
    kind: 'share', title: 'Copy to show in public', action: 'Make the copy',
    words: 'Without the place: turned by a random angle, no north, no names, no positions, months only. Every file is read back and checked.',
    caution: 'The shape of the site is true: somebody who knows it may still recognise it.',
    fields: [
      { name: 'names', label: 'Show the names of landmarks', tick: true, more: 'A name may tell the place.' },
      { name: 'dates', label: 'Tell days, not months only', tick: true, more: 'A day may tell who was there.' },
      { name: 'photos', label: 'Put in the photos of finds', tick: true, more: 'Their hidden data are taken out; look at each, it may show the place.' },
    ],
  },
  {
    kind: 'map', title: 'Map and files for map programs', action: 'Make the files',
    words: 'The map as a picture, the gaps for a phone or handheld, and layers with their place: GeoJSON, KMZ, GeoTIFF, PNG with world file, CSV.',
    caution: position,
    fields: [],
  },
  {
    kind: 'book', title: 'The book as other files', action: 'Make the files',
    words: 'The site, its visits and places in an open format. The book itself is one file, and copying it keeps everything.',
    caution: position,
    fields: [{ name: 'to', label: 'Format', choices: [['gpx', 'GPX'], ['geojson', 'GeoJSON'], ['kml', 'KML'], ['csv', 'CSV']] }],
    beside: () => h('a', { class: 'button', href: '/api/book.gpkg', download: '' }, 'Save a copy of the book'),
  },
];

export const panel = {
  id: 'papers',
  title: 'Papers',
  mount(el) {
    el.append(h('h2', null, 'Papers'),
      h('p', null, 'Each is worked out anew from the book as it is now, in a few seconds.'),
      h('div', { class: 'papers' }, kinds.map(card)),
      h('h2', null, 'Checks'),
      h('div', { class: 'papers' }, checks.map(checkCard)));
  },
};

/** Commands that only tell something, most of them of a file. */
const checks = [
  {
    title: 'Is a statement true?', action: 'Check a statement', path: '/api/verify', accept: '.json',
    words: 'Its statement.json is worked out again from this book: it matches, or what differs is said.',
  },
  {
    title: 'Was the plan walked?', action: 'Compare a plan', path: '/api/walked', accept: '.json',
    words: 'The JSON file of a plan, kept from the day it was made, beside the latest visit: which lanes were walked, which left, and how far off.',
  },
  {
    title: 'Is the book sound?', action: 'Check the book', path: '/api/check',
    words: 'Every log in the book is compared with its own bytes as they came.',
  },
];

function checkCard(c) {
  const said = h('div', { class: 'made', 'aria-live': 'polite' });
  const run = async (asked) => {
    fill(said);
    try {
      const doc = await busy(asked, `${c.action}: under way`);
      fill(said, h('pre', null, [doc.text, doc.problem && sentence(doc.problem)].filter(Boolean).join('\n')));
    } catch (err) {
      fill(said, h('div', { class: 'fault', role: 'alert' }, h('p', null, sentence(err.message)), hintsOf(err)));
    }
  };
  return h('details', { class: 'section paper', name: 'paper' },
    h('summary', null, h('h3', null, c.title)), h('p', null, c.words),
    c.accept
      ? fileButton(c.action, (files) => run(upload(c.path, files)), { one: true, accept: c.accept })
      : h('button', { type: 'button', onclick: () => run(send('POST', c.path)) }, c.action),
    said);
}

/** A button that makes a key, and hands it over as a file. */
function newKey() {
  const save = async () => {
    try {
      const doc = await send('POST', '/api/papers', { kind: 'key', options: {} });
      h('a', { href: doc.files[0].href, download: doc.files[0].name }).click();
      say('The key was saved. Keep it secret, and keep a copy: whoever has it signs in your name.');
    } catch (err) {
      trouble(err);
    }
  };
  return h('button', { type: 'button', onclick: save }, 'Make a key');
}

function card(k) {
  const fields = k.fields.map((f) => fieldOf(k.kind, f));
  const fault = h('div', { class: 'fault', role: 'alert' });
  const made = h('div', { class: 'made', 'aria-live': 'polite' });
  const button = h('button', { type: 'submit', class: 'strong' }, k.action);
  const form = h('form', { onsubmit: (e) => { e.preventDefault(); make(k, fields, { button, fault, made }); } },
    fields.map((f) => f.el), h('div', { class: 'row' }, button, k.beside?.()), fault);
  return h('details', { class: 'section paper', name: 'paper' },
    h('summary', null, h('h3', null, k.title)),
    h('p', null, k.words), k.caution && h('p', { class: 'remark' }, k.caution), form, made);
}

function fieldOf(kind, f) {
  const id = `paper-${kind}-${f.name}`;
  if (f.tick) return tickOf(id, f);
  if (f.file) return fileOf(id, f);
  const input = f.choices
    ? h('select', { id }, f.choices.map(([value, words]) => h('option', { value }, words)))
    : h(f.long ? 'textarea' : 'input', {
      id, placeholder: f.example, maxlength: '2000', rows: f.long && '3',
      ...(f.number ? { type: 'number', min: '0.25', max: '24', step: '0.25' } : {}),
    });
  return {
    name: f.name, el: h('div', { class: 'field' }, h('label', { for: id }, f.label), input),
    value: () => (f.number && input.value !== '' ? Number(input.value) : input.value),
  };
}

function tickOf(id, f) {
  const input = h('input', { type: 'checkbox', id, 'aria-describedby': f.more && `${id}-more` });
  return {
    name: f.name, value: () => input.checked,
    el: h('div', null, h('label', { class: 'tick' }, input, f.label), f.more && h('p', { class: 'note', id: `${id}-more` }, f.more)),
  };
}

function fileOf(id, f) {
  const input = h('input', { type: 'file', id, accept: f.file, 'aria-describedby': `${id}-more` });
  return {
    name: f.name, value: async () => (await input.files[0]?.text()) ?? '',
    el: h('div', { class: 'field' }, h('label', { for: id }, f.label), input, h('p', { class: 'note', id: `${id}-more` }, f.more)),
  };
}

async function make(k, fields, { button, fault, made }) {
  const values = await Promise.all(fields.map(async (f) => [f.name, await f.value()]));
  const options = Object.fromEntries(values.filter(([, v]) => v !== '' && v !== false));
  button.disabled = true;
  fill(fault);
  fill(made);
  try {
    const doc = await busy(send('POST', '/api/papers', { kind: k.kind, options }), `${k.title}: being made`);
    fill(made, filesOf(doc));
  } catch (err) {
    fill(fault, h('p', null, sentence(err.message)), hintsOf(err));
  } finally {
    button.disabled = false;
  }
}

function filesOf(doc) {
  return [
    h('ul', { class: 'paper-files' }, doc.files.map((f) => h('li', null,
      h('a', { href: f.href, download: f.name }, f.name),
      h('span', { class: 'note' }, [f.what, fileSize(f.bytes)].filter(Boolean).join(' · '))))),
    doc.files.length > 1 && h('p', null, h('a', { class: 'button', href: `/papers/${doc.id}/all.zip`, download: '' }, 'Save all as one file')),
    doc.problem && h('p', { class: 'remark' }, doc.problem),
    h('details', null, h('summary', null, 'What was said'), h('pre', null, doc.text)),
  ];
}
