"""A headless Chromium driven over its debugging pipe: pages are measured, photographed and printed as they are.

The protocol is JSON, ended by a NUL byte, on the browser's file descriptors 3 (commands) and 4 (answers).
"""

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import tempfile
import time

import pytest

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--remote-debugging-pipe",
]
PAPER = {"A4": (210.0, 297.0), "US Letter": (215.9, 279.4)}  # mm
PATIENCE = 60  # s, for one answer
INCH = 25.4  # mm


def unseen(missing):
    """In CI a page that nobody looked at is a failure."""
    pytest.fail(missing) if os.environ.get("CI") == "true" else pytest.skip(missing)


def find():
    """The browser's program, or None."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


class Browser:
    """A browser with a new, empty profile and one tab."""

    def __init__(self, flags=FLAGS):
        self.profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        pipes = [os.pipe(), os.pipe()]
        # Above 10, so that putting the browser's ends on 3 and 4 overwrites none of them.
        (read, self.write), (self.read, write) = [[self._high(end) for end in pipe] for pipe in pipes]

        def attach():
            os.dup2(read, 3)
            os.dup2(write, 4)

        command = [find(), *flags, f"--user-data-dir={self.profile.name}", "about:blank"]
        self.process = subprocess.Popen(
            command, preexec_fn=attach, close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        os.close(read)
        os.close(write)
        self.rest, self.count, self.session, self.events = b"", 0, None, []
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ["Page", "Network", "Runtime", "Log"]:
            self.ask(f"{domain}.enable")

    @staticmethod
    def _high(end):
        high = fcntl.fcntl(end, fcntl.F_DUPFD_CLOEXEC, 10)
        os.close(end)
        return high

    def close(self):
        self.process.terminate()
        self.process.wait(PATIENCE)
        os.close(self.write)
        os.close(self.read)
        self.profile.cleanup()

    def ask(self, method, **params):
        """The answer to a command; what happens meanwhile is kept in `events`."""
        self.count += 1
        message = {"id": self.count, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self.count:
                assert "error" not in answer, f"{method}: {answer}"
                return answer["result"]
            self.events.append(answer)

    def _next(self):
        end = time.monotonic() + PATIENCE
        while b"\0" not in self.rest:
            ready, _, _ = select.select([self.read], [], [], max(0.0, end - time.monotonic()))
            assert ready, "the browser does not answer"
            data = os.read(self.read, 1 << 20)
            assert data, "the browser is gone"
            self.rest += data
        message, self.rest = self.rest.split(b"\0", 1)
        return json.loads(message)

    def open(self, path, width=1280):
        """Loads a file at a window `width` px wide; returns the addresses that it asked for, itself among them."""
        self.ask(
            "Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=width < 600
        )
        self.events.clear()
        self.ask("Page.navigate", url=path.resolve().as_uri())
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._next())
        sent = [event for event in self.events if event.get("method") == "Network.requestWillBeSent"]
        return [event["params"]["request"]["url"] for event in sent]

    def value(self, expression):
        """What an expression is worth in the page; of a promise, what it brings."""
        answer = self.ask("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def until(self, expression, seconds=PATIENCE):
        """Waits until an expression is true in the page."""
        end = time.monotonic() + seconds
        while not self.value(f"Boolean({expression})"):
            assert time.monotonic() < end, f"never came true: {expression}"
            time.sleep(0.02)

    def press(self, key, code=None, times=1):
        """Presses a key: Tab, Enter, ArrowRight."""
        codes = {"Tab": 9, "Enter": 13, "ArrowLeft": 37, "ArrowRight": 39}
        text = {"text": "\r"} if key == "Enter" else {}
        press = {"key": key, "code": code or key, "windowsVirtualKeyCode": codes[key]}
        for _ in range(times):
            self.ask("Input.dispatchKeyEvent", type="keyDown", **press, **text)
            self.ask("Input.dispatchKeyEvent", type="keyUp", **press)

    def dark(self, dark):
        """Whether the page is shown in its dark colours."""
        feature = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.ask("Emulation.setEmulatedMedia", features=[feature])

    def complaints(self):
        """What the page said on its console since it was opened, and what went wrong in it."""
        kinds = ["Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded"]
        return [event for event in self.events if event.get("method") in kinds]

    def screenshot(self):
        """The whole page as PNG."""
        return base64.b64decode(self.ask("Page.captureScreenshot", captureBeyondViewport=True)["data"])

    def printed(self, sheet, paper):
        """What pdfinfo says of the page printed into the file `sheet`, and its text; the page's own size, if it had one, would win."""
        width, height = PAPER[paper]
        size = {"paperWidth": width / INCH, "paperHeight": height / INCH, "preferCSSPageSize": True}
        sheet.write_bytes(base64.b64decode(self.ask("Page.printToPDF", printBackground=False, **size)["data"]))

        def told(*words):
            return subprocess.run(words, check=True, capture_output=True, text=True).stdout

        about = dict(line.split(":", 1) for line in told("pdfinfo", sheet).splitlines() if ":" in line)
        return about, told("pdftotext", "-layout", sheet, "-")
