// The form of one find, new or changed.

import { Problem, send, upload } from '../api.js';
import { fill, h } from '../dom.js';
import { fileButton } from '../files.js';
import { count, parseLength } from '../format.js';
import { busy, hintsOf, say, sentence, trouble } from '../say.js';
import { field } from './fields.js';
import { placeField } from './place.js';
import { photo } from './row.js';
import { depth, depthUnit, nameOf, verdicts } from './words.js';

const blank = {
  id: 0, name: '', at: null, sd_m: null, time: null, reading: '', detector: '', depth_m: null, verdict: 'unknown', material: '',
  years: null, note: '', visit: null, photos: [],
};

/**
 * @param {Object|null} before the find to change, null for a new one
 * @param {{datum: Object|null, visits: Object[]}} held
 * @param {(id: number|null) => void} closed with the find's id, null when it was given up
 * @returns {{el: HTMLElement, focus: () => void, close: () => void}}
 */
export function findForm(before, held, closed) {
  const f = before ?? blank;
  const parts = partsOf(f, held);
  const fault = h('div', { class: 'fault', role: 'alert' });
  const save = h('button', { type: 'submit', class: 'strong' }, before ? 'Keep the changes' : 'Add the find');
  const close = (id) => {
    parts.place.close();
    closed(id);
  };
  const el = h('form', {
    class: 'find-form', novalidate: true, 'aria-label': before ? `Change ${nameOf(f)}` : 'A new find',
    onsubmit: (e) => { e.preventDefault(); keep(f, parts, { fault, save, close }); },
    onkeydown: (e) => {
      if (e.key !== 'Escape') return;
      e.preventDefault();
      close(null);
    },
  },
  h('h3', null, before ? `Change: ${nameOf(f)}` : 'A new find'),
  parts.name.el, h('div', { class: 'pair' }, parts.verdict.el, parts.material.el), parts.place.el, parts.time.el,
  h('div', { class: 'pair' }, parts.reading.el, parts.depth.el), parts.photos.el,
  h('details', { class: 'section' }, h('summary', null, 'More'), h('div', { class: 'pair' }, parts.from.el, parts.to.el), parts.visit.el, parts.detector.el, parts.note.el),
  fault, h('div', { class: 'row' }, save, h('button', { type: 'button', onclick: () => close(null) }, 'Cancel')));
  return { el, focus: () => parts.name.input.focus(), close: () => close(null) };
}

function partsOf(f, { datum, visits }) {
  const year = { inputmode: 'numeric', maxlength: '6' };
  return {
    name: field('Name', { value: f.name, maxlength: '200', placeholder: 'button, buckle, can lid' }),
    verdict: field('Verdict', { value: f.verdict, options: verdicts.map((v) => [v, v]) }),
    material: field('Material', { value: f.material, maxlength: '200' }),
    place: placeField(f.at, datum),
    time: field('Time', { type: 'datetime-local', value: localTime(f.time) }),
    reading: field('Reading', { value: f.reading, maxlength: '100', placeholder: 'as shown' }),
    depth: field('Depth', { value: depth(f.depth_m), placeholder: depthUnit() === 'in' ? '6 in' : '15 cm' }),
    photos: photosField(f),
    from: field('Year, from', { value: f.years?.[0] ?? '', ...year }),
    to: field('Year, to', { value: f.years?.[1] ?? '', ...year }),
    visit: field('Visit', { value: f.visit ?? '', options: [['', 'by its time'], ...visits.map((v) => [v.id, v.name || v.file])] }),
    detector: field('Detector', { value: f.detector, maxlength: '200' }),
    note: field('Note', { tag: 'textarea', value: f.note, maxlength: '2000', rows: '3' }),
  };
}

// The value of a datetime-local field, in the reader's own time.
function localTime(t) {
  if (!t) return '';
  const at = new Date(t);
  return new Date(at - at.getTimezoneOffset() * 60_000).toISOString().slice(0, 16);
}

/** Photos there are, each of which can be taken out, and photos to come. */
function photosField(f) {
  let kept = [...f.photos];
  let added = [];
  const there = h('div', { class: 'thumbs' });
  const words = h('span', { class: 'note', 'aria-live': 'polite' });
  const draw = () => {
    fill(there, kept.map((sha, i) => h('span', { class: 'thumb' },
      h('img', { src: photo(sha), width: '72', height: '72', alt: `Photo ${i + 1}` }),
      h('button', { type: 'button', class: 'small', 'aria-label': `Take out photo ${i + 1}`, onclick: () => { kept = kept.filter((s) => s !== sha); draw(); } }, 'Take out'))));
    fill(words, added.length > 0 && `${count(added.length, 'photo', 'photos')} to add`);
  };
  draw();
  return {
    el: h('fieldset', { class: 'field' }, h('legend', { class: 'small-legend' }, 'Photos'), there, h('div', { class: 'row' },
      fileButton('Add photos', (files) => { added = [...added, ...files]; draw(); }, { accept: 'image/*,.heic,.heif' }), words)),
    kept: () => (kept.length === f.photos.length ? null : kept),
    added: () => added,
  };
}

async function keep(f, parts, { fault, save, close }) {
  fill(fault);
  const doc = docOf(f, parts);
  if (!doc) return;
  save.disabled = true;
  try {
    const kept = await busy(send(f.id ? 'PUT' : 'POST', f.id ? `/api/finds/${f.id}` : '/api/finds', doc), 'Keeping the find');
    say(kept.said ? `Kept: ${kept.said}.` : 'Kept.');
    close(kept.id);
    await addPhotos(kept.id, parts.photos.added());
  } catch (err) {
    showFault(err, parts, fault);
  } finally {
    save.disabled = false;
  }
}

async function addPhotos(id, files) {
  if (files.length === 0) return;
  try {
    await busy(upload(`/api/finds/${id}/photo`, files), 'Adding the photos');
  } catch (err) {
    trouble(err); // the find itself is kept, and its form is closed
  }
}

// What was not touched goes back as it came: fields show rounded numbers.
function docOf(f, p) {
  const depthM = p.depth.text() === depth(f.depth_m) ? f.depth_m : parseLength(p.depth.text(), depthUnit());
  const noDepth = p.depth.text() !== '' && depthM === null;
  p.depth.fault(noDepth ? new Problem('this is no depth', [`type it as ${depthUnit() === 'in' ? '6 in' : '15 cm'}`]) : null);
  const years = [yearOf(p.from), yearOf(p.to)];
  const faulty = [noDepth && p.depth, Number.isNaN(years[0]) && p.from, Number.isNaN(years[1]) && p.to].find(Boolean);
  if (faulty) {
    reveal(faulty);
    return null;
  }
  const { at, datum } = p.place.value();
  return {
    datum, at, name: p.name.text(), sd_m: at && at === f.at ? f.sd_m : null,
    time: p.time.input.value === localTime(f.time) ? f.time : timeOf(p.time.input.value),
    reading: p.reading.text(), detector: p.detector.text(), depth_m: depthM, verdict: p.verdict.input.value, material: p.material.text(),
    years: years.every((y) => y === null) ? null : years, note: p.note.text(), visit: p.visit.text() ? Number(p.visit.text()) : null,
    photos: p.photos.kept(),
  };
}

const timeOf = (local) => (local ? new Date(local).toISOString() : null);

// A year, null for none, NaN for what is no year.
function yearOf(part) {
  const text = part.text();
  const y = text === '' ? null : /^[-−]?\d{1,5}$/.test(text) ? Number(text.replace('−', '-')) : NaN;
  part.fault(Number.isNaN(y) ? new Problem('this is no year', ['type it in figures, with a minus before our era']) : null);
  return y;
}

function reveal(part) {
  part.el.closest('details')?.setAttribute('open', '');
  part.input.focus();
}

const faultWords = [[/depth/, 'depth'], [/year|from -?\d+ is after/, 'from'], [/visit/, 'visit'], [/verdict/, 'verdict']];

function showFault(err, parts, fault) {
  const said = err.message.replace(/^find "[^"]*": /, '');
  const name = faultWords.find(([words]) => words.test(said))?.[1];
  if (name) {
    parts[name].fault(new Problem(said, err.hints, err.status));
    reveal(parts[name]);
  } else {
    fill(fault, h('p', null, sentence(said)), hintsOf(err));
  }
}
