"""Pictures of the page in a real browser: ports are clicked where they lie on one, and photos are chosen, dropped, seen before
they are sent, and kept."""

import re
import subprocess

from support.hands import Tab, Terminal
from support.looks import looked_at
from support.png import picture
from support.shop import ROOT
from support.two_circuits import STEPS, benches, by_page, record_of, session

# Six ports as close to each other as their dots and rings allow, one at a corner.
CLOSE = {"A1": (100, 100), "A2": (118, 100), "B1": (100, 118), "B2": (118, 118), "C1": (140, 110), "D1": (396, 3)}
MAPPED = """
procedure(#{ title: "Merle M2, ports", unit: "Merle M2", version: "1.0.0" });
for port in ["A1", "A2", "B1", "B2", "C1", "D1"] {
    test(circuit(#{ name: "feed " + port, port: port, holds: 20.inHg, leaks: 15.inHg }));
}
"""
CLICK = """(() => {
    const drawing = document.querySelector("#picture svg");
    const at = new DOMPoint(%s, %s).matrixTransform(drawing.getScreenCTM());
    drawing.dispatchEvent(new MouseEvent("click", { clientX: at.x, clientY: at.y, bubbles: true }));
})()"""
COVERED = """[...document.querySelectorAll("#picture text")].map((one) => [one.textContent, one.getBBox()])
    .flatMap(([name, one], at, names) => [
        ...names.slice(at + 1),
        ...[...document.querySelectorAll("#picture circle")].map((circle) => ["a port", circle.getBBox()]),
        ["the edge", { x: -1e6, y: -1e6, width: 1e6, height: 2e6 }], ["the edge", { x: 400, y: -1e6, width: 1e6, height: 2e6 }],
    ].filter(([, other]) => Math.min(one.x + one.width, other.x + other.width) - Math.max(one.x, other.x) > 0.5
        && Math.min(one.y + 0.8 * one.height, other.y + 0.8 * other.height) - Math.max(one.y + 0.2 * one.height, other.y + 0.2 * other.height) > 0.5)
    .map(([other]) => `${name} and ${other}`))"""


def mapped():
    """Ports are clicked where they lie on a picture that is on the screen with its question, and no name covers another."""
    with benches() as (folder, browser):
        procedure = folder / "map.rhai"
        procedure.write_text(MAPPED)
        terminal = Terminal("--shop", folder / "bench", "map", procedure, "--picture", folder / "two.png")
        try:
            tab = Tab(browser, "one", terminal.wait_for(r"http://\S+/#[0-9A-Z-]{9}").group(0))
            for port, (x, y) in CLOSE.items():
                tab.shows(f"Click port {port}")
                tab.can_answer()
                covered = tab.do("evaluate", script=COVERED)
                assert covered == [], (port, covered)
                if port == "D1":
                    looked_at(tab, "map")
                    # Beside the picture is no place on it.
                    tab.do("evaluate", script=CLICK % (-3, 100))
                tab.do("evaluate", script=CLICK % (x + 0.5, y + 0.5))
            # The last click ends nothing: all are shown, and another one asks for the last port again.
            tab.shows("All ports are placed and written into")
            tab.can_answer()
            names = "[...document.querySelectorAll('#picture text')].map((one) => one.textContent).sort()"
            assert tab.do("evaluate", script=names) == sorted(CLOSE)
            looked_at(tab, "mapped")
            tab.do("evaluate", script=CLICK % (200, 200))
            tab.shows("Click port D1")
            x, y = re.search(r'"D1": \[(\d+), (\d+)\]', procedure.read_text()).groups()
            tab.press(f"Take {x} {y}")
            tab.shows("All ports are placed")
            tab.press("Take the places as they are")
            tab.shows("Done.")
            assert terminal.ended() == 0, terminal.text[-2000:]
            written = {port: (int(x), int(y)) for port, x, y in re.findall(r'"(..)": \[(\d+), (\d+)\]', procedure.read_text())}
            # A click is told in whole pixels of the screen.
            is_near = all(abs(one - other) <= 1 for port in CLOSE for one, other in zip(written[port], CLOSE[port]))
            assert written.keys() == CLOSE.keys() and is_near, written
            assert browser.do("noticed") == []
            print(f"map: {len(CLOSE)} ports clicked, none of whose names covers another")
        finally:
            terminal.close()


DROP = """fetch("/icon.svg").then(() => {
    const canvas = document.createElement("canvas");
    canvas.width = 60; canvas.height = 20;
    canvas.toBlob((blob) => {
        const moved = new DataTransfer();
        moved.items.add(new File([blob], "dropped.jpg", { type: "image/jpeg" }));
        window.dispatchEvent(new DragEvent("drop", { dataTransfer: moved, cancelable: true }));
    }, "image/jpeg");
})"""


SEEN = "document.querySelector('.preview:not([hidden])')?.getAttribute('aria-label') === 'the photo in %s'"
PREVIEW = """(() => {
    const canvas = document.querySelector(".preview");
    return [canvas.width, canvas.height, ...canvas.getContext("2d").getImageData(20, 15, 1, 1).data];
})()"""


def photographed():
    """A photo is chosen and another dropped; a path that is typed reads no file."""
    with benches() as (folder, browser), session(folder, folder / "two.rhai", "--page") as (terminal, address):
        picture(folder / "bore.png", 40, 30)
        tab = Tab(browser, "one", address)
        for step in STEPS[:8]:
            by_page(tab, step)
        tab.shows("Reading")
        tab.press("Photo …")
        looked_at(tab, "photo")
        tab.do("choose", field="#photo", file=str(folder / "bore.png"))
        # It is seen before it is sent: as large as it is, and with its own pixels.
        tab.wait_for(SEEN % "bore.png")
        assert tab.do("evaluate", script=PREVIEW) == [40, 30, 90, 120, 40, 255], tab.do("evaluate", script=PREVIEW)
        looked_at(tab, "photo-chosen")
        tab.do("evaluate", script="document.getElementById('word').focus()")
        tab.do("type", text="scored at the spring end")
        tab.do("click", name="Send the photo")
        terminal.wait_for("Photo of feed <b>bore</b> kept: 40 x 30 pixels")
        tab.can_answer()
        tab.do("evaluate", script=DROP)
        tab.wait_for(SEEN % "dropped.jpg")
        tab.can_answer()
        tab.do("click", name="Send the photo")
        terminal.wait_for("Photo of feed <b>bore</b> kept: 60 x 20 pixels")
        # What is no photo is refused where it was sent.
        (folder / "film.jpg").write_text("film")
        tab.press("Photo …")
        tab.do("choose", field="#photo", file=str(folder / "film.jpg"))
        tab.wait_for("document.querySelector('#words-form [role=status]').textContent === "
                     "\"This browser can't show film.jpg, so it may be refused: photos are PNG or JPEG.\"")
        tab.do("click", name="Send the photo")
        # The refusal stands in the form, in sight, with the field for another file in hand, and nothing is waited for.
        tab.wait_for("document.querySelector('#words-form .refusal')?.textContent.includes('film.jpg: it is neither PNG nor JPEG')")
        tab.wait_for("document.activeElement.id === 'photo' && document.getElementById('sending').textContent === ''")
        box = "document.querySelector('#words-form .refusal').getBoundingClientRect()"
        assert tab.do("evaluate", script=f"{box}.top >= 0 && {box}.bottom <= innerHeight")
        looked_at(tab, "photo-refused")
        tab.press("Line …")
        tab.do("type", text=f"photo {folder / 'bore.png'}")
        tab.do("press", key="Enter")
        tab.wait_for("document.getElementById('refusal').textContent.includes('chosen or dropped')")
        for step in STEPS[8:]:
            by_page(tab, step)
        tab.shows("The session has ended.")
        assert terminal.ended() == 0, terminal.text[-2000:]
        photos = [event["photographed"] for event in record_of(folder)["journal"] if "photographed" in event]
        assert [(one["width"], one.get("words")) for one in photos] == [(40, "scored at the spring end"), (60, None)], photos
        kept = {path.name for path in (folder / "bench" / "pictures").glob("*.jpg")}
        assert kept == {f"{one['sha256']}.jpg" for one in photos}, kept
        # The browser itself writes down that the film was not taken.
        noticed = browser.do("noticed")
        assert len(noticed) == 1 and "422" in noticed[0], noticed
        print("photos: one chosen and one dropped, kept under their digests; a path that was typed read nothing")


subprocess.run(["cargo", "build", "--quiet"], cwd=ROOT, check=True)
mapped()
photographed()
