"""Draws the pictures that README opens with from the program itself: a part of a session at the terminal, as SVG, and the page
and a report, as a browser shows them. Holds those in pictures/ to what the program says now: the session's is that, and the other
two bear the digest of what they were drawn from, since a browser draws the same thing otherwise on another machine.
`readme_pictures.py --renew` puts all three there."""

import hashlib
import html
import json
import pathlib
import re
import subprocess
import sys
import tempfile

from support.hands import Browser, Tab, Terminal
from support.png import with_words, words_of
from support.shop import ROOT

PICTURES = ROOT / "pictures"
FLARE = ROOT / "examples" / "flare-2-3"
GUIDE = ["guide", "osier-o7-rear", "--complaint", "flare 2-3", "--answers"]
# The question at which the page is shown.
READING = "Plate over Q2."

# Under which word a picture bears the digest of what it was drawn from.
DRAWN_FROM = "Drawn-from"
REPORT_VIEW = {"width": 860, "height": 760}
PAGE_VIEW = {"width": 1280, "height": 800, "scale": 0.7}
# The first sight that the program sends, as it sends it.
SIGHT = """fetch("/events").then(async (response) => {
    const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
    let text = "";
    while (!text.includes("\\n")) text += (await reader.read()).value;
    await reader.cancel();
    return text.split("\\n")[0];
})"""

# A cell of the terminal, in pixels, and the room around the text.
WIDTH, HEIGHT, AROUND = 8.4, 19, 18
LARGEST = 200_000


def program(*arguments):
    command = [ROOT / "target" / "debug" / "spoolproof", *map(str, arguments)]
    done = subprocess.run(command, cwd=ROOT, text=True, capture_output=True, stdin=subprocess.DEVNULL)
    assert done.returncode == 0, (arguments, done.stdout[-2000:], done.stderr[-2000:])
    return done.stdout


def said_of_first_circuit(transcript):
    """What the session says of the first circuit, from its heading to the next."""
    lines = transcript.splitlines()
    begins = [at for at, line in enumerate(lines) if re.match(r"── \d/\d: ", line)]
    return [line.rstrip() for line in lines[begins[0]:begins[1]]][:-1]


def drawn(lines):
    """Lines of a terminal as SVG; what was typed and the headings stand out."""
    wide, high = max(map(len, lines)) * WIDTH + 2 * AROUND, len(lines) * HEIGHT + 2 * AROUND
    rows = []
    for n, line in enumerate(lines):
        text = line.lstrip()
        if not text:
            continue
        # The prompt of a reading, with what was typed behind it.
        typed = re.fullmatch(r"(inHg: )(\S.*)", text)
        marked = re.match(r"^ ?(CARE|read|ask|do|rig)  ", line)
        is_heading = line.startswith("──")
        parts = [(text, "h" if is_heading else "")]
        if typed:
            parts = [(typed[1], ""), (typed[2], "t")]
        elif marked:
            parts = [(text[: len(marked[1])], "m"), (text[len(marked[1]):], "")]
        at = len(line) - len(text)
        for words, kind in parts:
            where = f'x="{AROUND + at * WIDTH:.1f}" y="{AROUND + (n + 0.75) * HEIGHT:.1f}"'
            room = f'textLength="{len(words) * WIDTH:.1f}"'
            rows.append(f'<text {where} {room} class="{kind}">{html.escape(words)}</text>')
            at += len(words)
    style = (
        "text{font:14px ui-monospace,'DejaVu Sans Mono',Menlo,Consolas,monospace;fill:#d8dee4;white-space:pre}"
        ".h,.m{fill:#8fc7ff;font-weight:700}.t{fill:#ffd479;font-weight:700}"
    )
    told = html.escape("A session at the terminal: " + " ".join(" ".join(lines).split()))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {high}" width="{wide:.0f}" height="{high}" role="img" '
        f'xml:space="preserve">\n<title>{told}</title>\n<style>{style}</style>\n'
        f'<rect width="100%" height="100%" rx="8" fill="#10161d"/>\n' + "\n".join(rows) + "\n</svg>\n"
    )


def session(folder):
    transcript = program("--shop", folder / "shop", *GUIDE, FLARE / "answers.txt")
    (folder / "session.svg").write_text(drawn(said_of_first_circuit(transcript)))


def drawn_from(view, *parts):
    """The digest of what a picture is drawn from, without what is another each time: names of sessions and folders."""
    digest = hashlib.sha256(json.dumps(view).encode())
    for part in parts:
        digest.update(hashlib.sha256(part).digest())
    return digest.hexdigest()


def lasting(text, folder):
    return re.sub(r"\d{8}-\d{6}-[a-z0-9]{6}", "SESSION", text.replace(str(folder), "FOLDER")).encode()


def keep(path, tab, view, *parts):
    """Draws what a tab shows, and writes into the picture what it was drawn from."""
    tab.do("picture", file=str(path))
    path.write_bytes(with_words(path.read_bytes(), DRAWN_FROM, drawn_from(view, *parts)))


def report(folder, browser):
    (record,) = FLARE.glob("*.json")
    program("--shop", folder / "shop", "report", record, "--html", folder / "report.html")
    tab = Tab(browser, "report", (folder / "report.html").as_uri())
    tab.do("view", **REPORT_VIEW)
    keep(folder / "report.png", tab, REPORT_VIEW, lasting((folder / "report.html").read_text(), folder))


def page(folder, browser):
    answers = (FLARE / "answers.txt").read_text().splitlines(keepends=True)
    begins = next(at for at, line in enumerate(answers) if line.startswith("12"))
    (folder / "begun.txt").write_text("".join(answers[:begins]))
    terminal = Terminal("--shop", folder / "shop", *GUIDE, folder / "begun.txt", "--page")
    try:
        tab = Tab(browser, "page", terminal.wait_for(r"http://\S+/#[0-9A-Z-]{9}").group(0))
        tab.do("view", **PAGE_VIEW)
        tab.shows(READING)
        tab.can_answer()
        sight = tab.do("evaluate", script=SIGHT)
        shown = [ROOT / "procedures" / picture["name"] for picture in json.loads(sight)["sight"]["pictures"]]
        site = sorted((ROOT / "src" / "page" / "site").iterdir())
        parts = [path.read_bytes() for path in [*site, *shown]]
        keep(folder / "page.png", tab, PAGE_VIEW, lasting(sight, folder), *parts)
    finally:
        terminal.close()


def digest_in(path):
    return words_of(path.read_bytes(), DRAWN_FROM)


subprocess.run(["cargo", "build", "--quiet"], cwd=ROOT, check=True)
with tempfile.TemporaryDirectory() as name:
    folder = pathlib.Path(name)
    browser = Browser()
    try:
        session(folder)
        report(folder, browser)
        page(folder, browser)
    finally:
        browser.close()
    for picture in ["session.svg", "page.png", "report.png"]:
        size = (folder / picture).stat().st_size
        assert 1_000 < size < LARGEST, (picture, size)
        print(f"{picture}: {size} bytes")
        if sys.argv[1:] == ["--renew"]:
            PICTURES.mkdir(exist_ok=True)
            (PICTURES / picture).write_bytes((folder / picture).read_bytes())
        assert (PICTURES / picture).is_file(), f"README shows {picture}, which is not there: --renew puts it there"
    for picture, what in [("session.svg", pathlib.Path.read_text), ("page.png", digest_in), ("report.png", digest_in)]:
        is_so = what(folder / picture) == what(PICTURES / picture)
        assert is_so, f"README's {picture} was drawn from what the program no longer says: readme_pictures.py --renew"
