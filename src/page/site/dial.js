// The gauge: what its parts mean, where the needle is, and where a number that is being typed lies.
import { byId, changed, draw, make } from "./dom.js";

/** The dial that is shown; null where none is. */
let dial = null;

const SWEEP = 270;
const FROM = -135;
const CENTRE = 200;
const angleOf = (value) => FROM + (SWEEP * Math.min(Math.max(value / dial.full_scale, -0.03), 1.03));

function at(angle, radius) {
  const turn = (angle * Math.PI) / 180;
  return [CENTRE + radius * Math.sin(turn), CENTRE - radius * Math.cos(turn)].map((x) => x.toFixed(1));
}

function arc(from, to, radius) {
  return `M${at(from, radius)}A${radius},${radius} 0 ${to - from > 180 ? 1 : 0} 1 ${at(to, radius)}`;
}

/** How each verdict looks: never by its colour alone. */
const LOOKS = {
  holds: "good", right: "good", worn: "worn", leaks: "bad", "too open": "bad", "too tight": "bad",
  undecided: "open", retest: "open", "not sure": "open",
};
const SIGNS = { good: "✓ ", worn: "≈ ", bad: "✗ ", open: "? " };
/** Returns how a verdict looks; nothing for other words. */
export const lookOf = (verdict) => LOOKS[verdict];

/** Returns a verdict with its sign; other words as they are. */
export const signed = (words) => (SIGNS[LOOKS[words]] ?? "") + words;

/** Rounds a step of figures: 1, 2 or 5 times a power of ten. */
function figureStep() {
  const rough = dial.full_scale / 8;
  const power = 10 ** Math.floor(Math.log10(rough));
  return power * [1, 2, 5, 10].find((times) => times * power >= rough * 0.75);
}

/** What a limit is shown to, as at the terminal. */
const tenth = (value) => String(Number(value.toFixed(1)));

const plain = (value) => String(Number(value.toFixed(3)));

export function showDial(now) {
  dial = now;
  const place = byId("dial");
  place.hidden = !dial;
  if (!changed("dial", dial && { ...dial, needle: null, is_moving: false })) return turnNeedle();
  place.replaceChildren();
  if (!dial) return;
  const parts = [draw("path", { d: `${arc(-141, 141, 192)}Z`, class: "face" })];
  for (const zone of dial.zones) {
    const d = arc(angleOf(zone.from), angleOf(zone.to), 114);
    const look = lookOf(comesTo(zone));
    parts.push(draw("path", { d, class: `zone ground-${look}` }), draw("path", { d, class: `zone look-${look}` }));
  }
  for (const limit of dial.limits) {
    parts.push(draw("path", { d: `M${at(angleOf(limit), 148)}L${at(angleOf(limit), 98)}`, class: "mark limit" }));
  }
  const step = figureStep();
  const marks = dial.division > 0 && dial.full_scale / dial.division <= 160 ? dial.division : step / 5;
  for (let n = 0; n * marks <= dial.full_scale * 1.0001; n += 1) {
    const angle = angleOf(n * marks);
    const isFigure = Math.abs(((n * marks) / step) - Math.round((n * marks) / step)) < 1e-6;
    const [x1, y1] = at(angle, 148);
    const [x2, y2] = at(angle, isFigure ? 128 : 139);
    parts.push(draw("line", { x1, y1, x2, y2, class: isFigure ? "mark figure" : "mark" }));
  }
  // Outside of what the needle sweeps, which would hide them just where a valve is to be set.
  for (let value = 0; value <= dial.full_scale * 1.0001; value += step) {
    const [x, y] = at(angleOf(value), 169);
    parts.push(draw("text", { x, y, class: "number" }, plain(value)));
  }
  parts.push(draw("text", { x: CENTRE, y: 292, class: "symbol" }, dial.unit));
  if (dial.target !== null) {
    const angle = angleOf(dial.target);
    parts.push(draw("path", { d: "M200,20 L190,1 L210,1 Z", class: "target", transform: `rotate(${angle} 200 200)` }));
  }
  if (dial.last) {
    const angle = angleOf(dial.last.at);
    parts.push(draw("path", { d: "M200,99 L187,75 L213,75 Z", class: "last", transform: `rotate(${angle} 200 200)` }));
  }
  parts.push(draw("line", { id: "typed", x1: CENTRE, y1: CENTRE, x2: CENTRE, y2: 54, class: "typed", visibility: "hidden" }));
  parts.push(draw("path", { id: "needle", d: "M196,226 L198.4,54 L201.6,54 L204,226 Z", class: "needle" }));
  parts.push(draw("circle", { cx: CENTRE, cy: CENTRE, r: 11, class: "hub" }));
  place.append(draw("svg", { id: "face", viewBox: "0 0 400 350", role: "img" }, patterns(), ...parts));
  place.append(make("ul", { class: "legend" }, ...legend()));
  turnNeedle();
}

/** Says what the marks and the zones are; what may be left open, once for all its parts. */
function legend() {
  const entry = (sign, words, figures) =>
    make("li", {}, ...sign, make("b", {}, words), ...figures.map((text) => make("span", {}, text)));
  const sample = (look) => draw("svg", { viewBox: "0 0 48 24", class: "sample", "aria-hidden": "true" },
    draw("rect", { width: 48, height: 24, class: `fill-${look}` }), draw("rect", { width: 48, height: 24, class: `over-${look}` }));
  const { marks, zones } = told();
  return [
    ...marks.map(([sign, words, figures]) => entry([], `${sign} ${words}`, [figures])),
    ...zones.map(([words, ranges]) => entry([sample(lookOf(words))], signed(words), ranges)),
  ];
}

const NOT_SURE = "not sure";

/** What one look in a zone comes to. */
const comesTo = (zone) => zone.verdict ?? NOT_SURE;

/** Puts the dial into words: its marks, each with its sign, and what looks come to, each with where. */
function told() {
  const last = dial.last && `${plain(dial.last.at)} ${dial.unit}${dial.last.label ? ` (${dial.last.label})` : ""}`;
  const marks = [
    ...(dial.target === null ? [] : [["▼", "set to", `${plain(dial.target)} ${dial.unit}`]]),
    ...(last ? [["▲", "read last", last]] : []),
  ];
  const range = (zone) => `${tenth(zone.from)} to ${tenth(zone.to)}`;
  const sure = dial.zones.filter((zone) => zone.verdict).map((zone) => [zone.verdict, [range(zone)]]);
  const open = dial.zones.filter((zone) => !zone.verdict).map(range);
  return { marks, zones: [...sure, ...(open.length > 0 ? [[NOT_SURE, open]] : [])] };
}

function patterns() {
  const hatch = (id, ...lines) =>
    draw("pattern", { id, width: 10, height: 10, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" }, ...lines);
  const line = (d, look) => draw("path", { d, class: `hatch-${look}` });
  return draw("defs", {},
    hatch("worn", line("M5,0V10", "worn")),
    hatch("bad", line("M5,0V10", "bad"), line("M0,5H10", "bad")),
    hatch("open", draw("circle", { cx: 5, cy: 5, r: 1.9, class: "dot-open" })));
}

export function moveNeedle(at, isMoving) {
  if (!dial) return;
  [dial.needle, dial.is_moving] = [at, isMoving];
  turnNeedle();
}

function turnNeedle() {
  const needle = byId("needle");
  if (!needle || !dial) return;
  const isThere = dial.needle !== null;
  needle.setAttribute("visibility", isThere ? "visible" : "hidden");
  if (isThere) needle.style.transform = `rotate(${angleOf(dial.needle)}deg)`;
  const { marks, zones } = told();
  // As near as an eye reads a dial.
  const near = isThere && dial.division > 0 ? Math.round(dial.needle / dial.division) * dial.division : dial.needle;
  const where = isThere ? [`needle near ${plain(near)}${dial.is_moving ? ", moving" : ""}`] : [];
  const limits = dial.limits.length > 0 ? [`limits ${dial.limits.map(tenth).join(" and ")}`] : [];
  const marked = marks.map(([, words, figures]) => `${words} ${figures}`);
  const ranges = zones.map(([words, ranges]) => `${words} from ${ranges.join(" and from ")}`);
  const all = [`Gauge in ${dial.unit}, 0 to ${plain(dial.full_scale)}`, ...where, ...marked, ...limits, ...ranges].join("; ");
  const face = byId("face");
  if (face.getAttribute("aria-label") !== all) face.setAttribute("aria-label", all);
}

/** Shows where a number that is being typed lies on the dial. */
export function typedNeedle(text, unit) {
  const line = byId("typed");
  if (!line || !dial) return;
  const found = /^(\d*\.?\d*)(?:\s+(\d)\/(\d))?$/.exec(text.trim());
  const value = found && text.trim() !== "" ? Number(found[1] || 0) + (found[2] ? found[2] / found[3] : 0) : NaN;
  const isOn = Number.isFinite(value) && unit === dial.unit && value <= dial.full_scale;
  line.setAttribute("visibility", isOn ? "visible" : "hidden");
  if (isOn) line.setAttribute("transform", `rotate(${angleOf(value)} 200 200)`);
}
