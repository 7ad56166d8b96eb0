// What to mind before and while walking.

import { ask } from '../api.js';
import { fill, h } from '../dom.js';
import { trouble } from '../say.js';

export const panel = {
  id: 'cautions',
  title: 'Cautions',
  async mount(el) {
    const list = h('dl', { class: 'cautions' });
    el.append(h('h2', null, 'Cautions'),
      h('p', null, 'Local law, the owner’s word and the advice of people licensed for the matter go before anything here.'),
      list);
    try {
      const cautions = await ask('/api/cautions');
      fill(list, cautions.map((c) => h('div', null, h('dt', null, c.title), h('dd', null, c.text))));
    } catch (err) {
      trouble(err);
    }
  },
};
