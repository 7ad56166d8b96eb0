// The next visit: what to walk in the hours there are.

import { ask } from '../api.js';
import { fill, h } from '../dom.js';
import { ground } from '../ground.js';
import { onHeld } from '../ground/store.js';
import { planAsker } from '../next/asker.js';
import { nextForm } from '../next/form.js';
import { clearPlan, drawPlan } from '../next/marks.js';
import { gainWords, outcomeOf, showProblem } from '../next/outcome.js';
import { whenShown } from '../next/shown.js';
import { current, watch } from '../state.js';
import { openPanel } from '../tabs.js';

export const panel = {
  id: 'next',
  title: 'Next visit',
  mount(el) {
    const now = { file: null, rev: 0, units: '', doc: null, pending: false, before: null, beforeRev: 0 };
    const body = h('div', { class: 'next-body' });
    const words = h('div', { class: 'next-work note', role: 'status' });
    const form = nextForm(() => begin());
    const asker = planAsker({
      begun: () => wait(true),
      answered: (doc) => {
        now.pending = false;
        show(doc).finally(() => wait(false));
      },
      failed: (err) => {
        wait(false);
        Object.assign(now, { doc: null, pending: false });
        clearPlan();
        showProblem(body, err);
      },
    });
    el.append(h('h2', null, 'Next visit'), form.el, words, body);

    function wait(on) {
      body.setAttribute('aria-busy', String(on));
      fill(words, on && [h('span', { class: 'turning', 'aria-hidden': true }), 'Working it out']);
    }
    function begin() {
      if (el.hidden || !current().book) return undefined;
      if (current().rev === 0) return fill(body, noResult());
      const asked = form.read();
      if (!asked) return undefined;
      now.pending = true;
      return asker.ask(asked);
    }
    async function show(doc) {
      const before = await coverageAt(now, doc.rev);
      now.doc = doc;
      const opened = [...body.querySelectorAll('.stop > details[open]')].map((d) => d.parentElement.id);
      fill(body, outcomeOf(doc, before));
      for (const id of opened) body.querySelector(`#${id} > details`)?.setAttribute('open', '');
      fill(words, h('span', { class: 'unseen' }, gainWords(doc.plan.expected, before)));
      if (!el.hidden) drawPlan(doc);
    }

    ground.onPick('next', (id) => typeof id === 'number' && goToStop(id));
    onHeld(({ ground: g }) => g && form.show(g));
    whenShown(el, (shown) => {
      if (!shown) {
        asker.stop();
        wait(false);
        clearPlan();
        return;
      }
      if (now.doc) drawPlan(now.doc);
      if (now.pending || now.doc?.rev !== current().rev) begin();
    });
    watch((s) => {
      if (s.book?.file !== now.file) {
        asker.stop();
        clearPlan();
        fill(body);
        form.reset();
        Object.assign(now, { file: s.book?.file, doc: null, before: null });
      } else if (s.rev === now.rev && s.units === now.units) return;
      Object.assign(now, { rev: s.rev, units: s.units });
      begin();
    });
  },
};

// What is swept now: the plan only tells what will be.
async function coverageAt(now, rev) {
  if (!now.before || now.beforeRev !== rev) {
    now.before = (await ask('/api/coverage').catch(() => null))?.coverage ?? null;
    now.beforeRev = rev;
  }
  return now.before;
}

function goToStop(n) {
  openPanel('next', { focus: true });
  const details = document.querySelector(`#stop-${n} > details`);
  if (!details) return;
  details.open = true;
  details.scrollIntoView({ block: 'center' });
  details.querySelector('summary').focus({ preventScroll: true });
}

function noResult() {
  return h('div', { class: 'empty' }, h('p', null, 'There is nothing to plan from yet.'),
    h('p', null, 'Once the log of a visit is in the book, this says which gaps to walk in the hours you have, and in which order.'),
    h('button', { type: 'button', onclick: () => openPanel('visits', { focus: true }) }, 'Go to the visits'));
}
