// Questions to the program, as docs/interface.md lists them.

/** What the program says went wrong. */
export class Problem extends Error {
  /**
   * @param {string} message what is wrong
   * @param {string[]} hints what to do
   * @param {number} status of HTTP; 0 when the program did not answer
   */
  constructor(message, hints = [], status = 0) {
    super(message);
    this.name = 'Problem';
    this.hints = hints;
    this.status = status;
  }
}

const gone = () => new Problem('untrod does not answer',
  ['is it still running? start it again and open the address it prints']);

/**
 * Asks and returns the answer.
 * @param {string} path such as /api/visits
 * @param {{signal?: AbortSignal}} [options]
 * @returns {Promise<*>}
 */
export async function ask(path, options = {}) {
  return answerOf(await fetch(path, options).catch(failed));
}

/**
 * Sends a document, or nothing, and returns the answer.
 * @param {string} method POST, PUT or DELETE
 * @param {string} path
 * @param {*} [doc]
 * @returns {Promise<*>}
 */
export async function send(method, path, doc) {
  const body = doc === undefined ? {} : {
    body: JSON.stringify(doc),
    headers: { 'Content-Type': 'application/json' },
  };
  return answerOf(await fetch(path, { method, ...body }).catch(failed));
}

/**
 * Sends files and returns the answer.
 * @param {string} path
 * @param {Iterable<File>} files
 * @param {(share: number) => void} [onProgress] told the share sent, 0 to 1
 * @returns {Promise<*>}
 */
export function upload(path, files, onProgress) {
  const form = new FormData();
  for (const f of files) form.append('file', f, f.name);
  return new Promise((resolve, reject) => {
    const x = new XMLHttpRequest(); // fetch does not tell how much is sent
    x.open('POST', path);
    x.upload.onprogress = (e) => e.lengthComputable && onProgress?.(e.loaded / e.total);
    x.onerror = () => reject(gone());
    x.onload = () => settle(x.status, x.responseText, resolve, reject);
    x.send(form);
  });
}

function failed(err) {
  throw err.name === 'AbortError' ? err : gone();
}

async function answerOf(response) {
  const text = await response.text();
  return new Promise((resolve, reject) => { settle(response.status, text, resolve, reject); });
}

function settle(status, text, resolve, reject) {
  let doc = null;
  try {
    doc = text === '' ? null : JSON.parse(text);
  } catch {
    reject(new Problem(text.trim().slice(0, 300) || `status ${status}`, [], status));
    return;
  }
  if (status >= 200 && status < 300) resolve(doc);
  else reject(new Problem(doc?.error ?? `status ${status}`, doc?.hints ?? [], status));
}
