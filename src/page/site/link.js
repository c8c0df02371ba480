// The connection to the program: what is shown comes down as lines of JSON, what is typed goes up as lines of text. No
// answer is read here: what the terminal refuses is refused.
import { byId, make, say } from "./dom.js";

/** After how long without a line the connection is taken for lost, in ms: the program sends one every 2 s. */
const SILENCE = 6_000;
const AGAIN_AFTER = 1_500;

/** For how long keys of a new question do nothing, in ms: a second tap on the one before must not answer it. */
const STRAY = 400;

/** What is shown; null before the first. */
let sight = null;
let asksSince = 0;
/** The line on its way: the number of its question, and its text; and what calls it back. */
let sent = null;
let sending = new AbortController();
let last = "";

let listening = null;
let heardAt = 0;
let lostSince = null;
let draws = {};

/** Listens from now on; `draws.sight` shows a sight, `draws.needle` moves the needle. */
export function start(drawing) {
  draws = drawing;
  document.addEventListener("visibilitychange", lookAgain);
  for (const event of ["online", "pageshow"]) window.addEventListener(event, lookAgain);
  window.addEventListener("hashchange", begin);
  setInterval(() => {
    if (listening && Date.now() - heardAt > SILENCE) {
      lost();
      listen();
    }
  }, 1_000);
  begin();
}

/** Returns whether the session has come to an end or was parked. */
export const isOver = () => sight !== null && sight.state !== "going";

/** Returns what was sent from here and is refused now, for whoever has to mend it. What is doubted is to be typed once more. */
export function refusedLine() {
  const newest = sight.said.findLast((one) => one.kind === "at_terminal" || one.kind === "on_page");
  return sight.ask?.refusal && newest?.kind === "on_page" && newest.text === last ? last : "";
}

// ---- down ---------------------------------------------------------------------------------------------------------

async function listen() {
  listening?.abort();
  const own = new AbortController();
  listening = own;
  heardAt = Date.now();
  try {
    const response = await fetch("/events", { signal: own.signal, cache: "no-store" });
    if (response.status === 401) {
      listening = null;
      return askForCode();
    }
    if (!response.ok) throw new Error(await response.text());
    const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
    let rest = "";
    for (;;) {
      const { value, done } = await reader.read();
      if (done || listening !== own) break;
      heardAt = Date.now();
      const lines = (rest + value).split("\n");
      rest = lines.pop();
      for (const line of lines) heard(JSON.parse(line));
    }
  } catch {
    // What broke off is asked for again.
  }
  if (listening !== own) return;
  listening = null;
  if (isOver()) return;
  lost();
  setTimeout(() => listening ?? listen(), AGAIN_AFTER);
}

function heard(event) {
  lostSince = null;
  byId("lost").hidden = true;
  if (event.sight) take(event.sight);
  else if (event.needle) draws.needle(event.needle.at, event.needle.is_moving);
}

function take(next) {
  const isNew = sight === null || next.question !== sight.question;
  sight = next;
  if (isNew) {
    sent = null;
    asksSince = Date.now();
    setTimeout(enable, STRAY);
    say("sending", "");
  }
  byId("pairing").hidden = true;
  byId("session").hidden = false;
  draws.sight(sight, isNew);
  enable();
}

function lost() {
  if (lostSince === null) {
    lostSince = new Date();
    const resume = sight?.heading.resume;
    const goOn = resume ? ["go on with ", make("code", {}, resume)] : ["start it again"];
    byId("lost").replaceChildren(
      make("strong", {}, `No connection to the program since ${lostSince.toLocaleTimeString()}.`),
      " Nothing can be answered here. When the network is back, this page goes on by itself. Where the program has ended, ",
      ...goOn, " and open the address that the terminal shows then.",
    );
    byId("lost").hidden = false;
  }
  // Whether it arrived, only the next sight shows. It must not arrive any later.
  sending.abort();
  sent = null;
  enable();
}

function lookAgain() {
  const mayBeGone = Date.now() - heardAt > SILENCE / 2;
  if (document.visibilityState === "visible" && sight && !isOver() && mayBeGone) listen();
}

// ---- up -----------------------------------------------------------------------------------------------------------

/** Sends a line for the question that is shown. It counts when the next sight says so. */
export async function send(text) {
  const why = await hand("/line", text, "application/json", JSON.stringify({ question: sight?.question, text }));
  if (why) say("refusal", why);
}

/** Sends a photo, with words for what it shows, in the same way; returns why it is refused, where it is at once. */
export function sendPhoto(file, words) {
  const parts = [sight?.question, file.name, words].map((part) => encodeURIComponent(part));
  return hand(`/photo/${parts.join("/")}`, `photo ${file.name}`, "application/octet-stream", file);
}

async function hand(address, text, kind, body) {
  if (!isFree()) return "";
  let why = "";
  sent = { question: sight.question, text };
  last = text;
  sending = new AbortController();
  enable();
  try {
    const response = await fetch(address, {
      method: "POST",
      signal: sending.signal,
      headers: { "Content-Type": kind },
      body,
    });
    if (response.status === 202) return why;
    sent = null;
    say("sending", "");
    if (response.status === 409) {
      take((await response.json()).sight);
      say("sending", "That came too late: this is asked now.");
    } else if (response.status === 401) {
      askForCode();
    } else {
      why = await response.text();
    }
  } catch {
    sent = null;
    say("sending", "It is not known whether that arrived. What is asked when the connection is back shows it.");
  }
  enable();
  return why;
}

/** Returns whether a line would be taken: something is asked, nothing is on its way and the program is there. */
function isFree() {
  const isAsked = Boolean(sight?.question) && !isOver() && Date.now() - asksSince >= STRAY;
  return isAsked && sent === null && lostSince === null;
}

/** Shows which keys can be pressed. They keep the focus where they can't. */
export function enable() {
  const can = isFree();
  for (const key of document.querySelectorAll("[data-sends]")) key.setAttribute("aria-disabled", !can);
  if (sent !== null) say("sending", "Sent; waiting until it is kept …");
}

// ---- pairing ------------------------------------------------------------------------------------------------------

/** Has the code that the address brought let this browser in, or listens as one that was let in before. */
function begin() {
  const code = decodeURIComponent(location.hash.slice(1));
  if (!code) return listen();
  // It has done its work, and stays in no history.
  history.replaceState(null, "", "/");
  pair(code);
}

function askForCode() {
  // A program that was started anew may have another page.
  if (sight !== null) return location.reload();
  byId("session").hidden = true;
  byId("lost").hidden = true;
  byId("pairing").hidden = false;
  byId("code").focus();
}

async function pair(code) {
  say("pair-refusal", "");
  try {
    const response = await fetch("/pair", { method: "POST", body: code });
    if (response.ok) return listen();
    askForCode();
    say("pair-refusal", await response.text());
  } catch {
    askForCode();
    say("pair-refusal", "No connection to the program.");
  }
}

byId("pair").addEventListener("submit", (event) => {
  event.preventDefault();
  pair(byId("code").value);
});
