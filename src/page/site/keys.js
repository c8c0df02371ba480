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
    case "name": return [writing(ask), ...enterKey(ask)];
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

/** A field with its label and a key that sends what stands in it. */
function writing(ask) {
  const field = first(make("input", {
    id: "entry", autocomplete: "off", spellcheck: "true", enterkeyhint: "send", maxlength: "4000",
  }));
  field.value = refusedLine();
  const form = make("form", { class: "writing" },
    make("label", { for: "entry" }, ask.wanted), field,
    make("button", { class: "key main", type: "submit", "data-sends": true }, "Send"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(field.value);
  });
  return form;
}

// Keys beside the digits: what is typed there, and what it is called for whoever hears it.
const FRACTIONS = [["¼", " 1/4", "one quarter"], ["½", " 1/2", "one half"], ["¾", " 3/4", "three quarters"]];

function keypad(ask) {
  const isMixed = ask.kind === "barometer";
  const field = first(make("input", {
    id: "entry", inputmode: "none", autocomplete: "off", spellcheck: "false", enterkeyhint: "send", maxlength: "60",
  }));
  field.value = refusedLine();
  typedNeedle("", "");
  const put = (text) => () => {
    const at = field.selectionStart ?? field.value.length;
    const isFirst = field.value.slice(0, at).trim() === "";
    const piece = isFirst ? text.trimStart() : text;
    field.setRangeText(piece, at, field.selectionEnd ?? at, "end");
    field.dispatchEvent(new Event("input"));
  };
  const rub = () => {
    const at = field.selectionStart ?? field.value.length;
    const end = field.selectionEnd ?? at;
    field.setRangeText("", at === end ? Math.max(0, at - 1) : at, end, "end");
    field.dispatchEvent(new Event("input"));
  };
  const small = (shown, spoken, does) =>
    make("button", { class: "digit", type: "button", "aria-label": spoken, onclick: does }, shown);
  const isCount = ask.kind === "number" && ask.units.length === 0;
  const digits = [..."789456123"].map((digit) => small(digit, digit, put(digit)));
  const last = [
    isCount ? make("span") : small(".", "point", put(".")),
    small("0", "0", put("0")),
    small("⌫", "delete the last", rub),
  ];
  const isReading = ask.kind === "reading" || ask.kind === "number";
  const extra = isCount ? []
    : isReading ? FRACTIONS.map(([shown, text, spoken]) => small(shown, spoken, put(text)))
    : ask.kind === "temperature" ? [small("−", "minus", put("-"))]
    : ["ft", "m", "at"].map((word) => small(word, word, put(` ${word} `)));
  let unitOf = () => "";
  let units = [];
  if (isMixed) {
    units = [make("div", { class: "units", role: "group", "aria-label": "Units" },
      ...ask.units.map((unit) => small(unit, unit, put(` ${unit}`))))];
  } else if (ask.units.length > 1) {
    const options = ask.units.map((unit) => make("option", {}, unit));
    const choice = make("select", { "aria-label": "Unit" }, ...options);
    choice.addEventListener("change", () => field.dispatchEvent(new Event("input")));
    units = [choice];
    unitOf = () => choice.value;
  } else if (ask.units.length === 1) {
    units = [make("span", { class: "unit" }, ask.units[0])];
    unitOf = () => ask.units[0];
  }
  const stop = ask.may_stop
    ? [make("label", { class: "stop" }, make("input", { type: "checkbox" }), make("span", {}, "the valve came to its stop"))]
    : [];
  const letters = make("button", {
    class: "digit", type: "button", "aria-label": "letters: the keyboard of this device",
    onclick: () => { field.inputMode = "text"; field.blur(); field.focus(); },
  }, "abc");
  const form = make("form", { class: "keypad" },
    make("label", { for: "entry" }, ask.wanted),
    make("div", { class: "field" }, field, ...units),
    make("div", { class: "digits" }, ...digits, ...last),
    make("div", { class: "extra" }, ...extra, letters),
    ...stop,
    make("button", { class: "key main", type: "submit", "data-sends": true }, "Send"));
  field.addEventListener("input", () => typedNeedle(field.value, unitOf()));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const text = field.value.trim();
    if (text === "") return;
    // A unit that somebody wrote goes before the one that is chosen.
    const unit = /[a-z°]/i.test(text) || !unitOf() ? "" : ` ${unitOf()}`;
    const atStop = stop.length > 0 && stop[0].firstElementChild.checked ? " stop" : "";
    send(text + unit + atStop);
  });
  return form;
}
