// Index tabs at the margin of the sheet, each with its panel (WAI-ARIA tabs). On a narrow screen
// they are a strip along the bottom and the panel is a leaf that can be raised over the map and laid down.

import { h } from './dom.js';
import { icon } from './drawings.js';

const positions = ['down', 'half', 'up'];
const narrow = matchMedia('(max-width: 56em)');

let side = null;
let list = [];
let shown = null;

/**
 * Builds the tabs. Each panel is mounted when it is first shown.
 * @param {Element} el
 * @param {{id: string, title: string, mount: (el: Element) => void}[]} panels
 * @param {Element} [above] stays above whichever panel is shown
 */
export function mountTabs(el, panels, above) {
  side = el;
  list = panels.map((panel) => ({ panel, tab: tabOf(panel), box: boxOf(panel), mounted: false }));
  const strip = h('div', { class: 'tabs', role: 'tablist', 'aria-label': 'Panels', onkeydown: keys },
    list.map((e) => e.tab));
  const leaf = h('div', { class: 'leaf' }, handle(), h('div', { class: 'leaf-inside' }, above, list.map((e) => e.box)));
  side.append(strip, leaf); // Tab goes from a tab to its panel
  place('half');
  orient(strip);
  narrow.addEventListener('change', () => orient(strip));
}

function orient(strip) {
  strip.setAttribute('aria-orientation', narrow.matches ? 'horizontal' : 'vertical');
}

function tabOf(panel) {
  return h('button', {
    type: 'button', role: 'tab', id: `tab-${panel.id}`, class: 'tab', tabindex: '-1',
    'aria-selected': false, 'aria-controls': `panel-${panel.id}`, onclick: () => pressed(panel.id),
  }, icon(panel.id), h('span', null, panel.title));
}

function boxOf(panel) {
  return h('div', {
    role: 'tabpanel', id: `panel-${panel.id}`, class: 'panel', tabindex: '0', hidden: true,
    'aria-labelledby': `tab-${panel.id}`,
  });
}

// On a narrow screen the tab of the panel that is shown lays it down and takes it up again.
function pressed(id) {
  const again = id === shown && narrow.matches;
  openPanel(id);
  place(again && side.dataset.place !== 'down' ? 'down' : side.dataset.place === 'down' ? 'half' : side.dataset.place);
}

/**
 * Shows a panel.
 * @param {string} id
 * @param {{focus?: boolean}} [options] focus: go to it, for a call that is not by its tab
 */
export function openPanel(id, { focus = false } = {}) {
  const entry = list.find((e) => e.panel.id === id);
  if (!entry) return;
  if (shown !== id) entry.box.closest('.leaf-inside').scrollTop = 0;
  shown = id;
  for (const e of list) {
    e.tab.setAttribute('aria-selected', String(e === entry));
    e.tab.tabIndex = e === entry ? 0 : -1;
    e.box.hidden = e !== entry;
  }
  if (!entry.mounted) {
    entry.mounted = true;
    entry.panel.mount(entry.box);
  }
  entry.tab.scrollIntoView({ block: 'nearest', inline: 'nearest' });
  if (focus) {
    raisePanel();
    entry.box.focus({ preventScroll: true });
  }
}

/** The id of the panel that is shown. */
export function openedPanel() {
  return shown;
}

/** Lays the panel down on a narrow screen, to see the map; raisePanel takes it up again. */
export function lowerPanel() {
  if (narrow.matches) place('down');
}

/** Takes the panel up on a narrow screen when it is down. */
export function raisePanel() {
  if (side.dataset.place === 'down') place('half');
}

function place(where) {
  side.dataset.place = where;
  side.style.removeProperty('--leaf');
  side.querySelector('.handle').setAttribute('aria-label',
    where === 'down' ? 'Raise the panel' : where === 'half' ? 'Raise the panel to the top' : 'Lay the panel down');
}

function keys(e) {
  const at = list.findIndex((x) => x.tab === document.activeElement);
  const to = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: list.length - 1 }[e.key];
  if (at < 0 || to === undefined) return;
  e.preventDefault();
  const entry = list[(to + list.length) % list.length];
  openPanel(entry.panel.id);
  entry.tab.focus();
}

// The handle is a button for everybody, and can be dragged as well.
function handle() {
  let from = null;
  let dragged = false;
  const button = h('button', {
    type: 'button', class: 'handle',
    onclick: () => {
      if (!dragged) place(positions[(positions.indexOf(side.dataset.place) + 1) % positions.length]);
      dragged = false;
    },
    onpointerdown: (e) => {
      from = { y: e.clientY, height: leafHeight() };
      button.setPointerCapture(e.pointerId);
    },
    onpointermove: (e) => {
      if (!from || Math.abs(e.clientY - from.y) < 6) return;
      dragged = true;
      side.style.setProperty('--leaf', `${Math.max(0, from.height + from.y - e.clientY)}px`);
    },
    onpointerup: () => {
      from = null;
      if (dragged) place(nearest(leafHeight() / window.innerHeight));
    },
    onpointercancel: () => { from = null; },
  }, h('span', { 'aria-hidden': true }));
  return button;
}

function leafHeight() {
  return side.querySelector('.leaf').getBoundingClientRect().height;
}

function nearest(share) {
  return share < 0.22 ? 'down' : share < 0.6 ? 'half' : 'up';
}
