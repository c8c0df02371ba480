// How large the step is shown: as large as it can be with the keys on the same screen, and the dial and the picture beside them.
import { byId } from "./dom.js";

/** The sizes between the least letters and the largest that the style sheet allows, as parts of the way. */
const SIZES = [1, 0.75, 0.5, 0.25, 0];

export function fit() {
  const { style } = document.documentElement;
  const isFitting = (size) => {
    style.setProperty("--size", size);
    return byId("answer").getBoundingClientRect().bottom + window.scrollY <= window.innerHeight;
  };
  document.body.toggleAttribute("data-tight", false);
  document.body.toggleAttribute("data-tight", !SIZES.some(isFitting) && byId("session").dataset.kind !== "over");
  const top = byId("beside").getBoundingClientRect().top + window.scrollY;
  style.setProperty("--room", `${Math.floor(window.innerHeight - top)}px`);
}

// A notice above the page leaves it less room.
new ResizeObserver(fit).observe(byId("lost"));
window.addEventListener("resize", fit);
