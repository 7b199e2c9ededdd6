"""What the page of `sheet trace` does besides reading pictures: undo, keeping, paste and drop, gaps, totals, look."""

import base64
import json

from check_report import fits, quiet
from styles import night
from tracing import CTRL, Hand, drawn, fresh, keep_all, kept, mark, open_page, open_pictures, wait

N_CHANGES = "document.querySelectorAll('#list tbody tr').length"
READER = "document.getElementById('reader').value"
SAID = "document.getElementById('said').innerText"
LACKING = "document.getElementById('lacking').innerText"


def page_answers(checks, browser, page, others, folder, shots):
    """`others`: the same page for an autumn night, and for a second pass; each may be None."""
    autumn, second = others
    undoing(checks, browser, folder)
    keeping(checks, browser, page, second, folder)
    settling(checks, browser, folder)
    totals(checks, browser)
    gap(checks, browser, folder)
    times(checks, browser, folder)
    for way in ("paste", "drop"):
        coming_in(checks, browser, folder, way)
    looks(checks, browser, page, folder, shots)
    if autumn:
        clocks_back(checks, browser, autumn, folder)


def start(browser, folder, name, without=None):
    (path, where), = drawn(browser, folder, name, without)
    fresh(browser)
    hand = Hand(browser)
    open_pictures(browser, hand, [path])
    mark(hand, where)
    hand.press("4")
    return hand, where


def undoing(checks, browser, folder):
    hand, where = start(browser, folder, "stairs")
    hand.press("3")
    hand.press("u")
    marked = browser.value("document.querySelector('#letters [data-stage=unscored]').innerText")
    checks.check("with 3, a letter says what a stage looks like at the crosshair", "marked" in marked, marked)
    hand.press("z", CTRL)
    hand.press("4")
    for at, stage in night()[0][:3]:
        hand.point(int(where.x(at)), where.given["rows"][stage])
    n = browser.value(N_CHANGES)
    hand.press("z", CTRL)
    back = browser.value(N_CHANGES)
    hand.press("y", CTRL)
    checks.check("undo takes one change back and redo puts it there again", [n, back, browser.value(N_CHANGES)] == [3, 2, 3])
    for _ in range(30):
        hand.press("z", CTRL)
    checks.check("undo goes back to the empty page", browser.value("document.getElementById('work').hidden"))


def keeping(checks, browser, page, second, folder):
    """Closing the page loses nothing, and starting again leaves nothing."""
    hand, where = start(browser, folder, "coloured bars")
    for at, stage in night()[0][:5]:
        hand.point(int(where.x(at)), where.given["rows"][stage])
    browser.value("document.getElementById('reader').focus()")
    hand.write("B")
    hand.press("Tab")
    typed = browser.value(READER)
    kept(browser)
    open_page(browser, page)
    checks.check("after a reload the changes are there", browser.value(N_CHANGES) == 5, browser.value(N_CHANGES))
    checks.check("and the picture", browser.value("document.getElementById('shot').naturalWidth") == where.given["width"])
    checks.check("and what was typed", typed.endswith("B") and browser.value(READER) == typed, browser.value(READER))
    if second:
        open_page(browser, second)
        checks.check("a second pass sees nothing of the first", browser.value("document.getElementById('work').hidden"))
        open_page(browser, page)
    fresh(browser)
    kept(browser)
    open_page(browser, page)
    checks.check("after starting again nothing is kept", browser.value("document.getElementById('work').hidden"))


def settling(checks, browser, folder):
    """A proposal can be dropped, renamed and moved; the sheet waits for all of them."""
    hand, _ = start(browser, folder, "coloured bars")
    hand.on("#propose")
    n = browser.value(N_CHANGES)
    waits = browser.value("document.getElementById('save').disabled") and f"{n} proposals" in browser.value(LACKING)
    checks.check("no sheet while proposals are open", waits, browser.value(LACKING))
    hand.press("Enter")
    hand.press("Delete")
    checks.check("Delete drops the proposal in hand", browser.value(N_CHANGES) == n - 1)
    hand.press("u")
    named = "document.querySelectorAll('#list select')[1].value"
    checks.check("a letter names the proposal in hand", browser.value(named) == "unscored", browser.value(named))
    before = browser.value("document.querySelector('#list tr.in-hand .at').innerText")
    hand.press("ArrowRight", 1)
    after = browser.value("document.querySelector('#list tr.in-hand .at').innerText")
    checks.check("Alt and an arrow move it by one pixel", before < after, [before, after])
    browser.value("document.querySelector('#list [data-at$=k]').focus()")
    hand.press("Enter")
    on = browser.value("document.activeElement.innerText")
    checks.check("a Keep of the list hands the focus on to the next", on == "Keep", on)
    browser.value("document.getElementById('view').focus()")
    keep_all(browser, hand)
    checks.check("then nothing is to do", browser.value(LACKING) == "", browser.value(LACKING))


def totals(checks, browser):
    """Goes on from `settling`: totals that fit, that do not, and that are no lengths."""
    traced = browser.value("document.querySelector('#totals tr[data-what=deep]').cells[1].innerText")
    hours, minutes = map(int, traced.split(":"))

    def said(text):
        field = "document.querySelector('#totals tr[data-what=deep] input')"
        browser.value(f"{field}.value = {json.dumps(text)}; {field}.dispatchEvent(new Event('change'))")
        return browser.value("document.querySelector('#totals tr[data-what=deep]').cells[3].innerText")
    checks.check("a total that fits is said to fit", said(traced) == "fits", said(traced))
    checks.check("in minutes too", said(str(hours * 60 + minutes)) == "fits")
    checks.check("one that is ten minutes off is not", said(f"{hours * 60 + minutes - 10} min") == "0:10, look again", said(str(minutes)))
    checks.check("words are no length", said("much").startswith("not a length"))


def gap(checks, browser, folder):
    """Where nothing is drawn, nothing is made up: the reader names it."""
    changes = night()[0]
    hand, _ = start(browser, folder, "coloured bars", without=(changes[9][0], changes[11][0]))
    hand.on("#propose")
    for _ in range(9):
        hand.press("Enter")
    hand.press("Enter")
    refused = "Nothing is drawn here" in browser.value(SAID)
    checks.check("a stretch with nothing in it cannot simply be kept", refused, browser.value(SAID))
    hand.press("o")
    named = browser.value("document.querySelectorAll('#list select')[9].value")
    checks.check("a letter says what it is", named == "off", named)
    keep_all(browser, hand)
    checks.check("and the rest goes on", browser.value(LACKING) == "", browser.value(LACKING))


def clocks_back(checks, browser, page, folder):
    """A page that was written for a night on which clocks went back at 03:00: an hour more lies between 23:00 and 06:00."""
    open_page(browser, page)
    (path, where), = drawn(browser, folder, "stairs")
    hand = Hand(browser)
    open_pictures(browser, hand, [path])
    mark(hand, where)
    hand.press("4")
    told = "clocks changed" in browser.value("document.getElementById('zone-said').innerText")
    checks.check("the page says that clocks changed in the night", told)
    (left, _), (right, _) = where.ticks()
    seen = []
    for share in (0.25, 0.5, 0.625):
        hand.point(round(left + (right - left) * share), 500)
        seen.append(browser.value("document.getElementById('where').innerText")[:5])
    # 2, 4 and 5 hours after 23:00; the wall clock showed 02:00 to 03:00 twice.
    near = [abs(int(t[:2]) * 60 + int(t[3:]) - want) <= 1 for t, want in zip(seen, (60, 120, 180))]
    checks.check("times after the change are those of the wall clock", all(near), seen)
    fresh(browser)


def times(checks, browser, folder):
    """Known times are read in every usual form, and what is none is told."""
    (path, where), = drawn(browser, folder, "stairs")
    for form, good in (("2300", True), ("23.00", True), ("11:00 pm", True), ("25:00", False), ("late", False)):
        fresh(browser)
        hand = Hand(browser)
        open_pictures(browser, hand, [path])
        hand.point(where.ticks()[0][0], 200)
        hand.write(form)
        hand.press("Enter")
        went_on = browser.value("document.querySelector('input[name=mode]:checked').value") == "second"
        told = "is not a time" in browser.value(SAID)
        checks.check(f"`{form}` is {'' if good else 'not '}a known time", went_on == good and told != good, browser.value(SAID))


def coming_in(checks, browser, folder, way):
    (path, _), = drawn(browser, folder, "stairs")
    fresh(browser)
    data = base64.b64encode(path.read_bytes()).decode()
    browser.value(
        "(() => { const bytes = Uint8Array.from(atob(%s), c => c.charCodeAt(0)); const data = new DataTransfer();"
        " data.items.add(new File([bytes], 'shot.png', {type: 'image/png'}));"
        " document.body.dispatchEvent(%s === 'paste' ? new ClipboardEvent('paste', {clipboardData: data, bubbles: true, cancelable: true})"
        " : new DragEvent('drop', {dataTransfer: data, bubbles: true, cancelable: true})); })()" % (json.dumps(data), json.dumps(way)))
    wait(browser, "!document.getElementById('work').hidden")
    checks.check(f"a picture comes in by {way}", browser.value("document.getElementById('pictures').innerText").startswith("1: shot.png"))


def looks(checks, browser, page, folder, shots):
    """The page on a desk and on a phone, by day and by night, with a night half settled."""
    hand, _ = start(browser, folder, "coloured bars")
    hand.on("#propose")
    for _ in range(9):
        hand.press("Enter")
    kept(browser)
    for width in (1280, 360):
        for scheme in ("light", "dark"):
            where = f"tracing at {width} px, {scheme}"
            open_page(browser, page, width, scheme)
            fits(checks, browser, where)
            nameless = browser.value(
                "[...document.querySelectorAll('input, select, button')].filter(e => !(e.labels && e.labels.length) &&"
                " !e.getAttribute('aria-label') && !e.innerText.trim() && e.offsetParent).map(e => e.outerHTML).slice(0, 3)")
            checks.check(f"{where}: every field and button has a name", not nameless, nameless)
            bright = sum(map(int, browser.value("getComputedStyle(document.querySelector('.patch')).backgroundColor")[4:-1].split(",")))
            checks.check(f"{where}: follows the system", (bright > 380) == (scheme == "light"), bright)
            quiet(checks, browser, page, where)
            if shots:
                browser.screenshot(shots / f"page-{width}-{scheme}.png")
    tapping(checks, browser)
    open_page(browser, page)
    fresh(browser)


def tapping(checks, browser):
    """Goes on from `looks`, on the phone: a tap marks, and the sheet says how coarse it was."""
    n = browser.value(N_CHANGES)
    spot = browser.value(
        "(() => { const v = document.getElementById('view'); v.scrollIntoView({block: 'center'}); const b = v.getBoundingClientRect();"
        " return [b.left + 14, b.top + 60]; })()")
    browser.call("Emulation.setTouchEmulationEnabled", enabled=True)
    browser.touch(*spot)
    wait(browser, f"{N_CHANGES} === {n + 1}")
    browser.call("Emulation.setTouchEmulationEnabled", enabled=False)
    said = browser.value("document.getElementById('fineness').innerText")
    minutes = float(said.split("read to ")[1].split(" ")[0])
    checks.check("a tap on a small view makes the sheet coarser, and it says so", minutes > 1, said)
