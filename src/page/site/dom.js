// Elements of the page. Texts become text and never markup.

export const byId = (id) => document.getElementById(id);

export function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "onclick") element.addEventListener("click", value);
    else if (value !== null && value !== false) element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...children);
  return element;
}

export function draw(name, attributes = {}, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...children);
  return element;
}

/** Sets a text only where it is another: so no screen reader says it twice. */
export function say(id, text) {
  if (byId(id).textContent !== text) byId(id).textContent = text;
}

const drawn = new Map();

/** Returns whether a part of the page has to be drawn anew: whether it shows another value than this. */
export function changed(part, value) {
  const text = JSON.stringify(value ?? null);
  if (drawn.get(part) === text) return false;
  drawn.set(part, text);
  return true;
}
