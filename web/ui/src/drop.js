// Files dropped on the page or chosen by a button: what they are, and where they go.

import { Problem, send, upload } from './api.js';
import { h } from './dom.js';
import { filesOf } from './files.js';
import { begin } from './firstvisit.js';
import { count, date } from './format.js';
import { busy, calm, chosen, say, trouble } from './say.js';
import { takeOutline } from './site.js';
import { current, take } from './state.js';
import { openPanel } from './tabs.js';

const kinds = {
  picture: /\.(png|jpe?g|tiff?|asc|heic|webp)$/i,
  beside: /\.(pgw|jgw|tfw|wld|prj|aux\.xml|points)$/i, // tells where a picture lies
  shape: /\.(geojson|json|km[lz])$/i,
  table: /\.(csv|tsv)$/i,
};

let lastAdded = null;
const told = new Set();

/**
 * Calls fn({text, problem}) with what the program says of logs that were added: the last ones at once, if any.
 * @param {(said: {text: string, problem: string}) => void} fn
 */
export function onAdded(fn) {
  told.add(fn);
  if (lastAdded) fn(lastAdded);
}

/** Lets files be dropped anywhere on the page. */
export function mountDrop(target) {
  let deep = 0; // dragenter and dragleave come for each element under the pointer
  const words = h('p');
  const cover = h('div', { class: 'drop-cover', hidden: true, 'aria-hidden': true }, words);
  document.body.append(cover);
  const show = (on) => {
    deep = on ? deep : 0;
    cover.hidden = !on;
    words.textContent = current().book ? `Drop to add to ${current().book.name}` : 'Drop to start a book with these';
  };
  const mine = (e) => [...(e.dataTransfer?.types ?? [])].includes('Files');
  target.addEventListener('dragenter', (e) => { if (mine(e)) { deep++; show(true); } });
  target.addEventListener('dragleave', (e) => { if (mine(e) && --deep <= 0) show(false); });
  target.addEventListener('dragover', (e) => { if (mine(e)) e.preventDefault(); });
  target.addEventListener('drop', async (e) => {
    if (!mine(e)) return;
    e.preventDefault();
    show(false);
    takeFiles(await filesOf(e.dataTransfer));
  });
}

/**
 * Takes files of any kind: asks what they are where that is not plain, and makes a book when none is open.
 * @param {File[]} files
 */
export async function takeFiles(files) {
  calm();
  try {
    await sortOut(files);
  } catch (err) {
    trouble(err);
  }
}

async function sortOut(files) {
  if (files.length === 0) return;
  const g = groups(files);
  if (!current().book) await makeBook(nameFor(files));
  if (g.picture.length > 0) await takePictures(g.picture, g.beside);
  if (g.shape.length > 0) await takeShapes(g.shape, g.log);
  if (g.table.length > 0) await takeTables(g.table, g.log);
  if (g.log.length > 0) await addLogs(g.log);
}

function groups(files) {
  const g = { picture: [], beside: [], shape: [], table: [], log: [] };
  for (const f of files) {
    const kind = Object.keys(kinds).find((k) => kinds[k].test(f.name)) ?? 'log';
    g[kind].push(f);
  }
  return g;
}

/**
 * Makes a book and opens it.
 * @param {string} name
 */
export async function makeBook(name) {
  take(await busy(send('POST', '/api/books', { name }), 'Making the book'));
  openPanel('visits');
}

// A name of letters says what site it is; one of figures only says when.
function nameFor(files) {
  const bare = files[0].name.replace(/\.[a-z]{2,7}(\.gz)?$/i, '').replace(/[_-]+/g, ' ').replace(/^[\d .]+/, '').trim();
  return /\p{L}{3}/u.test(bare) ? bare.slice(0, 60) : `Visits ${date(new Date())}`;
}

/**
 * Adds logs of visits to the open book.
 * @param {File[]} files
 */
export async function addLogs(files) {
  const first = current().rev === 0;
  const words = h('span', null, `Adding ${count(files.length, 'log', 'logs')}`);
  const said = await busy(upload('/api/logs', files, (p) => {
    words.textContent = p < 1 ? `Sending ${count(files.length, 'log', 'logs')}: ${Math.round(p * 100)} %` : 'Reading the logs';
  }), words);
  lastAdded = said;
  for (const fn of told) fn(said);
  openPanel('visits');
  say(said.problem ? 'Some of it was added.' : `${count(files.length, 'log was', 'logs were')} added.`);
  if (said.problem) trouble(new Problem(said.problem));
  if (first) begin(current().book?.file);
}

async function takeShapes(files, logs) {
  for (const f of files) {
    const what = await chosen(`What is in ${f.name}?`, [
      { value: 'outline', words: 'The outline of the site', more: 'with keep-outs and landmarks, if it has them; replaces what the book has' },
      { value: 'log', words: 'The log of a visit', more: 'where somebody walked' },
    ], 'Take it');
    if (what === 'outline') await takeOutline([f]);
    if (what === 'log') logs.push(f);
  }
}

async function takeTables(files, logs) {
  for (const f of files) {
    const what = await chosen(`What is in ${f.name}?`, [
      { value: 'log', words: 'The log of a visit', more: 'a place and a time in each row' },
      { value: 'finds', words: 'A list of finds', more: 'a find in each row' },
      { value: 'outline', words: 'The outline of the site', more: 'a corner in each row' },
    ], 'Take it');
    if (what === 'outline') await takeOutline([f]);
    if (what === 'finds') await addFinds([f]);
    if (what === 'log') logs.push(f);
  }
}

async function takePictures(files, beside) {
  const names = files.length === 1 ? files[0].name : `these ${files.length} pictures`;
  const what = await chosen(`What is in ${names}?`, [
    { value: 'backdrop', words: 'The ground from above', more: 'an aerial picture, an old map or a terrain grid, to lie under the map' },
    { value: 'finds', words: 'Finds', more: 'photos; place and time are read from them' },
  ], 'Take it');
  if (what === 'backdrop') {
    await busy(upload('/api/backdrop', [files[0], ...beside]), 'Reading the picture');
    openPanel('ground');
    say(files.length > 1 ? `${files[0].name} lies under the map; the others were left.` : 'It lies under the map.');
  }
  if (what === 'finds') await addFinds(files);
}

async function addFinds(files) {
  const said = await busy(upload('/api/finds/file', files), 'Reading the finds');
  openPanel('finds');
  say(said.text.split('\n')[0] || 'Added.');
  if (said.problem) trouble(new Problem(said.problem));
}
