// The latest state of the program (docs/interface.md, State), kept fresh by its events.

import { ask } from './api.js';

const nothing = {
  version: '', books: [], book: null, changes: 0, rev: 0, stage: '', claim: '', units: 'metric', reached: false, refused: null,
  work: { running: false, stage: '', doing: '', done: 0, total: 0, stopped: false, problem: null },
};

let state = nothing;
let wait = 500; // milliseconds until the next try
let source = null;
const watchers = new Set();

/**
 * The latest state. Before the first answer nothing is open, and `reached` is false; `refused` is the Problem of a
 * program that answers but does not let this page in.
 */
export function current() {
  return state;
}

/** 'metric' or 'imperial'. */
export function units() {
  return state.units || 'metric';
}

/**
 * Calls fn(state, before) at once and on each change. At once, before is null.
 * @param {(state: Object, before: Object|null) => void} fn
 * @returns {() => void} ends the watch
 */
export function watch(fn) {
  watchers.add(fn);
  fn(state, null);
  return () => watchers.delete(fn);
}

/**
 * Takes a state that a question was answered with, so that the page need not wait for the event.
 * @param {*} doc anything; what is no state is left alone
 * @returns {*} doc
 */
export function take(doc) {
  if (doc && typeof doc === 'object' && 'changes' in doc && 'work' in doc && isNewer(doc)) publish({ ...doc, reached: true });
  return doc;
}

// Answers and events may cross on their way; changes and rev only ever grow.
function isNewer(doc) {
  return !state.reached || doc.book?.file !== state.book?.file
    || (doc.changes >= state.changes && doc.rev >= state.rev);
}

/** Begins to listen. */
export function listen() {
  ask('/api/state').then(take).catch(() => publish({ ...state, reached: false }));
  connect();
}

function connect() {
  source?.close();
  source = new EventSource('/api/events');
  source.addEventListener('state', (e) => {
    wait = 500;
    publish({ ...JSON.parse(e.data), reached: true });
  });
  source.onerror = () => {
    source.close();
    if (state.reached) publish({ ...state, reached: false });
    setTimeout(again, wait);
    wait = Math.min(wait * 2, 8000);
  };
}

// Events do not tell a program that is gone from one that was started anew and no longer knows this page.
async function again() {
  const refused = await ask('/api/state').then(() => null, (err) => (err.status === 403 ? err : null));
  if (refused?.message !== state.refused?.message) publish({ ...state, refused });
  connect();
}

function publish(doc) {
  const before = state;
  state = { ...nothing, ...doc, work: { ...nothing.work, ...doc.work } };
  for (const fn of [...watchers]) {
    try {
      fn(state, before);
    } catch (err) {
      console.error(err); // one panel's fault must not keep the state from the others
    }
  }
}

/**
 * Calls fn(state) at once and whenever there may be something new to ask for: another book, a change
 * of the book, another result.
 * @param {(state: Object) => void} fn
 * @returns {() => void} ends the watch
 */
export function whenNew(fn) {
  let key = null;
  return watch((s) => {
    const now = `${s.book?.file} ${s.changes} ${s.rev}`;
    if (now === key) return;
    key = now;
    fn(s);
  });
}
