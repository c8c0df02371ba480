// The keys that answer a question, by its kind: each sends a line as somebody would type it at the terminal.
import { typedNeedle } from "./dial.js";
import { make } from "./dom.js";
import { refusedLine, send } from "./link.js";

export const key = (words, line, kind = "") =>
  make("button", { class: `key ${kind}`, type: "button", "data-sends": true, onclick: () => send(line) }, ...[words].flat());

export function keysOf(ask) {
  switch (ask.kind) {
    case "caution": return [key("I have read this", "ok", "main")];
    case "ready": return [first(key("Done", "", "main"))];
    case "wait": return [countdown(ask.seconds), first(key("The time has passed", "", "main"))];
    case "yes_no": return [key("Yes", "yes", "main"), key("No", "no", "main")];
    case "choice": return ask.choices.map((offered, at) => {
      const cost = offered.cost ? [make("small", {}, offered.cost)] : [];
      const words = [make("b", {}, `${at + 1}`), make("span", {}, offered.text, ...cost)];
      return key(words, `${at + 1}`, "choice");
    });
    case "text":
    case "name": return [writing(), ...enterKey(ask)];
    default: return [keypad(ask), ...enterKey(ask)];
  }
}

function first(element) {
  element.dataset.first = "";
  return element;
}

const enterKey = (ask) => (ask.enter === null ? [] : [key(`Take ${ask.enter}`, "", "wide")]);

function countdown(seconds) {
  const shown = make("p", { class: "countdown", role: "timer" });
  const begun = Date.now();
  const tick = () => {
    const left = Math.max(0, Math.ceil((seconds ?? 0) - (Date.now() - begun) / 1000));
    shown.textContent = left > 0 ? `${left} s` : "0 s: it has passed";
    if (left > 0 && shown.isConnected) setTimeout(tick, 250);
  };
  setTimeout(tick, 0);
  return shown;
}

/** A field, which the question says what is for, and a key that sends what stands in it. */
function writing() {
  const field = first(make("input", {
    id: "entry", autocomplete: "off", spellcheck: "true", enterkeyhint: "send", maxlength: "4000",
    "aria-labelledby": "words",
  }));
  field.value = refusedLine();
  const form = make("form", { class: "writing" },
    field, make("button", { class: "key main", type: "submit", "data-sends": true }, "Send"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(field.value);
  });
  return form;
}

// Keys beside the digits: what they show and type, and what they are called for whoever hears it.
const FRACTIONS = [["¼", " 1/4", "one quarter"], ["½", " 1/2", "one half"], ["¾", " 3/4", "three quarters"]];
const BESIDE = {
  barometer: [["ft", " ft"], ["m", " m"], ["at", " at "]],
  temperature: [["−", "-", "minus"]],
  count: [],
};

function keypad(ask) {
  const field = first(make("input", {
    id: "entry", inputmode: "none", autocomplete: "off", spellcheck: "false", enterkeyhint: "send", maxlength: "60",
  }));
  typedNeedle("", "");
  const put = (text, n_before = 0) => () => {
    const [at, end] = [field.selectionStart ?? field.value.length, field.selectionEnd ?? field.value.length];
    field.setRangeText(text, at === end ? Math.max(0, at - n_before) : at, end, "end");
    field.dispatchEvent(new Event("input"));
  };
  const [units, unitOf] = unitsOf(ask, field, put);
  const stop = make("input", { type: "checkbox" });
  // What was refused is there to be mended, or to be replaced by the next key; its unit is the one that is chosen.
  const [, refused, stopped] = /^(.*?)( stop)?$/.exec(refusedLine());
  stop.checked = Boolean(ask.may_stop && stopped);
  const number = stop.checked ? refused : refusedLine();
  field.value = unitOf() && number.endsWith(` ${unitOf()}`) ? number.slice(0, -unitOf().length - 1) : number;
  field.select();
  const letters = small("abc", "letters: the keyboard of this device", () => {
    field.inputMode = "text";
    field.blur();
    field.focus();
  });
  const form = make("form", { class: "keypad" },
    // What says no more than the unit that stands beside the field is there for whoever hears it.
    make("label", { for: "entry", class: ask.units.includes(ask.wanted) && "unseen" }, ask.wanted),
    make("div", { class: "field" }, field, ...units, letters),
    ...(ask.may_stop ? [make("label", { class: "stop" }, stop, make("span", {}, "the valve came to its stop"))] : []),
    make("div", { class: "digits" }, ...digits(ask, field, put)),
    make("button", { class: "key main", type: "submit", "data-sends": true }, "Send"));
  field.addEventListener("input", () => typedNeedle(field.value, unitOf()));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const text = field.value.trim();
    if (text === "") return;
    // A unit that somebody wrote goes before the one that is chosen.
    const unit = /[a-z°]/i.test(text) || !unitOf() ? "" : ` ${unitOf()}`;
    send(text + unit + (stop.checked ? " stop" : ""));
  });
  return form;
}

const small = (shown, spoken, does, kind = "") =>
  make("button", { class: `digit ${kind}`, type: "button", "aria-label": spoken, onclick: does }, shown);

/** The digits, five in a row, and below them the point and what the kind of question takes beside it. */
function digits(ask, field, put) {
  const isCount = ask.kind === "number" && ask.units.length === 0;
  const beside = (BESIDE[isCount ? "count" : ask.kind] ?? FRACTIONS).map(([shown, text, spoken]) =>
    small(shown, spoken ?? shown, put(text), "letter"));
  const figures = [..."1234567890"].map((digit) => small(digit, digit, put(digit)));
  const point = isCount ? [] : [small(".", "point", put("."))];
  return [...figures, ...point, ...beside, small("⌫", "delete the last", put("", 1))];
}

/** The units that were chosen last, by those to choose from. */
const chosen = new Map();

/** Returns what a unit is chosen with, and what is chosen: a barometer's stand in the line itself, for it may have two. */
function unitsOf(ask, field, put) {
  if (ask.kind === "barometer") {
    const keys = ask.units.map((unit) => small(unit, unit, put(` ${unit}`)));
    return [[make("div", { class: "units", role: "group", "aria-label": "Units" }, ...keys)], () => ""];
  }
  if (ask.units.length < 2) {
    return [ask.units.map((unit) => make("span", { class: "unit" }, unit)), () => ask.units[0] ?? ""];
  }
  const choice = make("select", { "aria-label": "Unit" }, ...ask.units.map((unit) => make("option", {}, unit)));
  const kind = [...ask.units].sort().join();
  choice.value = chosen.get(kind) ?? ask.units[0];
  choice.addEventListener("change", () => {
    chosen.set(kind, choice.value);
    field.dispatchEvent(new Event("input"));
  });
  return [[choice], () => choice.value];
}
