// The page of a session: what is asked, with the keys for it, how far it is, and what was said.
import { showPictures, showValves } from "./bench.js";
import { lookOf, moveNeedle, showDial, signed } from "./dial.js";
import { byId, changed, make, say } from "./dom.js";
import { fit } from "./fit.js";
import { key, keysOf } from "./keys.js";
import { enable, isOver, send, sendPhoto, start } from "./link.js";
import { previewOf } from "./photo.js";

const OVER = {
  parked: "Parked. Everything is kept.",
  ended: "The session has ended.",
  stopped: "The session has stopped.",
};

let sight = null;

function show(next, isNew) {
  sight = next;
  showHeading();
  showSince();
  showDial(isOver() ? null : sight.dial);
  showValves(isOver() ? null : sight.valves);
  showPictures(isOver() ? [] : sight.pictures);
  showQuestion(isNew);
  byId("asides").hidden = isOver();
  photos.hidden = !sight.takes_photos;
  fit();
  showSaid();
}

function showHeading() {
  const { heading, progress, circuit } = sight;
  say("procedure", heading.procedure || "spoolproof");
  say("who", [heading.unit, heading.technician, heading.session].filter(Boolean).join(" · "));
  const parts = [
    progress.section,
    progress.of > 0 && `${progress.tested} of ${progress.of} tested`,
    progress.next && `next: ${progress.next}`,
  ];
  say("progress-words", parts.filter(Boolean).join(" · "));
  const bar = byId("progress-bar");
  bar.hidden = progress.of === 0;
  bar.setAttribute("aria-valuemax", progress.of);
  bar.setAttribute("aria-valuenow", progress.tested);
  bar.firstElementChild.style.width = `${(100 * progress.tested) / Math.max(progress.of, 1)}%`;
  if (changed("circuit", circuit)) {
    const port = circuit?.port ? [make("span", { class: "port-name" }, `port ${circuit.port}`)] : [];
    const limits = circuit ? [make("span", { class: "limits" }, circuit.limits)] : [];
    byId("circuit").replaceChildren(...(circuit ? [make("strong", {}, circuit.name), ...port, ...limits] : []));
  }
  document.title = sight.ask ? `${sight.ask.words.slice(0, 60)} · spoolproof` : "spoolproof";
}

/**
 * Shows what was said since the last answer, but for what stands elsewhere; at the end all of it. Where a verdict came of the
 * answer, the answer stands above it, and above both the circuit that they are of, where the heading is another's by now.
 */
function showSince() {
  const isAnswer = (one) => one.kind === "at_terminal" || one.kind === "on_page";
  const at = sight.said.findLastIndex(isAnswer);
  const newest = sight.said.slice(at + 1);
  const isQuestion = (one) => one.kind === "asked" || one.kind === "caution";
  const isElsewhere = (one) => !["told", "verdict"].includes(one.kind) || one.text === sight.circuit?.limits;
  const shown = newest.filter((one) => !(isOver() ? isQuestion(one) : isElsewhere(one)));
  // What it all came to is said last at the terminal, where that is in sight.
  const result = shown.findIndex(({ kind }) => kind === "result");
  if (result > 0) shown.unshift(...shown.splice(result, 1));
  if (at >= 0 && !isOver() && shown.some(verdictOf)) {
    const { circuit } = sight.said[at];
    shown.unshift(sight.said[at]);
    if (circuit && circuit !== sight.circuit?.name) shown.unshift({ kind: "told", text: `${circuit}:` });
  }
  if (!changed("since", shown)) return;
  byId("since").replaceChildren(...shown.map((one) => make("p", { class: `said-${one.kind}` }, ...wordsOf(one))));
}

/** What the page says at the end; where ports were placed there was no session. */
const over = () =>
  sight.heading.session || sight.state === "stopped" ? OVER[sight.state] : "Done. The terminal says what was written.";

function showQuestion(isNew) {
  const ask = isOver() ? null : sight.ask;
  const words = isOver() ? over() : (ask?.words ?? "One moment …");
  byId("session").dataset.kind = isOver() ? "over" : (ask?.kind ?? "none");
  say("words", words);
  const below = ask?.below ?? [];
  if (changed("below", below)) byId("below").replaceChildren(...below.map((text) => make("p", {}, text)));
  say("refusal", ask?.refusal ?? "");
  say("doubt", ask?.doubt ?? "");
  say("announced", [ask?.kind === "caution" ? "Caution." : "", words, ...below].join(" ").trim());
  if (!changed("keys", [ask, sight.state, sight.question]) && !isNew) return;
  const keys = byId("keys");
  const hadFocus = document.activeElement === document.body || byId("answer").contains(document.activeElement);
  // What a gauge offers comes while somebody types: that stays.
  const typed = isNew ? "" : (byId("entry")?.value ?? "");
  keys.replaceChildren(...(isOver() ? (sight.heading.session ? [another()] : []) : ask ? keysOf(ask) : []));
  if (typed && byId("entry")) {
    byId("entry").value = typed;
    byId("entry").dispatchEvent(new Event("input"));
  }
  keys.setAttribute("aria-label", ask?.wanted || "Answer");
  byId("words-form").hidden = true;
  if (hadFocus) (keys.querySelector("[data-first]") ?? keys).focus({ preventScroll: true });
  if (document.documentElement.scrollTop > byId("step").offsetTop) byId("step").scrollIntoView();
}

const another = () =>
  make("button", { class: "key", type: "button", onclick: lookForNext }, "Look for the next session");

/** Goes to whatever is served under this address now; where nothing is, what stands here stays. */
async function lookForNext() {
  try {
    await fetch("/", { cache: "no-store" });
  } catch {
    say("sending", "Nothing answers at this address. Start the next session and open the address that the terminal shows then.");
    return;
  }
  location.reload();
}

/** What stands before what was said, where nothing else does. */
const BY = { at_terminal: "terminal:", on_page: "page:", caution: "CARE", refusal: "not taken:", doubt: "asked back:" };

/** Returns the verdict that a text begins with; none where it says something else. */
function verdictOf(one) {
  const [word] = one.text.split(/[:.]| so far/, 1);
  return one.kind === "verdict" && lookOf(word) ? word : "";
}

function wordsOf(one) {
  const verdict = verdictOf(one);
  if (verdict) {
    return [make("b", { class: `verdict ${lookOf(verdict)}` }, signed(verdict)), one.text.slice(verdict.length)];
  }
  const mark = one.mark || BY[one.kind];
  const look = lookOf(mark);
  const marked = mark ? [make("b", { class: look ? `verdict ${look}` : "said-mark" }, signed(mark)), " "] : [];
  return [...marked, one.text || "(Enter)"];
}

function showSaid() {
  if (!changed("said", sight.said)) return;
  const list = byId("said");
  list.replaceChildren(...sight.said.map((one) => make("li", { class: `said-${one.kind}` }, ...wordsOf(one))));
  // The newest is in sight, and the first line that is in sight is whole.
  list.style.paddingBottom = "";
  list.scrollTop = list.scrollHeight;
  const under = (line) => line.getBoundingClientRect().top - list.getBoundingClientRect().top;
  const whole = [...list.children].find((line) => under(line) >= 0);
  if (!whole || list.scrollTop === 0) return;
  list.style.paddingBottom = `${under(whole)}px`;
  list.scrollTop = list.scrollHeight;
}

// ---- keyboard, and the words that are always understood -----------------------------------------------------------

byId("session").addEventListener("keydown", (event) => {
  const isElsewhere = !event.target.closest("#step, #answer") || event.target.tagName === "INPUT";
  if (isElsewhere || event.ctrlKey || event.altKey || event.metaKey) return;
  const letter = event.key.toLowerCase();
  const { kind, choices } = sight.ask ?? {};
  if (kind === "yes_no" && (letter === "y" || letter === "n")) send(letter === "y" ? "yes" : "no");
  else if (kind === "choice" && /^[1-9]$/.test(letter) && Number(letter) <= choices.length) send(letter);
  // Enter would say that it is done, whatever was typed before.
  else if ((kind === "ready" || kind === "wait") && /^\S$/.test(event.key)) writeLine(event.key);
  else return;
  event.preventDefault();
});


const opener = (words, opens) => make("button", { class: "key small", type: "button", onclick: opens }, words);

const photos = opener("Photo …", () => showPhoto());

const plain = (words, line) => key(words, line, "small");
const written = (words, line, label) => opener(words, () => writeWord(line, label));

// What is wanted most comes first: there is not always room for more than a row of them.
byId("words-row").append(
  plain("Back", "back"),
  written("Cannot …", "cannot", "Why this step can't be done"),
  opener("Park …", askToPark),
  plain("More", "more"),
  plain("Help", "help"),
  plain("Again", "again"),
  photos,
  written("Jot …", "jot", "A note into the record"),
  written("Not fitted …", "not fitted", "By what you know that this unit does not have the circuit"),
  plain("Progress", "progress"),
  opener("Line …", () => writeLine()),
);

/** Has a line written, of which some may be typed already. */
const writeLine = (begun = "") => writeWord("", "A line as you would type it at the terminal", begun);

function writeWord(word, label, begun = "") {
  const field = make("input", { id: "word", autocomplete: "off", maxlength: "4000", required: true, value: begun });
  openForm([make("label", { for: "word" }, label), field], "Send", () => send(`${word} ${field.value}`.trim()));
  field.focus();
}

/** Asks for a photo, from the camera where there is one, or shows one that was dropped on the page. */
function showPhoto(dropped) {
  const file = make("input", { id: "photo", type: "file", accept: "image/*", capture: "environment", required: true });
  if (dropped) file.files = dropped;
  const field = make("input", { id: "word", autocomplete: "off", maxlength: "1000" });
  const of = sight.circuit ? `A photo of ${sight.circuit.name}` : "A photo";
  const parts = [make("label", { for: "photo" }, of), file, ...previewOf(file), make("label", { for: "word" }, "What it shows"), field];
  openForm(parts, "Send the photo", async () => {
    const why = await sendPhoto(file.files[0], field.value.trim());
    if (why) refuseForm(why, file);
  });
  (dropped ? field : file).focus();
}

for (const event of ["dragover", "drop"]) {
  window.addEventListener(event, (moved) => {
    if (!moved.dataTransfer.types.includes("Files")) return;
    // Else the browser would leave the page for the file.
    moved.preventDefault();
    const { files } = moved.dataTransfer;
    if (event === "drop" && files.length === 1 && sight?.takes_photos && !isOver()) showPhoto(files);
  });
}

function askToPark() {
  openForm([make("p", {}, "Park the session? Everything is kept, and the program ends.")], "Park", () => send("park"));
  byId("words-form").querySelector("button").focus();
}

function openForm(parts, does, onSubmit) {
  const form = byId("words-form");
  const close = opener("Not now", () => {
    form.hidden = true;
  });
  const submit = make("button", { class: "key small main", type: "submit", "data-sends": true }, does);
  form.replaceChildren(...parts, submit, close);
  form.onsubmit = (event) => {
    event.preventDefault();
    form.hidden = true;
    onSubmit();
  };
  form.hidden = false;
  form.scrollIntoView({ block: "nearest" });
  enable();
}

/** Opens the form again as it was sent, with why that is refused, at the field that has to be another. */
function refuseForm(why, field) {
  const form = byId("words-form");
  form.querySelector(".refusal")?.remove();
  field.after(make("p", { class: "refusal", role: "alert" }, why));
  form.hidden = false;
  form.scrollIntoView({ block: "nearest" });
  field.focus();
}

start({ sight: show, needle: moveNeedle });
