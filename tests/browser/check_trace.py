#!/usr/bin/env python3
"""Traces pictures of eight invented styles on the page of `sheet trace`, as a reader would, in headless chromium.

    counterpane sheet trace -o trace.html
    python3 tests/browser/check_trace.py trace.html DIR [--autumn PAGE] [--second PAGE] [--screenshots DIR]

The sheets are downloaded into DIR, and `figures.json` beside them says for each style how many epochs are right
and how many clicks and keys it took. One line for each check. Exit 0: all hold; 1: one does not; 2: could not run.
"""

import argparse
import json
import pathlib
import shutil
import sys

sys.dont_write_bytecode = True
from browser import Browser  # noqa: E402
from check_report import Checks, quiet  # noqa: E402
from check_trace_page import page_answers  # noqa: E402
from styles import HARD, LENGTH, START, STYLES, chosen, night  # noqa: E402
from tracing import SHIFT, Hand, download, drawn, fresh, keep_all, mark, open_page, open_pictures  # noqa: E402

def rows_of(sheet):
    """Returns [(minute since the start of the night, stage)] of a sheet."""
    out, last = [], None
    for line in sheet.read_text().splitlines():
        kind, clock, stage = line.split("\t")
        if kind != "change":
            continue
        h, m, s = (clock.split(":") + ["0"])[:3]
        at = int(h) * 60 + int(m) + int(s) / 60 - START
        at = at + 1440 if at < -60 else at
        if last is not None and at < last:
            raise RuntimeError(f"{sheet}: {clock} goes back")
        last = at
        out.append((at, stage))
    return out


def share_right(rows):
    """Returns of the 30 s epochs of the true night the share whose middle has the true stage."""
    truth, end = night()
    def stage_at(changes, at):
        before = [s for m, s in changes if m <= at]
        return before[-1] if before else None
    middles = [0.25 + i / 2 for i in range(int(end * 2))]
    return sum(stage_at(truth, m) == stage_at(rows, m) for m in middles) / len(middles)


def traced(checks, browser, hand, folder, name, figures, proposed=None):
    if name == SHOWN[0]:
        hand.on("#totals tr[data-what='%s'] input" % SHOWN[1])
        hand.write(SHOWN[2])
        hand.press("Tab")
    sheet = download(browser, hand, folder, name)
    rows = rows_of(sheet)
    share = share_right(rows)
    checks.check(f"{name}: at least 97 % of epochs are right ({share:.2%}, {hand.clicks} clicks, {hand.keys} keys)", share >= 0.97, share)
    checks.check(f"{name}: the sheet ends with the end", rows[-1][1] == "end" and abs(rows[-1][0] - LENGTH) < 2, rows[-1])
    figures.append({"style": name, "right": round(share, 4), "clicks": hand.clicks, "keys": hand.keys,
                    "changes": len(rows) - 1, "proposed": proposed})


# The style whose screen shows a total too, which total, and what of it.
SHOWN = ("tall phone screen", "total sleep", "428")


def by_proposal(checks, browser, folder, name, figures, shots):
    pictures = drawn(browser, folder, name)
    fresh(browser)
    hand = Hand(browser)
    for path, where in pictures:
        open_pictures(browser, hand, [path])
        mark(hand, where)
        if len(pictures) == 1 and shots:
            browser.screenshot(shots / f"marked-{name.replace(' ', '-')}.png")
    hand.press("4")
    hand.on("#propose")
    n = keep_all(browser, hand)
    if shots:
        browser.screenshot(shots / f"traced-{name.replace(' ', '-')}.png")
    traced(checks, browser, hand, folder / "sheets", name, figures, n)


def by_clicks(checks, browser, folder, figures):
    """Every change clicked where it is drawn, without proposals."""
    (path, where), = drawn(browser, folder, "stairs")
    fresh(browser)
    hand = Hand(browser)
    open_pictures(browser, hand, [path])
    mark(hand, where)
    hand.press("4")
    for at, stage in night()[0]:
        hand.point(int(where.x(at)), where.given["rows"][stage])
    hand.point(int(where.x(LENGTH)), where.given["rows"]["wake"])
    hand.press("e")
    traced(checks, browser, hand, folder / "sheets", "stairs, each change clicked", figures)


def by_keys(checks, browser, folder, figures):
    """Without a pointer: the crosshair is moved by arrows, and letters mark stages."""
    (path, where), = drawn(browser, folder, "dark")
    fresh(browser)
    hand = Hand(browser)
    open_pictures(browser, hand, [path])
    at = browser.value("(() => { const t = document.getElementById('where').innerText.match(/pixel (\\d+), (\\d+)/); return t ? [+t[1], +t[2]] : null; })()")
    here = list(at)

    def go(x, y=None):
        for axis, to in ((0, x), (1, here[1] if y is None else y)):
            way = (("ArrowLeft", "ArrowRight"), ("ArrowUp", "ArrowDown"))[axis]
            while here[axis] != to:
                off = to - here[axis]
                by = 10 if abs(off) >= 6 else 1
                hand.press(way[off > 0], SHIFT if by == 10 else 0)
                here[axis] += by if off > 0 else -by
    for x, text in where.ticks():
        go(x)
        hand.press("Enter")
        hand.write(text)
        hand.press("Enter")
    hand.press("4")
    for change, stage in night()[0]:
        go(int(where.x(change)))
        hand.press(stage[0])
    go(int(where.x(LENGTH)))
    hand.press("e")
    checks.check("by keys: no click but the one that opens the picture", hand.clicks == 1, hand.clicks)
    traced(checks, browser, hand, folder / "sheets", "dark, keys alone", figures)


def run(browser, page, others, folder, shots):
    checks, figures = Checks(), []
    open_page(browser, page)
    for name in STYLES:
        by_proposal(checks, browser, folder, name, figures, shots)
    by_clicks(checks, browser, folder, figures)
    by_keys(checks, browser, folder, figures)
    quiet(checks, browser, page, "every style")
    page_answers(checks, browser, page, others, folder, shots)
    (folder / "figures.json").write_text(json.dumps(figures, indent=1))
    return checks.failed


def harder(browser, page, folder, nights):
    """Other nights, with stretches from half a minute: says the lowest and the highest share of each style."""
    checks, figures = Checks(), []
    open_page(browser, page)
    for seed in range(1, nights + 1):
        chosen.update(seed=seed, lengths=HARD)
        for name in STYLES:
            by_proposal(checks, browser, folder, name, figures, None)
    for name in STYLES:
        shares = [f["right"] for f in figures if f["style"] == name]
        print(f"{name}: {min(shares):.1%} to {max(shares):.1%} of {nights} nights")
    return checks.failed


def main():
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("page", help="what `counterpane sheet trace` wrote")
    options.add_argument("folder", help="where pictures, sheets and figures.json go")
    options.add_argument("--autumn", metavar="PAGE", help="the same, written for a night on which clocks in Berlin went back")
    options.add_argument("--second", metavar="PAGE", help="the same, written with --pass 2")
    options.add_argument("--harder", metavar="N", type=int, help="trace N other nights with very short stretches instead")
    options.add_argument("--screenshots", metavar="DIR", help="also save pictures of the page there")
    options.add_argument("--browser", default="chromium", help="the program to start")
    given = options.parse_args()
    if not pathlib.Path(given.page).is_file() or not shutil.which(given.browser):
        print(f"cannot run: {given.page} or the program {given.browser} is not there", file=sys.stderr)
        return 2
    folder = pathlib.Path(given.folder).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    shots = pathlib.Path(given.screenshots).resolve() if given.screenshots else None
    if shots:
        shots.mkdir(parents=True, exist_ok=True)
    browser = Browser(given.browser)
    try:
        failed = harder(browser, given.page, folder, given.harder) if given.harder else run(browser, given.page, (given.autumn, given.second), folder, shots)
    finally:
        browser.close()
    print("all checks hold" if not failed else f"{failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
