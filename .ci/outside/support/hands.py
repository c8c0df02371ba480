"""Two hands on one session: the program at a terminal of its own, and a browser that shows its page."""

import contextlib
import fcntl
import json
import math
import os
import pty
import re
import select
import socket
import struct
import subprocess
import termios
import threading
import time
import tty

from support.shop import ROOT

MODULES = ROOT / "target" / "outside-node"
PATIENCE = 60


class Terminal:
    """The program at a terminal."""

    def __init__(self, *arguments):
        main, other = pty.openpty()
        fcntl.ioctl(other, termios.TIOCSWINSZ, struct.pack("HHHH", 50, 120, 0, 0))
        command = [ROOT / "target" / "debug" / "spoolproof", *map(str, arguments)]
        environment = {**os.environ, "TERM": "xterm", "NO_COLOR": "1"}
        self.process = subprocess.Popen(
            command, stdin=other, stdout=other, stderr=other, cwd=ROOT, env=environment, start_new_session=True
        )
        os.close(other)
        self.main = main
        self.text = ""

    def read(self, seconds=0.05):
        """Takes up what is on the screen by now."""
        while select.select([self.main], [], [], seconds)[0]:
            try:
                piece = os.read(self.main, 65536)
            except OSError:
                return
            if not piece:
                return
            self.text += re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", piece.decode(errors="replace")).replace("\r", "")

    def wait_for(self, pattern, since=0):
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            self.read()
            found = re.search(pattern, self.text[since:])
            if found:
                return found
        raise AssertionError(f"the terminal never showed {pattern}:\n{self.text[since:][-3000:]}")

    def type(self, text):
        os.write(self.main, text.encode())

    def stop(self, with_signal):
        self.process.send_signal(with_signal)

    def ended(self):
        until = time.monotonic() + PATIENCE
        while self.process.poll() is None:
            assert time.monotonic() < until, self.text[-3000:]
            self.read()
        self.read()
        return self.process.returncode

    def close(self):
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        os.close(self.main)


class Gauge:
    """A gauge at a serial port that sends where its needle is: it swings about a vacuum at first, then goes to what it is to show."""

    def __init__(self, vacuum, lines_per_s):
        self.main, self.port_end = pty.openpty()
        tty.setraw(self.port_end)
        os.set_blocking(self.main, False)
        self.port = os.ttyname(self.port_end)
        self.vacuum = self.target = vacuum
        self.swing = 1.5
        self.pause = 1 / lines_per_s
        self.is_plugged_in = threading.Event()
        self.is_plugged_in.set()
        self.sending = threading.Thread(target=self.send, daemon=True)
        self.sending.start()

    def send(self):
        while self.is_plugged_in.is_set():
            goal = self.target + self.swing * math.sin(2 * time.monotonic())
            self.vacuum += (goal - self.vacuum) * min(1, 4 * self.pause)
            # Where nobody reads, lines are lost, as on a cable.
            with contextlib.suppress(BlockingIOError):
                os.write(self.main, f"P = {self.vacuum:.2f} inHg\r\n".encode())
            time.sleep(self.pause)

    def shows(self, vacuum):
        self.target, self.swing = vacuum, 0

    def unplug(self):
        self.is_plugged_in.clear()
        self.sending.join()
        os.close(self.main)
        os.close(self.port_end)


class Relay:
    """The network between a browser and the program: what it carries can be cut, and is carried on when it is mended."""

    HOST = "127.0.0.2"

    def __init__(self, port):
        self.port = port
        self.is_whole = threading.Event()
        self.is_whole.set()
        self.listener = socket.create_server((self.HOST, port), backlog=50)
        threading.Thread(target=self.accept, daemon=True).start()

    def accept(self):
        with contextlib.suppress(OSError):
            while True:
                browser, _ = self.listener.accept()
                threading.Thread(target=self.join, args=(browser,), daemon=True).start()

    def join(self, browser):
        self.is_whole.wait()
        try:
            program = socket.create_connection(("127.0.0.1", self.port))
        except OSError:
            browser.close()
            return
        for one, other in ((browser, program), (program, browser)):
            threading.Thread(target=self.carry, args=(one, other), daemon=True).start()

    def carry(self, one, other):
        with contextlib.suppress(OSError):
            while piece := one.recv(65536):
                self.is_whole.wait()
                other.sendall(piece)
        for end in (one, other):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def cut(self):
        self.is_whole.clear()

    def mend(self):
        self.is_whole.set()

    def close(self):
        self.mend()
        self.listener.close()


class Browser:
    """A browser with tabs."""

    def __init__(self):
        script = ROOT / ".ci" / "outside" / "support" / "browser.mjs"
        self.driver = subprocess.Popen(
            ["node", script, MODULES], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT
        )

    def do(self, what, **more):
        self.driver.stdin.write(json.dumps({"do": what, **more}) + "\n")
        self.driver.stdin.flush()
        line = self.driver.stdout.readline()
        assert line, f"the browser is gone at {what} {more}"
        said = json.loads(line)
        assert "error" not in said, (what, more, said)
        return said["answer"]

    def close(self):
        self.driver.stdin.close()
        self.driver.wait(timeout=PATIENCE)


class Tab:
    """A tab that shows the page."""

    def __init__(self, browser, name, url):
        self.browser, self.name = browser, name
        self.do("open", url=url)

    def do(self, what, **more):
        return self.browser.do(what, tab=self.name, **more)

    def wait_for(self, script, seconds=PATIENCE):
        try:
            self.do("wait", script=script, seconds=seconds)
        except AssertionError:
            raise AssertionError(f"{script} never came; the page says: {self.everything()}") from None

    def everything(self):
        return self.do("evaluate", script="document.body.innerText")

    def words(self):
        return self.do("evaluate", script="document.getElementById('words').textContent")

    def kind(self):
        return self.do("evaluate", script="document.getElementById('session').dataset.kind")

    def shows(self, words, seconds=PATIENCE):
        self.wait_for(f"document.getElementById('words').textContent.includes({json.dumps(words)})", seconds)

    def can_answer(self):
        """Waits until keys can be pressed: shortly after something is asked, so that a second tap does not count."""
        self.wait_for("document.querySelector('#keys [data-sends][aria-disabled=false]') !== null")
        # A tab behind another takes no clicks.
        self.do("front")

    def press(self, name):
        self.can_answer()
        self.do("click", name=name)

    def key_in(self, text):
        """Enters a number on the page's own keypad and sends it."""
        self.can_answer()
        names = {".": "point", "½": "one half", "¼": "one quarter", "¾": "three quarters"}
        for letter in re.findall(r"[a-zA-Z]+|.", text.replace(" ", "")):
            self.do("click", name=names.get(letter, letter))
        self.do("click", name="Send")

    def write(self, text):
        self.can_answer()
        self.do("evaluate", script="document.getElementById('entry').focus()")
        self.do("type", text=text)
        self.do("press", key="Enter")

