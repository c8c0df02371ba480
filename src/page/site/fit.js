// How large the step is shown: as large as it can be with the keys and the words that are wanted most on the same
// screen, and the dial and the picture beside them.
import { byId } from "./dom.js";

/** The sizes between the least letters and the largest that the style sheet allows, as parts of the way. */
const SIZES = [1, 0.75, 0.5, 0.25, 0];

export function fit() {
  const { style } = document.documentElement;
  const bottom = (element) => element.getBoundingClientRect().bottom + window.scrollY;
  const isFitting = ({ parts, isTight }) => SIZES.some((size) => {
    style.setProperty("--size", size);
    document.body.toggleAttribute("data-tight", isTight);
    return parts.every((part) => bottom(part) <= window.innerHeight);
  });
  const step = [byId("step"), byId("answer")];
  // Back, what can't be done and parking stand in the first row.
  const all = [...step, byId("words-row").firstElementChild];
  const ways = [all, step].flatMap((parts) => [false, true].map((isTight) => ({ parts, isTight })));
  const isOver = byId("session").dataset.kind === "over";
  ways.filter(({ isTight }) => !(isOver && isTight)).some(isFitting);
  style.setProperty("--room", `${Math.floor(window.innerHeight - byId("beside").getBoundingClientRect().top - window.scrollY)}px`);
}

// A notice above the page leaves it less room.
new ResizeObserver(fit).observe(byId("lost"));
window.addEventListener("resize", fit);
