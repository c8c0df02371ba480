"""Reads a report's page as a customer would: in Chromium, on paper (A4 and Letter, at most three sheets: one for the
customer, two of figures), aloud (axe-core), in grey, and as text. The record holds text that tries to break out of the
page."""

import json
import pathlib
import statistics
import subprocess
import tempfile
import xml.etree.ElementTree as ET

from PIL import Image

from support.shop import NAMES, ONE_CIRCUIT, ROOT, guided, program, rehearsed

MODULES = ROOT / "target" / "outside-node"


def text_of(pdf):
    done = subprocess.run(["pdftotext", "-layout", pdf, "-"], check=True, capture_output=True, text=True)
    return " ".join(done.stdout.split())


def sheets_of(pdf):
    info = subprocess.run(["pdfinfo", pdf], check=True, capture_output=True, text=True).stdout
    return int(next(line.split()[1] for line in info.splitlines() if line.startswith("Pages:")))


def liveliness(picture):
    """How much a sample's inside varies in lightness: hatching does, a plain ground does not."""
    grey = Image.open(picture).convert("L")
    width, height = grey.size
    inside = grey.crop((8, 6, width - 8, height - 6))
    return statistics.pstdev(inside.get_flattened_data())


def rendered(page, folder):
    """Has a page rendered in Chromium and returns what was seen there."""
    ET.fromstring(page.read_text().removeprefix("<!DOCTYPE html>"))
    script = ROOT / ".ci" / "outside" / "support" / "render.mjs"
    done = subprocess.run(["node", script, MODULES, page, folder], capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stdout.splitlines()[-1])
    assert seen["noticed"] == [], seen["noticed"]
    assert seen["axe"]["violations"] == [], seen["axe"]["violations"]
    assert seen["axe"]["passes"] >= 15, seen["axe"]
    assert seen["overflow"] <= 0, seen
    return seen


def history():
    """The pages of the history: tables and pictures, with a technician whose name tries to be markup."""
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        shop = guided(folder, ["22", "22.25", "21.75", "23"])
        for question, words in (
            (["failing"], "feed: 4 hold"),
            (["spread", "feed"], "Readings: 3 from 21.5 to 22.5 inHg, 1 from 22.5 to 23.5 inHg."),
            (["by", "technician"], "<b>Bo</b>: 2 hold"),
            (["overview"], "Through the orifice, higher by in inHg: 4 values, limits"),
            (["drift"], "Through the orifice, higher by in inHg: 4 values, limits"),
        ):
            page = folder / "history.html"
            program("--shop", shop, "history", *question, "--html", page)
            seen = rendered(page, folder)
            assert any(words in said for said in seen["pictures"]), (question, seen["pictures"])
        print("history: five pages with pictures rendered, no accessibility fault")


def job():
    """The report of a job: a circuit found leaking, repaired and tested again, for a customer whose name tries to be markup."""
    customer = "<b>Ann</b> Example"
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        shop, procedure, given = folder / "bench", folder / "one.rhai", folder / "answers.txt"
        described = 'leaks: 15.inHg, symptoms: ["late upshift"], repairs: [#{ does: "new seals", parts: 8, hours: 0.5 }] }'
        procedure.write_text(ONE_CIRCUIT.replace("leaks: 15.inHg }", described))
        first = ["Ana", "29.92 inHg", "20 C", "25", "5", "9", "", "9", "", "25", "5", "1"]
        # Who tests, the barometer and the air are known from earlier the same day: one Enter takes them.
        again = ["", "25", "5", "22", "25", "5"]
        repaired = ("repaired", "4711", "--did", "new seals", "--by", "Bo", "--circuit", "feed", "--cost", "118.50")
        program("--shop", shop, "job", "set", "4711", "--customer", customer, "--vehicle", "red pickup")
        program("--shop", shop, "shop", "set", "--name", "Hill Bench", "--address", "4 Invented Street")
        for command, lines in ((("guide", procedure, "--job", "4711"), first), (("guide", "--retest", "4711"), again)):
            given.write_text("\n".join(lines) + "\n")
            program("--shop", shop, *command, "--answers", given, stdin=subprocess.DEVNULL)
            if lines is first:
                program("--shop", shop, "job", *repaired)
        page = folder / "report.html"
        program("--shop", shop, "report", "4711", "--html", page)
        seen = rendered(page, folder)
        assert seen["narrow_overflow"] <= 0, seen
        assert "Before: reads as leaking, 9 inHg" in seen["pictures"][0], seen["pictures"]
        assert "After: reads as sound, 22 inHg" in seen["pictures"][0], seen["pictures"]
        for size in ("a4", "letter"):
            paper = folder / f"{size}.pdf"
            assert sheets_of(paper) == 3, (size, sheets_of(paper))
            subprocess.run(["pdftotext", "-layout", "-l", "1", paper, folder / "first.txt"], check=True)
            printed = " ".join((folder / "first.txt").read_text().split())
            for words in (
                "Hill Bench", customer, "red pickup", "late upshift", "Done: new seals, by Bo, for 118.50",
                "What this does not say", "For the shop, date", "Customer, date",
            ):
                assert words in printed, (size, words, printed)
            assert "go before anything in this report" in text_of(paper), size
        handed_on = program("--shop", shop, "report", "4711", "--without-customer")
        assert "Ann" not in handed_on and "pickup" not in handed_on, handed_on
        print("job: a page for the customer and one for each test, before and after in a picture")


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        shop = rehearsed(folder)
        page = folder / "report.html"
        program("--shop", shop, "report", "--html", page)
        text = program("--shop", shop, "report")
        html = page.read_text()
        seen = rendered(page, folder)
        assert seen["narrow_overflow"] <= 0, seen
        troubles, scales = seen["pictures"][:4], seen["pictures"][4:]
        assert all(f"Before: reads as {word}" in said for said, word in zip(troubles, ["leaking"] * 2 + ["worn"] * 2))
        assert len(scales) == len(NAMES), scales
        assert all("Standard reading" in said and "leaks from 15 inHg down" in said for said in scales)

        leaks, worn, holds = (liveliness(folder / f"sample-{n}.png") for n in range(3))
        assert leaks > 1.3 * worn and worn > 10 and holds < 1, (leaks, worn, holds)

        for size in ("a4", "letter"):
            paper = folder / f"{size}.pdf"
            assert sheets_of(paper) <= 3, (size, sheets_of(paper))
            printed = text_of(paper)
            for words in (
                "Merle M2, whole body", "8 of 12 circuits hold", "Leaking: circuit 11 (decided: ream and oversize valve)",
                "it says nothing of any real unit", "keep fingers, eyes and hair away", "Calibration",
                "Drift", "good", "SHA-256", "nothing was measured", "</title><script>alert(1)</script>",
            ):
                assert words in printed, (size, words, printed[:3000])
            assert printed.count("holds") >= 8 and printed.count("leaks") >= 2
        assert "\u202e" not in html and "\u202e" not in text and "<script>" not in html
        assert "circuit 11 (port 11): LEAKS" in text
        print(f"report: {seen['axe']['passes']} axe rules passed, no more than three sheets, liveliness in grey "
              f"{leaks:.0f} {worn:.0f} {holds:.0f}")


main()
job()
history()
