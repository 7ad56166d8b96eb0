// Files chosen by a button, and the files of a drop, also those in dropped folders.

import { h } from './dom.js';

const most = 5000; // a whole disk dropped by mistake should not be read

/**
 * A button that lets files be chosen.
 * @param {string} words
 * @param {(files: File[]) => void} then
 * @param {{strong?: boolean, accept?: string, one?: boolean}} [options]
 */
export function fileButton(words, then, { strong = false, accept, one = false } = {}) {
  const input = h('input', {
    type: 'file', multiple: !one, accept, class: 'unseen', tabindex: '-1', 'aria-hidden': true,
    onchange: () => {
      const files = [...input.files];
      input.value = ''; // so that the same file can be chosen again
      if (files.length > 0) then(files);
    },
  });
  return h('span', { class: 'file-button' },
    h('button', { type: 'button', class: strong ? 'strong' : '', onclick: () => input.click() }, words), input);
}

/**
 * @param {DataTransfer} transfer of a drop event; read at once, for it is empty a moment later
 * @returns {Promise<File[]>} by name, without hidden files
 */
export async function filesOf(transfer) {
  const plain = [...transfer.files];
  const entries = [...transfer.items].map((i) => i.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.some((e) => e.isDirectory)) return plain;
  const files = [];
  for (const e of entries) await gather(e, files);
  return files.sort((a, b) => a.name.localeCompare(b.name));
}

async function gather(entry, files) {
  if (entry.name.startsWith('.') || files.length >= most) return;
  if (entry.isFile) {
    files.push(await new Promise((resolve, reject) => { entry.file(resolve, reject); }));
    return;
  }
  const reader = entry.createReader();
  for (;;) { // it gives them a hundred or so at a time
    const some = await new Promise((resolve, reject) => { reader.readEntries(resolve, reject); });
    if (some.length === 0) return;
    for (const e of some) await gather(e, files);
  }
}
