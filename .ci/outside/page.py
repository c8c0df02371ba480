"""Tests a unit in a real browser: by the page alone, by terminal and page in turn, through a reload, with two tabs, without
the network for ten seconds, with a gauge that sends, and through the end of the program and its resumption.
Looks at the page in all its widths: what does not fit, what is too small to be touched or read, and what a screen reader would
not find (axe-core)."""

import json
import re
import signal
import subprocess
import time

from support.hands import Gauge, Relay, Tab, Terminal
from support.looks import letters, looked_at
from support.shop import ROOT
from support.two_circuits import STEPS, benches, by_page, each_counted_once, record_of, session

# What is said to be done at some of the steps.
SECTIONS = {0: "Before the rig is set", 4: "Setting the rig", 8: "0 of 2 tested", 11: "Checking the rig", 13: "What is to be done"}

# What corrie-c4-main has read and done before the rig is set.
READ = ("press", "I have read this")
BEFORE_THE_RIG = [
    ("Where is the body now?", ("press", "1 on the bench")),
    ("The open hose end holds on to skin", READ),
    ("Solvent and oil mist harm lungs", READ),
    ("Compressed air drives chips", READ),
    ("Wash the body", ("press", "Done")),
    ("Preloaded springs can hit an eye", READ),
]


def page_alone():
    with benches() as (folder, browser), session(folder, folder / "two.rhai", "--page") as (terminal, address):
        tab = Tab(browser, "one", address)
        heights = {}
        for n, step in enumerate(STEPS):
            tab.shows(step[0])
            tab.can_answer()
            heights[step[0]] = letters(tab)
            doing = tab.do("evaluate", script="document.getElementById('progress-words').textContent")
            assert doing.startswith(SECTIONS.get(n, "")), (n, doing)
            if n in (0, 1, 3, 4, 6, 7, 9, 13):
                looked_at(tab, f"step-{n}")
            if n == 4:
                # A slip is refused as at the terminal, and the next key replaces it.
                tab.key_in("250")
                tab.wait_for("document.getElementById('refusal').textContent.includes('Read the dial again')")
                tab.can_answer()
                assert tab.do("evaluate", script="document.getElementById('entry').value") == "250"
                looked_at(tab, "refused")
            if n == 9:
                told = tab.do("evaluate", script="document.getElementById('face').getAttribute('aria-label')")
                for part in ("read last 12.5 inHg", "limits 15 and 20", "leaks from 0 to 14.3", "not sure from 14.3 to 15.7 and from 19.4 to 20.6"):
                    assert part in told.split("; "), (part, told)
                legend = tab.do("evaluate", script="[...document.querySelectorAll('.legend li')].map((one) => one.innerText.split('\\n')[0].trim())")
                assert legend == ["▲ read last", "✗ leaks", "≈ worn", "✓ holds", "? not sure"], legend
                marks = "['.last', '.mark.limit', '.look-open'].map((one) => document.querySelectorAll(`#face ${one}`).length)"
                assert tab.do("evaluate", script=marks) == [1, 2, 2], tab.do("evaluate", script=marks)
            if n == 3:
                is_in_the_way = "['beside', 'log'].every((id) => document.getElementById(id).offsetParent === null)"
                assert tab.do("evaluate", script=is_in_the_way)
            by_page(tab, step)
        tab.shows("The session has ended.")
        assert terminal.ended() == 0, terminal.text[-2000:]
        looked_at(tab, "ended")
        everything = tab.everything()
        assert "feed <b>bore</b>: standard 12.5 inHg" in everything and "exhaust: standard 22 inHg" in everything, everything
        noticed = browser.do("noticed")
        assert noticed == [], noticed
        cookie = tab.do("cookies")
        assert [(one["httpOnly"], one["sameSite"]) for one in cookie] == [(True, "Strict")], cookie
        assert "#" not in tab.do("evaluate", script="location.href")
        verdicts = [circuit["verdict"] for circuit in record_of(folder)["circuits"]]
        assert verdicts == ["leaks", "holds"], verdicts
        each_counted_once(folder)
        print(f"page alone: {len(STEPS)} answers, letters of a question {min(heights.values()):.0f} to "
              f"{max(heights.values()):.0f} px high at 800 px")


def both_hands():
    with benches() as (folder, browser), session(folder, folder / "two.rhai", "--page") as (terminal, address):
        one, two = Tab(browser, "one", address), None
        for n, step in enumerate(STEPS):
            words, _, line, _ = step
            one.shows(words)
            since = len(terminal.text)
            if n == 4:
                # Half a number is typed at the terminal when the page answers: nothing of that line
                # answers what comes next.
                terminal.type("19")
                terminal.wait_for("19", since)
            if n == 6:
                two = Tab(browser, "two", address.split("#")[0])
            if n == 8:
                one.do("reload")
                one.shows(words)
            if n % 2 == 0:
                by_page(one, step)
                if n == 4:
                    terminal.wait_for("Fit the test orifice", since)
            else:
                one.can_answer()
                terminal.type(line + "\r")
                if n == 5:
                    terminal.wait_for("so it is not taken", since)
                    terminal.type(line + "\r")
            if two:
                following = STEPS[n + 1][0] if n + 1 < len(STEPS) else "The session has ended."
                two.shows(following)
        assert terminal.ended() == 0, terminal.text[-2000:]
        each_counted_once(folder)
        noticed = browser.do("noticed")
        assert noticed == [], noticed
        print("both hands: in turn, through a reload and with a second tab, each answer counted once")


def interrupted():
    with benches() as (folder, browser):
        with session(folder, folder / "two.rhai", "--page", "127.0.0.1:0") as (terminal, address):
            port = int(address.split(":")[2].split("/")[0])
            relay = Relay(port)
            tab = Tab(browser, "one", address.replace("127.0.0.1", Relay.HOST))
            for step in STEPS[:4]:
                by_page(tab, step)
            tab.shows(STEPS[4][0])
            tab.can_answer()
            # The network is gone for ten seconds, and the terminal goes on.
            relay.cut()
            cut = time.monotonic()
            terminal.type(STEPS[4][2] + "\r")
            terminal.wait_for("type ok")
            tab.wait_for("!document.getElementById('lost').hidden")
            assert tab.do("evaluate", script="document.querySelectorAll('[data-sends][aria-disabled=false]').length") == 0
            looked_at(tab, "lost")
            tab.shows(STEPS[4][0])
            time.sleep(max(0.0, 10 - (time.monotonic() - cut)))
            relay.mend()
            tab.shows(STEPS[5][0])
            tab.wait_for("document.getElementById('lost').hidden")
            noticed = browser.do("noticed")
            assert noticed == [], noticed
            by_page(tab, STEPS[5])
            tab.shows(STEPS[6][0])
            terminal.stop(signal.SIGKILL)
            terminal.process.wait()
            tab.wait_for("document.getElementById('lost').innerText.includes('--resume')")
            # The browser itself writes down that nobody answers.
            assert all("Failed to load resource" in said for said in browser.do("noticed"))
        with session(folder, "--resume", "--page", f"127.0.0.1:{port}") as (terminal, address):
            tab.wait_for("!document.getElementById('pairing').hidden")
            looked_at(tab, "code")
            code = address.split("#")[1]
            tab.do("evaluate", script="document.getElementById('code').focus()")
            tab.do("type", text=code.replace("-", "").lower())
            tab.do("press", key="Enter")
            for step in STEPS[6:]:
                by_page(tab, step)
            tab.shows("The session has ended.")
            assert terminal.ended() == 0, terminal.text[-2000:]
        relay.close()
        each_counted_once(folder)
        print("interrupted: ten seconds without the network, SIGKILL and resume; nothing lost, nothing twice")


def by_keyboard():
    """Every answer by keys alone, parked by the page and gone on with."""
    with benches() as (folder, browser), session(folder, folder / "two.rhai", "--page") as (terminal, address):
        tab = Tab(browser, "one", address)
        for words, _, line, _ in STEPS[:6]:
            tab.shows(words)
            tab.can_answer()
            if tab.kind() == "caution":
                # Enter alone reads no caution.
                tab.do("press", key="Enter")
                time.sleep(0.5)
                tab.shows(words)
                tab.do("press", key="Tab")
            elif line:
                tab.do("type", text=line)
            else:
                for _ in range(30):
                    name = tab.do("evaluate", script="document.activeElement.textContent")
                    if name.startswith("Take"):
                        break
                    tab.do("press", key="Tab")
            tab.do("press", key="Enter")
        tab.shows(STEPS[6][0])
        tab.press("Park …")
        tab.do("click", name="Park")
        tab.shows("Parked.")
        assert terminal.ended() == 3, terminal.text[-2000:]
        assert "--resume" in tab.everything(), tab.everything()
        print("keyboard: six answers without a pointer, parked and told how to go on")


def doubted():
    """What is asked back stands as a question over an empty field; what is typed where something is to be done is not taken for
    done; and a verdict bears the name of its circuit where the next one is tested already."""
    with benches() as (folder, browser), session(folder, folder / "two.rhai", "--page") as (terminal, address):
        tab = Tab(browser, "one", address)
        for step in STEPS[:6]:
            by_page(tab, step)
        tab.shows(STEPS[6][0])
        tab.can_answer()
        tab.do("type", text="25")
        tab.do("press", key="Enter")
        tab.wait_for("document.getElementById('refusal').textContent.includes('Press Enter when it is done')")
        by_page(tab, STEPS[6])
        by_page(tab, STEPS[7])
        tab.shows("Reading")
        tab.key_in("25")
        tab.wait_for("document.getElementById('doubt').textContent.includes('on its plug still?')")
        tab.can_answer()
        looked_at(tab, "doubted")
        assert tab.do("evaluate", script="document.getElementById('refusal').textContent") == ""
        assert tab.do("evaluate", script="document.getElementById('entry').value") == ""
        for _ in range(2):
            tab.do("press", key="Enter")
            time.sleep(0.6)
        assert "on its plug still?" in tab.do("evaluate", script="document.getElementById('doubt').textContent")
        tab.key_in("24")
        tab.wait_for("document.querySelector('#circuit strong')?.textContent === 'exhaust'")
        since = tab.do("evaluate", script="[...document.querySelectorAll('#since p')].map((one) => one.textContent)")
        assert since[0] == "feed <b>bore</b>:" and "24 inHg" in since[1], since
        looked_at(tab, "verdict-before")
        print("doubted: Enter twice gets past no question, and typing at a step does not confirm it")


def undecided():
    """What a reading leaves open is told by its sign and its frame."""
    with benches() as (folder, browser), session(folder, folder / "two.rhai", "--page") as (terminal, address):
        tab = Tab(browser, "one", address)
        for step in STEPS[:8]:
            by_page(tab, step)
        tab.shows("Reading")
        tab.key_in("20")
        tab.wait_for("document.querySelector('#since .verdict')?.textContent === '? undecided'")
        frame = tab.do("evaluate", script="getComputedStyle(document.querySelector('#since .verdict')).borderTopStyle")
        assert frame == "dashed", frame
        tab.can_answer()
        looked_at(tab, "undecided")
        print("undecided: told by a sign and a broken frame")


SIZES = """(() => {
    const face = document.getElementById("face").getScreenCTM().a;
    const picture = document.querySelector("#picture svg");
    const drawn = picture ? picture.getScreenCTM().a * picture.viewBox.baseVal.width : 0;
    return [400 * face, 350 * face, drawn];
})()"""


def practised():
    """The drawn dial and the valves: a turn of a knob moves the needle, and the reading stays to be typed."""
    with benches() as (folder, browser):
        terminal = Terminal("--shop", folder / "bench", "practice", "corrie-c4-main", "--seed", "3", "--page")
        try:
            tab = Tab(browser, "one", terminal.wait_for(r"http://\S+/#[0-9A-Z-]{9}").group(0))
            for step in [*STEPS[:3], *BEFORE_THE_RIG]:
                by_page(tab, step)
            tab.shows("Plug the hose end.")
            tab.press("plug")
            needle = "document.getElementById('needle').style.transform"
            before = tab.do("evaluate", script=needle)
            # By the keyboard: the knob keeps the focus.
            tab.can_answer()
            tab.do("evaluate", script="document.querySelector('[data-turns=\"bleed open 1\"]').focus()")
            for turns in (1, 2):
                tab.can_answer()
                tab.do("press", key="Enter")
                tab.wait_for(f"{needle} !== {json.dumps(before)}")
                before = tab.do("evaluate", script=needle)
                focused = "document.activeElement.dataset.turns"
                tab.can_answer()
                assert tab.do("evaluate", script=focused) == "bleed open 1", turns
            looked_at(tab, "practice")
            # The dial is what is read: nothing beside the step is larger.
            for width, height in ((1280, 800), (1024, 768), (800, 1280)):
                tab.do("view", width=width, height=height)
                wide, high, picture_wide = tab.do("evaluate", script=SIZES)
                assert wide >= 300 and high >= 290 and wide >= picture_wide, (width, height, wide, high, picture_wide)
            ways = "[...document.querySelectorAll('.turns button')].map((one) => one.dataset.turns + ':' + one.innerText.replace(/\\s+/g, ' '))"
            assert "inlet close 1/16:close 1/16" in tab.do("evaluate", script=ways), tab.do("evaluate", script=ways)
            tab.press("bleed open all")
            tab.wait_for(f"{needle} !== {json.dumps(before)}")
            assert browser.do("noticed") == []
            print("practice: knobs turned by the keyboard move the needle")
        finally:
            terminal.close()


# What is typed at an attempt's questions, by their kinds, whatever they ask.
ANYHOW = {"name": "Ana", "barometer": "29.92 inHg", "temperature": "20 C", "caution": "ok", "ready": "", "wait": "", "yes_no": "no",
          "choice": "1", "text": "none", "number": "1", "reading": "20"}
RIG = {"Plug the hose end": "25", "Fit the test orifice": "5"}


def graded():
    """What an attempt comes to is said last at the terminal, and stands on top of the page."""
    with benches() as (folder, browser):
        terminal = Terminal("--shop", folder / "bench", "practice", "read-the-needle", "--page")
        try:
            tab = Tab(browser, "one", terminal.wait_for(r"http://\S+/#[0-9A-Z-]{9}").group(0))
            tab.wait_for("document.querySelector('#keys button') !== null")
            while (kind := tab.kind()) != "over":
                n_said = tab.do("evaluate", script="document.getElementById('said').children.length")
                of_rig = [vacuum for words, vacuum in RIG.items() if words in tab.words()]
                tab.press("Line …")
                tab.do("type", text=[*of_rig, ANYHOW[kind]][0])
                tab.do("evaluate", script="document.getElementById('word').required = false")
                tab.do("press", key="Enter")
                tab.wait_for(f"document.getElementById('said').children.length > {n_said} && (document.querySelector("
                             "'#keys [aria-disabled=false]') || document.getElementById('session').dataset.kind === 'over')")
            tab.wait_for("document.getElementById('since').firstElementChild?.className === 'said-result'")
            first = tab.do("evaluate", script="document.getElementById('since').firstElementChild.textContent")
            assert re.match(r"(Not p|P)assed: .* of 100", first), first
            looked_at(tab, "graded")
            print(f"graded: {first}")
        finally:
            terminal.close()


def gauged():
    """A gauge sends: its needle is live on the dial, one key takes what it has settled at, and typing goes on where the pump fails
    and where the gauge is pulled out."""
    gauge = Gauge(20, lines_per_s=4)
    options = ("--gauge", gauge.port, "--baud", "9600", "--gauge-line", "P = {} inHg", "--page")
    with benches() as (folder, browser), session(folder, folder / "two.rhai", *options) as (terminal, address):
        tab = Tab(browser, "one", address)
        needle_near = lambda vacuum: tab.wait_for(
            f"/needle near {vacuum}(;|$)/.test(document.getElementById('face').getAttribute('aria-label'))")
        is_hidden = "document.getElementById('needle').getAttribute('visibility') === 'hidden'"
        offers = lambda vacuum: tab.wait_for(
            f"[...document.querySelectorAll('#keys button')].some((one) => one.textContent === 'Take {vacuum} inHg')")
        entry = "document.getElementById('entry').value"
        for step in STEPS[:4]:
            by_page(tab, step)
        tab.shows("Plug the hose end.")
        # The needle comes by lines of its own, and stands between them.
        needle_near(19)
        needle_near(21)
        hides = "window.hides = 0; new MutationObserver(() => { window.hides += needle.getAttribute('visibility') === 'hidden'; })"
        tab.do("evaluate", script=f"{{ const needle = document.getElementById('needle'); "
               f"{hides}.observe(needle, {{ attributeFilter: ['visibility'] }}); }}")
        gauge.shows(25)
        needle_near(25)
        offers(25)
        assert tab.do("evaluate", script="window.hides") == 0
        looked_at(tab, "gauge")
        tab.press("Take 25 inHg")
        tab.shows("Fit the test orifice")
        # What is being typed when the offer comes stays.
        tab.can_answer()
        tab.do("click", name="4")
        gauge.shows(5)
        offers(5)
        assert tab.do("evaluate", script=entry) == "4"
        tab.press("Take 5 inHg")
        for step in STEPS[6:8]:
            by_page(tab, step)
        tab.shows("Reading")
        gauge.shows(12.5)
        offers(12.5)
        tab.press("Take 12.5 inHg")
        tab.shows("Before it counts")
        # The pump fails: what the needle falls to is offered, and what was read before it fell is typed.
        gauge.shows(0)
        offers(0)
        needle_near(0)
        tab.key_in("12.5")
        tab.shows("Reading")
        gauge.shows(22)
        needle_near(22)
        offers(22)
        # The gauge is pulled out while its offer stands: the page shows no needle, and both say why, once.
        since = len(terminal.text)
        gauge.unplug()
        tab.wait_for(is_hidden)
        tab.wait_for("document.getElementById('since').textContent.includes('the gauge is gone')")
        tab.wait_for("document.getElementById('since').textContent.includes('What it offered is not taken any more.')")
        assert tab.do("evaluate", script="document.querySelector('#keys .wide')") is None
        looked_at(tab, "gauge-gone")
        terminal.wait_for("the gauge is gone", since)
        tab.key_in("22")
        for step in STEPS[11:]:
            by_page(tab, step)
        tab.shows("The session has ended.")
        assert terminal.ended() == 0, terminal.text[-2000:]
        assert terminal.text.count("the gauge is gone") == 1, terminal.text
        each_counted_once(folder, [(*step[:3], step[3].replace("12 1/2", "12.5")) for step in STEPS])
        asked = [event for event in record_of(folder)["journal"] if "asked" in event]
        of_gauge = [len(event["answer"]["quantity"].get("samples", [])) >= 5
                    for event in asked if "quantity" in event["answer"]]
        assert of_gauge == [True, True, True, False, False, False, False], of_gauge
        noticed = browser.do("noticed")
        assert noticed == [], noticed
        print("gauge: a live needle, three readings taken by one key, typing goes on when the pump fails and the gauge is gone")


subprocess.run(["cargo", "build", "--quiet"], cwd=ROOT, check=True)
page_alone()
both_hands()
interrupted()
by_keyboard()
doubted()
undecided()
practised()
graded()
gauged()
