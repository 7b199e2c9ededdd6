"""A headless chromium, spoken to over a pipe. Python's standard library only."""

import base64
import json
import os
import pathlib
import select
import shutil
import subprocess
import tempfile
import time

FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage", "--hide-scrollbars",
    "--remote-debugging-pipe",
]


class Browser:
    """One browser process with one page.

    Messages of the DevTools protocol are JSON, each ended by a NUL byte: the browser reads them
    from its descriptor 3 and writes them to its descriptor 4.
    """

    def __init__(self, program="chromium", patience=60.0):
        self.patience = patience
        self.profile = tempfile.mkdtemp(prefix="counterpane-browser-")
        to_browser, self.write_end = os.pipe()
        self.read_end, from_browser = os.pipe()

        def wire():
            # Lift both out of the way first: either may already be 3 or 4.
            high_in, high_out = os.dup(to_browser), os.dup(from_browser)
            os.dup2(high_in, 3)
            os.dup2(high_out, 4)
            os.set_inheritable(3, True)
            os.set_inheritable(4, True)

        self.process = subprocess.Popen(
            [program, *FLAGS, "--user-data-dir=" + self.profile, "about:blank"],
            preexec_fn=wire, close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )
        os.close(to_browser)
        os.close(from_browser)
        self.buffer = b""
        self.number = 0
        self.events = []
        self.session = None
        targets = self.call("Target.getTargets")["targetInfos"]
        page = next(t for t in targets if t["type"] == "page")
        attached = self.call("Target.attachToTarget", targetId=page["targetId"], flatten=True)
        self.session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(domain + ".enable")

    def call(self, method, **params):
        """Sends a command and returns its result; what arrives meanwhile is kept in `events`."""
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.write_end, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._receive()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']['message']}")
                return answer["result"]
            self.events.append(answer)

    def _receive(self):
        end = time.monotonic() + self.patience
        while b"\0" not in self.buffer:
            ready, _, _ = select.select([self.read_end], [], [], max(0.0, end - time.monotonic()))
            chunk = os.read(self.read_end, 1 << 20) if ready else b""
            if not chunk:
                raise RuntimeError("the browser does not answer")
            self.buffer += chunk
        message, self.buffer = self.buffer.split(b"\0", 1)
        return json.loads(message)

    def open(self, path, width, height=900, scheme="light"):
        """Opens a file in a window of a size, in light or dark, and forgets earlier events."""
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=width < 500)
        self.call("Emulation.setEmulatedMedia", media="", features=[{"name": "prefers-color-scheme", "value": scheme}])
        self.events.clear()
        self.call("Page.navigate", url=pathlib.Path(path).resolve().as_uri())
        end = time.monotonic() + self.patience
        while self.value("document.readyState") != "complete" or self.value("location.protocol") != "file:":
            if time.monotonic() > end:
                raise RuntimeError("the page does not finish loading")
            time.sleep(0.05)
        time.sleep(0.2)

    def value(self, expression):
        """Returns the value of an expression in the page; an exception there is an error here."""
        answer = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(f"{expression}: {answer['exceptionDetails'].get('text')}")
        return answer["result"].get("value")

    def pointer(self, x, y):
        """Moves the mouse."""
        self.call("Input.dispatchMouseEvent", type="mouseMoved", x=x, y=y)

    def touch(self, x, y):
        """Touches a point and lets go."""
        self.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
        self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    def key(self, name, code=0):
        """Presses and releases a key such as `ArrowRight`."""
        for kind in ("keyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key=name, code=name, windowsVirtualKeyCode=code)

    def errors(self):
        """Returns what the console and the log said that is not mere talk."""
        out = []
        for event in self.events:
            params = event.get("params", {})
            if event.get("method") == "Runtime.exceptionThrown":
                out.append(params["exceptionDetails"].get("text", "exception"))
            elif event.get("method") == "Runtime.consoleAPICalled" and params["type"] in ("error", "warning", "assert"):
                out.append("console: " + str(params["args"]))
            elif event.get("method") == "Log.entryAdded" and params["entry"]["level"] in ("error", "warning"):
                out.append(params["entry"]["text"])
        return out

    def requests(self):
        """Returns the addresses that the page asked for; `data:` and `blob:` never leave the page."""
        sent = [e["params"]["request"]["url"] for e in self.events if e.get("method") == "Network.requestWillBeSent"]
        return [url for url in sent if not url.startswith(("data:", "blob:"))]

    def screenshot(self, path, whole=True):
        """Saves a PNG of the whole page, or of what the window shows."""
        shot = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        pathlib.Path(path).write_bytes(base64.b64decode(shot["data"]))

    def close(self):
        """Ends this browser and removes its profile."""
        try:
            self.session = None
            self.call("Browser.close")
        except (RuntimeError, OSError):
            pass
        try:
            self.process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        os.close(self.write_end)
        os.close(self.read_end)
        shutil.rmtree(self.profile, ignore_errors=True)
