// The page: the map on a desk, the band above it, the panels at its margin.

import './style.css'; // before the styles that modules bring
import './ground.css';
import './papers.css';
import { mountBand } from './band.js';
import { mountDrop } from './drop.js';
import { mountFirstVisit } from './firstvisit.js';
import { mountGround } from './ground.js';
import { panel as cautions } from './panels/cautions.js';
import { panel as finds } from './panels/finds.js';
import { panel as ground } from './panels/ground.js';
import { panel as landmarks } from './panels/landmarks.js';
import { panel as next } from './panels/next.js';
import { panel as papers } from './panels/papers.js';
import { panel as settings } from './panels/settings.js';
import { panel as start } from './panels/start.js';
import { panel as visits } from './panels/visits.js';
import { h } from './dom.js';
import { mountSay } from './say.js';
import { listen, watch } from './state.js';
import { mountTabs, openedPanel, openPanel } from './tabs.js';
import { mountTheme } from './theme.js';

const panels = [ground, visits, landmarks, finds, next, papers, settings, cautions];

function open() {
  const at = (id) => document.getElementById(id);
  mountTheme();
  mountSay();
  mountBand(at('band'));
  const first = h('div', { class: 'first-visit' });
  mountTabs(at('side'), panels, first);
  mountFirstVisit(first);
  start.mount(at('start'));
  mountDrop(document);
  turnWithTheBook(at);
  listen();
}

// Without a book there is the start, with one the map and its panels.
function turnWithTheBook(at) {
  let mapped = false;
  watch((s, before) => {
    const has = Boolean(s.book);
    at('sheet').hidden = at('side').hidden = !has;
    at('start').hidden = has || !s.reached;
    document.body.dataset.book = has ? 'open' : 'none';
    if (!has || s.book.file === before?.book?.file) return;
    if (!mapped) mountGround(at('sheet'));
    mapped = true;
    openPanel(openedPanel() ?? 'ground');
  });
}

open();
