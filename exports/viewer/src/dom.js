// Makes elements. Text is always set as text, never read as markup, so that no name of a set can act.

let made = 0;

/** An id that no other viewer on the page has. */
export function own(name) {
  made += 1;
  return `${name}-${made}`;
}

/** h('button', { type: 'button', onclick: f }, 'Fit'): attributes, listeners after `on`, children and texts. */
export function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === false) continue;
    if (key.startsWith('on')) element.addEventListener(key.slice(2), value);
    else element.setAttribute(key, value === true ? '' : value);
  }
  element.append(...children.filter((child) => child !== null));
  return element;
}

export function button(text, onclick, attributes = {}) {
  return h('button', { type: 'button', onclick, ...attributes }, text);
}

/** A radio button with its label after it; `checked` is told by the caller's update. */
export function radio(name, value, text, onchange) {
  const input = h('input', { type: 'radio', name, value, onchange });
  return { input, label: h('label', { class: 'choice' }, input, h('span', {}, text)) };
}

/** A section of the column that can be folded away. */
export function fold(title, open, ...children) {
  return h('details', { class: 'fold', open }, h('summary', {}, title), h('div', { class: 'fold-body' }, ...children));
}
