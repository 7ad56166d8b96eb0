// Replay of the visits: the swept ground after each of them.

import { ask } from '../api.js';
import { date, percent } from '../format.js';
import { fill, h } from '../dom.js';
import { current, watch } from '../state.js';
import { trouble } from '../say.js';
import { still } from './sheet.js';

const EACH_MS = 700;

/** The section of the panel that replays the visits on a map. */
export function replay(ground) {
  return new Replay(ground).el;
}

class Replay {
  constructor(ground) {
    this.ground = ground;
    this.rev = 0;
    this.visits = [];
    this.playing = false;
    this.slider = h('input', { type: 'range', min: 0, max: 0, step: 1, value: 0, 'aria-label': 'After which visit', oninput: () => this.moved() });
    this.play = h('button', { type: 'button', onclick: () => (this.playing ? this.pause() : this.start()) }, 'Play');
    this.back = h('button', { type: 'button', class: 'quiet', hidden: true, onclick: () => this.leave() }, 'Show today again');
    this.words = h('p', { class: 'replay-words', role: 'status' });
    this.bar = h('div', { class: 'replay-bar', 'aria-hidden': 'true' }, h('div'));
    this.el = h('div', { class: 'replay' }, h('div', { class: 'replay-row' }, this.play, this.slider), this.bar, this.words, this.back);
    watch((s) => s.rev !== this.rev && this.load(s.rev));
  }

  async load(rev) {
    this.rev = rev;
    this.pause();
    this.back.hidden = true;
    this.ground.replay('');
    if (!rev) return this.show([]);
    try {
      const doc = await ask('/api/timeline');
      if (this.rev === rev) this.show(doc.visits ?? []);
    } catch (err) {
      if (current().rev === rev && err.status !== 409) trouble(err);
    }
    return undefined;
  }

  show(visits) {
    this.visits = visits;
    this.slider.max = visits.length;
    this.slider.value = visits.length;
    this.slider.disabled = this.play.disabled = visits.length === 0;
    this.tell();
  }

  tell() {
    const n = Number(this.slider.value);
    const v = this.visits[n - 1];
    const share = v?.percent ?? 0;
    this.bar.firstChild.style.width = `${share}%`;
    const words = v ? [h('strong', null, percent(share)), ` swept as logged after visit ${n} of ${this.visits.length}: ${v.name}, ${date(v.start)}`] : ['Before the first visit'];
    fill(this.words, this.visits.length ? words : 'Add the logs of your visits to replay them.');
    this.slider.setAttribute('aria-valuetext', this.words.textContent);
  }

  /** Shows the ground after the visit of the slider. */
  moved() {
    this.tell();
    return this.draw();
  }

  /** Resolves once it is drawn. */
  draw() {
    this.back.hidden = false;
    const n = Number(this.slider.value);
    const title = n ? `After visit ${n} of ${this.visits.length}` : 'Before the first visit';
    return this.ground.replay(`swept-${n}`, title, this.visits.slice(0, n).map((v) => v.n));
  }

  async start() {
    this.playing = true;
    this.play.textContent = 'Pause';
    if (Number(this.slider.value) >= this.visits.length) this.slider.value = 0;
    while (this.playing) {
      await this.draw();
      this.tell();
      await pause(still() ? 2 * EACH_MS : EACH_MS);
      if (Number(this.slider.value) >= this.visits.length) break;
      if (this.playing) this.slider.value = Number(this.slider.value) + 1;
    }
    this.pause();
  }

  pause() {
    this.playing = false;
    this.play.textContent = 'Play';
  }

  leave() {
    this.pause();
    this.slider.value = this.visits.length;
    this.tell();
    this.back.hidden = true;
    this.ground.replay('');
  }
}

function pause(ms) {
  return new Promise((resolve) => { setTimeout(resolve, ms); });
}
