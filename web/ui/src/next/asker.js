// Asks for plans: a little after the last change, and only ever for the latest.

import { ask } from '../api.js';

const rest = 120; // milliseconds without a change until it is asked

/**
 * @param {{begun: () => void, answered: (doc: Object) => void, failed: (err: Error) => void}} tells
 * @returns {{ask: (doc: Object) => void, stop: () => void}}
 */
export function planAsker({ begun, answered, failed }) {
  let timer = 0;
  let going = null;
  const stop = () => {
    clearTimeout(timer);
    going?.abort();
    going = null;
  };
  const now = async (doc) => {
    const mine = new AbortController();
    going = mine;
    begun();
    try {
      const answer = await ask('/api/plan', {
        method: 'POST', body: JSON.stringify(doc), headers: { 'Content-Type': 'application/json' }, signal: mine.signal,
      });
      if (going === mine) answered(answer);
    } catch (err) {
      if (going === mine && err.name !== 'AbortError') failed(err);
    }
  };
  return {
    stop,
    ask: (doc) => {
      stop();
      timer = setTimeout(now, rest, doc);
    },
  };
}
