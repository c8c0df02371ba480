"""A session of two circuits with a page: what it asks, how it is answered, and that each answer counted once."""

import contextlib
import json
import pathlib
import tempfile

from support.hands import Browser, Terminal
from support.png import picture

PROCEDURE = """
procedure(#{
    title: "Merle M2, two circuits", unit: "Merle M2", version: "1.0.0",
    picture: "two.png", ports: #{ "3A": [120, 90], "4": [200, 90] },
});
caution("The pump's suction holds whatever closes the hose: keep fingers, eyes and hair away from its end.");
let feed = circuit(#{
    name: "feed <b>bore</b>", port: "3A", holds: 20.inHg, leaks: 15.inHg, symptoms: ["late upshift"],
    means: "A leak here bleeds the clutch's apply pressure.",
    repairs: [#{ does: "ream and oversize valve", parts: 48, hours: 0.6 }],
});
let exhaust = circuit(#{ name: "exhaust", port: "4", holds: 20.inHg, leaks: 15.inHg });
test(feed, |t| {
    t.ready("Put the plate with port 3A on the body, rubber side down, and hold it.");
    if t.ask_yes("Does the ball move freely?") { t.read(); }
});
test(exhaust);
"""

# What a session asks, by a part of its words; how it is answered at the page; as a line; and what
# the journal has of it.
STEPS = [
    ("Who is testing?", ("write", "Ana"), "Ana", "Ana"),
    ("What is the barometer", ("key_in", "29.92 inHg"), "29.92 inHg", "29.92 inHg"),
    ("What is the temperature", ("press", "Take 20 °C"), "", "is_assumed"),
    ("keep fingers, eyes and hair away", ("press", "I have read this"), "ok", "confirmed"),
    ("Plug the hose end.", ("key_in", "25"), "25", "25 inHg"),
    ("Fit the test orifice", ("key_in", "5"), "5", "5 inHg"),
    ("Put the plate with port 3A", ("press", "Done"), "", "confirmed"),
    ("Does the ball move freely?", ("press", "Yes"), "yes", '{"yes": true}'),
    ("Reading", ("key_in", "12 ½"), "12 1/2", "12 1/2 inHg"),
    ("Before it counts", ("key_in", "12.5"), "12.5", "12.5 inHg"),
    ("Reading", ("key_in", "22"), "22", "22 inHg"),
    ("recheck the calibration", ("key_in", "25"), "25", "25 inHg"),
    ("Fit the test orifice", ("key_in", "5"), "5", "5 inHg"),
    ("what is to be done?", ("press", "1 ream and oversize valve parts for 48, 0.6 h"), "1", "ream and oversize valve"),
]


@contextlib.contextmanager
def session(folder, *arguments):
    terminal = Terminal("--shop", folder / "bench", "guide", *arguments)
    try:
        yield terminal, terminal.wait_for(r"http://\S+/#[0-9A-Z]{4}-[0-9A-Z]{4}").group(0)
    finally:
        terminal.close()


@contextlib.contextmanager
def benches():
    """A folder with the procedure, and a browser."""
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "two.rhai").write_text(PROCEDURE)
        picture(folder / "two.png", 400, 300)
        browser = Browser()
        try:
            yield folder, browser
        finally:
            browser.close()


def record_of(folder):
    """The only record that a session left: what it holds and what was answered."""
    (path,) = (folder / "bench" / "records").glob("*.json")
    return json.loads(path.read_text())


def each_counted_once(folder, steps=STEPS):
    """Each question was answered once, and with what was given."""
    asked = [event for event in record_of(folder)["journal"] if "asked" in event]
    assert len(asked) == len(steps), asked
    for event, (words, _, _, kept) in zip(asked, steps):
        answer = json.dumps(event["answer"])
        assert words in event["asked"] and kept in answer, (words, kept, event)


def by_page(tab, step):
    words, (how, what), *_ = step
    tab.shows(words)
    getattr(tab, how)(what)
