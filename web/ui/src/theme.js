// Light or dark desk: as the system says, until the reader chooses.

const key = 'untrod.theme';
const system = matchMedia('(prefers-color-scheme: dark)');

/** 'light' or 'dark', as shown now. */
export function theme() {
  return kept() ?? (system.matches ? 'dark' : 'light');
}

/** Shows what was chosen last. Called before anything is drawn. */
export function mountTheme() {
  apply();
  system.addEventListener('change', apply);
}

/** Changes to the other one and keeps it. */
export function turnTheme() {
  const next = theme() === 'dark' ? 'light' : 'dark';
  try {
    localStorage.setItem(key, next);
  } catch { /* a private window keeps nothing; it is shown all the same */ }
  document.documentElement.dataset.theme = next;
}

function apply() {
  document.documentElement.dataset.theme = theme();
}

function kept() {
  try {
    const t = localStorage.getItem(key);
    return t === 'dark' || t === 'light' ? t : null;
  } catch {
    return null;
  }
}
