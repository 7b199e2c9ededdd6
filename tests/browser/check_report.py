#!/usr/bin/env python3
"""Opens a report in headless chromium and checks what only a browser can tell.

    cargo run -p counterpane-report --example sample > sample.html
    python3 tests/browser/check_report.py sample.html [--screenshots DIR]

One line for each check. Exit 0: all hold; 1: one does not; 2: could not run.
"""

import argparse
import pathlib
import shutil
import sys

sys.dont_write_bytecode = True
from browser import Browser  # noqa: E402  (the line above must come first)

READ = "(document.querySelector('.sheet .said').hidden ? '' : document.querySelector('.sheet .said').innerText)"
NOW = "document.querySelector('.sheet .pointing').getAttribute('aria-valuenow')"


class Checks:
    """Prints each check and remembers whether one failed."""

    def __init__(self):
        self.failed = 0

    def check(self, name, holds, seen=""):
        if holds:
            print(f"ok      {name}")
        else:
            self.failed += 1
            print(f"FAILED  {name}: {seen!r}")


def box(browser, selector):
    """Returns left, top, width and height of an element that was scrolled into view."""
    return browser.value(
        "(() => { const e = document.querySelector(%r); e.scrollIntoView({block: 'center', behavior: 'instant'});"
        " const b = e.getBoundingClientRect(); return [b.left, b.top, b.width, b.height]; })()" % selector
    )


def quiet(checks, browser, path, where):
    errors = browser.errors()
    checks.check(f"{where}: the console is silent", not errors, errors)
    asked = [u for u in browser.requests() if u != pathlib.Path(path).resolve().as_uri()]
    checks.check(f"{where}: nothing is asked of any network", not asked, asked)


def pointing(checks, browser, where, side):
    left, top, width, height = box(browser, ".sheet .%s.side" % side)
    middle = top + min(height / 2, 200)
    browser.pointer(left + width * 0.3, middle)
    first = browser.value(READ)
    browser.pointer(left + width * 0.7, middle)
    second = browser.value(READ)
    checks.check(f"{where}: the pointer is answered", bool(first) and first != second, [first, second])
    n = browser.value("document.querySelectorAll('.sheet')[0].querySelectorAll('dd').length")
    said = browser.value("[...document.querySelectorAll('.sheet')[0].querySelectorAll('dd')].filter(d => d.textContent).length")
    checks.check(f"{where}: every source is read out", n > 0 and n == said, [n, said])
    hair = browser.value(
        "(() => { const b = document.querySelector('.sheet .%s.side .hair').getBoundingClientRect(); return b.left; })()" % side
    )
    checks.check(f"{where}: the hair stands at the pointer", abs(hair - (left + width * 0.7)) < 4, [hair, left + width * 0.7])


def keys(checks, browser, where):
    browser.value("document.querySelector('.sheet .pointing').focus()")
    browser.key("Home", 36)
    start = browser.value(NOW)
    browser.key("ArrowRight", 39)
    browser.key("ArrowRight", 39)
    browser.key("ArrowLeft", 37)
    checks.check(f"{where}: arrow keys move by one epoch", [start, browser.value(NOW)] == ["0", "1"], [start, browser.value(NOW)])
    browser.key("End", 35)
    last = browser.value("document.querySelector('.sheet').dataset.last")
    checks.check(f"{where}: End goes to the last epoch", browser.value(NOW) == last, browser.value(NOW))
    checks.check(f"{where}: what is read out is announced", browser.value(
        "document.querySelector('.sheet .said').getAttribute('aria-live')") == "polite")
    browser.key("Escape", 27)
    checks.check(f"{where}: Escape clears", browser.value(READ) == "", browser.value(READ))


def touching(checks, browser, where):
    left, top, width, height = box(browser, ".sheet .narrow.side")
    browser.call("Emulation.setTouchEmulationEnabled", enabled=True)
    browser.touch(left + width / 2, top + min(height / 2, 200))
    checks.check(f"{where}: a touch is answered", bool(browser.value(READ)), browser.value(READ))
    browser.call("Emulation.setTouchEmulationEnabled", enabled=False)


def fits(checks, browser, where):
    wide = browser.value("document.documentElement.scrollWidth")
    window = browser.value("document.documentElement.clientWidth")
    checks.check(f"{where}: no sideways scroll", wide <= window, [wide, window])
    loose = browser.value(
        "[...document.querySelectorAll('main *')].filter(e => !e.closest('.scroll') && !e.closest('svg') && e.offsetParent"
        " && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.tagName + '.' + e.className).slice(0, 5)"
    )
    checks.check(f"{where}: nothing sticks out on the right", not loose, loose)


def structure(checks, browser, where):
    count = lambda selector: browser.value("document.querySelectorAll(%r).length" % selector)
    checks.check(f"{where}: one main, one header, one nav, one footer",
                 [count(s) for s in ("main", "body > header", "nav", "body > footer")] == [1, 1, 1, 1])
    checks.check(f"{where}: one first heading", count("h1") == 1, count("h1"))
    checks.check(f"{where}: every table has a caption", count("table") == count("table > caption"), count("table"))
    twice = browser.value("(() => { const ids = [...document.querySelectorAll('[id]')].map(e => e.id);"
                          " return ids.filter((id, i) => ids.indexOf(id) !== i); })()")
    checks.check(f"{where}: no id stands twice", not twice, twice)
    lost = browser.value("[...document.querySelectorAll('a[href^=\"#\"]')].map(a => a.hash.slice(1))"
                         ".filter(h => !document.getElementById(h))")
    checks.check(f"{where}: every link of the page finds its place", not lost, lost)
    out = browser.value("[...document.querySelectorAll('a')].filter(a => !a.getAttribute('href').startsWith('#')).length")
    checks.check(f"{where}: no link leads out", out == 0, out)


def shown(checks, browser, where, pictures):
    """The pictures that the page holds are drawn, and a page without any may not load one."""
    drawn = browser.value("[...document.images].map(i => i.complete && i.naturalWidth > 0 && i.alt !== '')")
    checks.check(f"{where}: {pictures} pictures are drawn and named", drawn == [True] * pictures, drawn)
    if not pictures:
        refused = browser.value(
            "new Promise(done => { const i = new Image(); i.onload = () => done('loaded'); i.onerror = () => done('refused');"
            " i.src = 'data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7'; })"
        )
        checks.check(f"{where}: the policy lets no picture in", refused == "refused", refused)


def folding(checks, browser, where):
    """Nights after the first are folded; a link to one opens it, and paper opens all."""
    folds = "[...document.querySelectorAll('.night > details')].map(d => d.open)"
    opened = browser.value(folds)
    checks.check(f"{where}: the first night stands open, the others are folded", opened[:1] == [True] and not any(opened[1:]), opened)
    browser.value("[...document.querySelectorAll('nav .who a')].pop().click()")
    browser.value("new Promise(done => setTimeout(done, 300))")
    checks.check(f"{where}: a link to a night opens it", browser.value(folds)[-1], browser.value(folds))
    browser.value("dispatchEvent(new Event('beforeprint'))")
    shut = browser.value("document.querySelectorAll('details:not([open])').length")
    checks.check(f"{where}: paper opens everything", shut == 0, shut)
    tables(checks, browser, where)
    browser.value("document.querySelectorAll('details').forEach((d, i) => { d.open = false; });"
                  "document.querySelector('.night > details').open = true; history.replaceState(null, '', location.pathname)")


def tables(checks, browser, where):
    """While everything is open: no number is broken, and the first column stays while a table is scrolled."""
    broken = browser.value(
        "[...document.querySelectorAll('td.number')].filter(t => { const r = document.createRange();"
        " r.selectNodeContents(t.firstChild); return r.getClientRects().length > 1; }).map(t => t.innerText).slice(0, 3)"
    )
    checks.check(f"{where}: no number is broken", not broken, broken)
    moved = browser.value(
        "[...document.querySelectorAll('.scroll')].filter(s => s.scrollWidth > s.clientWidth + 40).map(s => {"
        " s.scrollLeft = 40; const d = s.querySelector('tbody th').getBoundingClientRect().left - s.getBoundingClientRect().left;"
        " s.scrollLeft = 0; return d; }).filter(d => Math.abs(d) > 1)"
    )
    checks.check(f"{where}: the first column stays in sight", not moved, moved)
    cut = browser.value("[...document.querySelectorAll('.stacked .scroll')].filter(s => s.scrollWidth > s.clientWidth + 1).length")
    checks.check(f"{where}: no table of words is cut", cut == 0, cut)


def look(checks, browser, where, scheme):
    paper = "getComputedStyle(document.querySelector('.patch')).backgroundColor"
    before = browser.value(paper)
    bright = sum(int(p) for p in before[4:-1].split(",")[:3]) > 380
    checks.check(f"{where}: follows the system", bright == (scheme == "light"), before)
    browser.value("document.querySelector('.theme').click(); document.querySelector('.theme').click()")
    if scheme == "dark":
        browser.value("document.querySelector('.theme').click(); document.querySelector('.theme').click()")
    checks.check(f"{where}: the button changes the look", browser.value(paper) != before, before)
    while browser.value("document.documentElement.dataset.look || ''"):
        browser.value("document.querySelector('.theme').click()")


def run(browser, path, screenshots, images):
    checks = Checks()
    for width, side in ((1280, "wide"), (360, "narrow")):
        for scheme in ("light", "dark"):
            where = f"{width} px, {scheme}"
            browser.open(path, width, scheme=scheme)
            structure(checks, browser, where)
            fits(checks, browser, where)
            pointing(checks, browser, where, side)
            keys(checks, browser, where)
            if side == "narrow":
                touching(checks, browser, where)
            folding(checks, browser, where)
            look(checks, browser, where, scheme)
            quiet(checks, browser, path, where)
            # Last: what the policy refuses stands in the console.
            shown(checks, browser, where, images)
    if screenshots:
        pictures(browser, path, pathlib.Path(screenshots))
    return checks.failed


def pictures(browser, path, folder):
    folder.mkdir(parents=True, exist_ok=True)
    for width in (1280, 390):
        for scheme in ("light", "dark"):
            browser.open(path, width, scheme=scheme)
            browser.screenshot(folder / f"report-{width}-{scheme}.png")
            side = "narrow" if width < 500 else "wide"
            left, top, w, h = box(browser, ".sheet .%s.side" % side)
            browser.pointer(left + w * 0.55, top + min(h / 2, 200))
            browser.screenshot(folder / f"pointer-{width}-{scheme}.png", whole=False)


def main():
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("report", help="an HTML file that `counterpane report` or the sample wrote")
    options.add_argument("--screenshots", metavar="DIR", help="also save pictures there")
    options.add_argument("--pictures", type=int, default=0, metavar="N", help="how many pictures the page shows")
    options.add_argument("--browser", default="chromium", help="the program to start")
    given = options.parse_args()
    if not pathlib.Path(given.report).is_file() or not shutil.which(given.browser):
        print(f"cannot run: {given.report} or the program {given.browser} is not there", file=sys.stderr)
        return 2
    browser = Browser(given.browser)
    try:
        failed = run(browser, given.report, given.screenshots, given.pictures)
    finally:
        browser.close()
    print("all checks hold" if not failed else f"{failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
