"""A reader's hand on the page of `sheet trace`: clicks and keys, each counted, and the ways of a trace."""

import json
import time

from styles import ROWS, draw

CODES = {"ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40, "Enter": 13, "Delete": 46, "Escape": 27, "Tab": 9,
         "Home": 36, "End": 35}
SHIFT, CTRL, ALT = 8, 2, 1


class Hand:
    """A reader's hand: clicks and keys, each counted."""

    def __init__(self, browser):
        self.browser = browser
        self.clicks = self.keys = 0

    def click(self, x, y):
        self.clicks += 1
        self.browser.pointer(x, y)
        for kind in ("mousePressed", "mouseReleased"):
            self.browser.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def press(self, key, held=0):
        """Presses a key such as `Enter` or `w`."""
        self.keys += 1
        code = CODES.get(key, ord(key.upper()) if len(key) == 1 else 0)
        text = {"text": key} if len(key) == 1 and not held & ~SHIFT else {"text": "\r"} if key == "Enter" else {}
        self.browser.call("Input.dispatchKeyEvent", type="keyDown", key=key, windowsVirtualKeyCode=code, modifiers=held, **text)
        self.browser.call("Input.dispatchKeyEvent", type="keyUp", key=key, windowsVirtualKeyCode=code, modifiers=held)

    def write(self, text):
        for letter in text:
            self.press(letter)

    def on(self, selector):
        """Clicks on an element."""
        x, y = self.browser.value(
            "(() => { const e = document.querySelector(%s); e.scrollIntoView({block: 'center'}); const b = e.getBoundingClientRect();"
            " return [b.left + b.width / 2, b.top + b.height / 2]; })()" % json.dumps(selector))
        self.click(x, y)

    def point(self, x, y):
        """Clicks on a pixel of the picture, after bringing it into sight."""
        spot = self.browser.value(
            "(() => { const v = document.getElementById('view'), p = document.getElementById('shot');"
            " v.scrollIntoView({block: 'center'}); const w = parseFloat(p.style.width) / p.naturalWidth;"
            " v.scrollTop = Math.max(0, %f * w - v.clientHeight / 3); v.scrollLeft = Math.max(0, %f * w - v.clientWidth / 2);"
            " const b = p.getBoundingClientRect(); return [b.left + (%f + .5) * w, b.top + (%f + .5) * w]; })()" % (y, x, x, y))
        self.click(*spot)


def open_page(browser, page, width=1280, scheme="light"):
    browser.open(page, width, scheme=scheme)
    wait(browser, "document.documentElement.dataset.ready === 'yes'")


def wait(browser, condition):
    end = time.monotonic() + 20
    while not browser.value(condition):
        if time.monotonic() > end:
            raise RuntimeError("waited in vain for " + condition)
        time.sleep(0.05)


def fresh(browser):
    """Starts again, as nobody has traced yet."""
    hand = Hand(browser)
    hand.on("#fresh")
    hand.on("#fresh")
    wait(browser, "document.getElementById('work').hidden")


def open_pictures(browser, hand, paths):
    hand.clicks += 1
    root = browser.call("DOM.getDocument")["root"]["nodeId"]
    node = browser.call("DOM.querySelector", nodeId=root, selector="#open")["nodeId"]
    n = browser.value("document.querySelectorAll('#pictures [aria-pressed]').length")
    browser.call("DOM.setFileInputFiles", nodeId=node, files=[str(p) for p in paths])
    wait(browser, "document.querySelectorAll('#pictures [aria-pressed]').length === %d" % (n + len(paths)))
    wait(browser, "document.getElementById('shot').complete && document.getElementById('shot').naturalWidth > 0")


def kept(browser):
    """Waits until the browser keeps what stands on the page."""
    wait(browser, "document.documentElement.dataset.kept === 'yes'")


def drawn(browser, folder, name, without=None):
    """Draws the pictures of a style into files."""
    out = []
    for i, (data, kind, where) in enumerate(draw(browser, name, without)):
        path = folder / f"{name.replace(' ', '-')}-{i + 1}.{kind}"
        path.write_bytes(data)
        out.append((path, where))
    return out


def mark(hand, where):
    """Marks two known times and what each stage looks like."""
    for x, text in where.ticks():
        hand.point(x, where.given["height"] - 80)
        hand.write(text)
        hand.press("Enter")
    # A second part of a scrolled night has the rows of the first already.
    if hand.browser.value("document.querySelector('input[name=mode]:checked').value") != "stages":
        return
    for stage in ROWS:
        spot = where.look(stage)
        if spot:
            hand.point(*spot)


def keep_all(browser, hand):
    """Looks at each proposal and keeps it; returns how many there were."""
    n = 0
    while browser.value("document.querySelector('#list tr.in-hand.proposed') !== null"):
        hand.press("Enter")
        n += 1
        if n > 200:
            raise RuntimeError("the proposals do not end")
    return n


def download(browser, hand, folder, name):
    folder.mkdir(exist_ok=True)
    before = set(folder.iterdir())
    browser.call("Browser.setDownloadBehavior", behavior="allow", downloadPath=str(folder))
    hand.on("#save")
    end = time.monotonic() + 20
    while time.monotonic() < end:
        # The browser makes the file first and fills it then.
        new = [p for p in set(folder.iterdir()) - before if p.suffix == ".tsv" and p.stat().st_size]
        if new:
            return new[0].rename(folder / f"{name.replace(' ', '-')}.tsv")
        time.sleep(0.05)
    raise RuntimeError("nothing was downloaded; still to do: " + browser.value("document.getElementById('lacking').innerText"))
