// Light or dark: as the system says, until the reader chooses.

import { h, own } from './dom.js';

const DARK = '(prefers-color-scheme: dark)';

/** Returns { element, theme, onchange }: a choice of light, and the theme that holds now. */
export function lightChoice(changed) {
  const system = window.matchMedia(DARK);
  const id = own('light');
  const select = h('select', { id }, ...[['system', 'as the system'], ['light', 'light'], ['dark', 'dark']].map(([value, text]) => h('option', { value }, text)));
  const theme = () => (select.value === 'system' ? (system.matches ? 'dark' : 'light') : select.value);
  const apply = () => {
    document.documentElement.dataset.light = select.value;
    changed(theme());
  };
  select.addEventListener('change', apply);
  system.addEventListener('change', apply);
  return { element: h('p', { class: 'light' }, h('label', { for: id }, 'Light'), select), theme: theme() };
}
