"""Looks at the page on every screen: what does not fit, what is too small to be touched or read, what covers what, and what a
screen reader would not find (axe-core)."""

from support.shop import ROOT


def looked_at(tab, what):
    """Looks at what is shown in every width, zoomed, in the dark, and with less motion."""
    folder = ROOT / "target" / "outside-page"
    folder.mkdir(exist_ok=True)
    sights = [("360", 360, 740, 1), ("800", 800, 1280, 1), ("1280", 1280, 800, 1), ("1920", 1920, 1080, 1)]
    # A telephone on its side, and zoomed.
    sights += [("740", 740, 360, 1), ("1280-at-200", 640, 400, 2)]
    dark = [{"name": "prefers-color-scheme", "value": "dark"}]
    for name, width, height, scale in sights:
        tab.do("view", width=width, height=height, scale=scale)
        for colours, features in (("light", []), ("dark", dark)):
            tab.do("media", features=features)
            tab.do("picture", file=str(folder / f"{what}-{name}-{colours}.png"))
            on_one_screen(tab, (what, name, colours))
            seen = tab.do("axe")
            assert seen["violations"] == [], (what, name, colours, seen)
            assert seen["passes"] >= 15, seen
        too_wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert tab.do("evaluate", script=too_wide) <= 0, (what, name)
        # Where a screen is as low as that, keys are as high as a finger at least (WCAG 2.2, 2.5.5).
        least = 43.5 if height <= 400 else 55.5
        small = f"""[...document.querySelectorAll("button, input, select")].map((one) => [one.textContent, one.closest("label") ?? one])
            .map(([name, one]) => [name, one.getBoundingClientRect()]).filter(([, box]) => box.width > 0)
            .filter(([, box]) => box.width < {least} || box.height < {least}).map(([name, box]) => `${{name}} ${{box.width}} ${{box.height}}`)"""
        assert tab.do("evaluate", script=small) == [], (what, name, tab.do("evaluate", script=small))
    tab.do("view", width=800, height=1180)
    tab.do("media", features=[{"name": "prefers-reduced-motion", "value": "reduce"}])
    moves = "[...document.querySelectorAll('*')].filter((one) => getComputedStyle(one).transitionDuration !== '0s').length"
    assert tab.do("evaluate", script=moves) == 0, what
    tab.do("media", features=[])


PARTS = """["step", "keys", "dial", "valves", "picture", "asides", "log"].map((id) => [id, document.getElementById(id)])
    .filter(([, one]) => one.offsetParent !== null).map(([id, one]) => [id, one.getBoundingClientRect()])"""
OVER_ONE_ANOTHER = f"""{PARTS}.flatMap(([id, one], at, parts) => parts.slice(at + 1)
    .filter(([, other]) => Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top) > 1
        && Math.min(one.right, other.right) - Math.max(one.left, other.left) > 1)
    .map(([other]) => `${{id}} and ${{other}}`))"""
OFF_SCREEN = f"""{PARTS}.filter(([, box]) => box.top < 0 || box.left < 0 || box.right > innerWidth || box.bottom > innerHeight)
    .map(([id]) => id)"""
# The words that are wanted most, which stand first.
WORDS_OFF = """[...document.querySelectorAll("#words-row button")].slice(0, 3).map((one) => [one.textContent, one.getBoundingClientRect()])
    .filter(([, box]) => box.top < 0 || box.right > innerWidth || box.bottom > innerHeight).map(([name]) => name)"""
HEIGHTS = """Object.fromEntries(["#face", "#picture svg"].map((name) => [name, document.querySelector(name)?.getBoundingClientRect().height]))"""


def on_one_screen(tab, which):
    """No part covers another. Where a reading is asked for, the screen has step, dial, picture, keys and the words that are wanted
    most all at once, but for the picture at a simulated bench, or step and keys on a telephone, and the letters can be read from
    where one stands; where a picture is to be clicked, all of it."""
    _, name, _ = which
    tab.do("evaluate", script="scrollTo(0, 0)")
    assert tab.do("evaluate", script=OVER_ONE_ANOTHER) == [], (which, tab.do("evaluate", script=OVER_ONE_ANOTHER))
    least = {"360": 21, "740": 21, "1280-at-200": 21, "800": 31, "1280": 35, "1920": 48}
    is_telephone = name in ("360", "740", "1280-at-200")
    can_answer = tab.do("evaluate", script="document.getElementById('lost').hidden")
    is_clicked = tab.do("evaluate", script="document.querySelector('#picture svg.clicked') !== null")
    if not (tab.kind() == "reading" or is_clicked) or name not in least or not can_answer:
        return
    below = {"dial", "picture", "valves"} if is_telephone and not is_clicked else set()
    # At a simulated bench dial and valves are what is worked with, and the picture may be scrolled to.
    if tab.do("evaluate", script="!document.getElementById('valves').hidden"):
        below |= {"picture"}
    off = set(tab.do("evaluate", script=OFF_SCREEN)) - {"asides", "log"} - below
    assert off == set(), (which, off)
    if is_clicked:
        return
    assert letters(tab) >= least[name], (which, letters(tab))
    if is_telephone:
        return
    assert tab.do("evaluate", script=WORDS_OFF) == [], (which, tab.do("evaluate", script=WORDS_OFF))
    for part, high in tab.do("evaluate", script=HEIGHTS).items():
        assert high is None or high >= 150, (which, part, high)


def letters(tab):
    """How high the letters of the question are, in CSS pixels."""
    return tab.do("evaluate", script="parseFloat(getComputedStyle(document.getElementById('words')).fontSize)")
