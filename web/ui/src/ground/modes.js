// What a click on the map means. Usually it asks about a spot; while something is picked, drawn,
// edited or measured it belongs to that, one thing at a time.

import { h, fill } from '../dom.js';

/**
 * @typedef {Object} Mode
 * @property {string} prompt what to do, in words
 * @property {(xy: number[], byKey: boolean) => void} press a click, a tap, or Enter at the cross
 * @property {() => void} [back] takes the last point away
 * @property {() => boolean} [ready] whether Done may be pressed
 * @property {() => void} [done] absent when there is nothing to finish by a button
 * @property {() => void} cancel
 * @property {(xy: number[]) => void} [hover]
 * @property {(event: KeyboardEvent) => boolean} [key] true when it was meant for the mode
 * @property {string} [leave] words of the button that ends it
 */

/** The modes of one map, with a bar that says what to do. */
export class Modes {
  constructor(bar, sheet, side) {
    this.bar = bar;
    this.sheet = sheet;
    this.side = side;
    this.active = null;
  }

  /** Begins a mode; the one before is given up. */
  begin(mode, { focus = true } = {}) {
    this.active?.cancel();
    this.before = document.activeElement;
    this.active = mode;
    this.side.begun();
    this.sheet.doubled.setActive(false);
    this.sheet.map.getTargetElement().classList.add('at-work');
    this.refresh();
    if (focus) this.sheet.map.getTargetElement().focus({ preventScroll: true });
  }

  /** Ends a mode, if it is still the one under way. */
  end(mode) {
    if (this.active !== mode) return;
    this.active = null;
    this.side.ended();
    this.sheet.doubled.setActive(true);
    this.sheet.map.getTargetElement().classList.remove('at-work');
    this.refresh();
    this.giveBackFocus();
  }

  /** The focus goes back to where it was, unless it has gone elsewhere meanwhile. */
  giveBackFocus() {
    const now = document.activeElement;
    const here = now === document.body || now === this.sheet.map.getTargetElement();
    if (here && this.before?.isConnected) this.before.focus({ preventScroll: true });
  }

  /** Shows anew what to do and which buttons there are. */
  refresh() {
    const m = this.active;
    this.bar.hidden = !m;
    if (!m) return fill(this.bar);
    const words = h('p', { class: 'mode-words', role: 'status' }, m.words?.() ?? m.prompt);
    return fill(this.bar, words, h('div', { class: 'mode-buttons' }, this.buttons(m)));
  }

  buttons(m) {
    const ready = m.ready?.() ?? true;
    return [
      m.back && h('button', { type: 'button', onclick: () => this.act(() => m.back()) }, 'Take back'),
      m.done && h('button', { type: 'button', class: 'strong', disabled: !ready, onclick: () => m.done() }, 'Done'),
      h('button', { type: 'button', onclick: () => m.cancel() }, m.leave ?? 'Cancel'),
    ];
  }

  act(f) {
    f();
    this.sheet.map.getTargetElement().focus({ preventScroll: true });
  }
}
