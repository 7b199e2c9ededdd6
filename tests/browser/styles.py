"""Pictures of one invented night in eight invented styles, drawn by the browser, with the truth that drew them."""

import base64
import json
import random

ROWS = ["wake", "rem", "light", "deep"]
START, LENGTH = 23 * 60 + 6.5, 446.0  # minutes of the day; minutes


# Shortest and longest stretch of each stage in minutes. On the harder nights some are a pixel wide, or less.
USUAL = {"wake": (2, 9), "light": (6, 24), "deep": (8, 26), "rem": (5, 24)}
HARD = {"wake": (0.5, 6), "light": (2, 24), "deep": (3, 26), "rem": (2, 24)}
chosen = {"seed": 20260404, "lengths": USUAL}


def night():
    """Returns [(minute since the start, stage)] of the chosen night, in half minutes, and its end."""
    dice = random.Random(chosen["seed"])
    out, at, cycle = [], 0.0, ["wake", "light", "deep", "light", "rem", "light", "deep", "light", "wake"]
    i = 0
    while at < LENGTH:
        stage = cycle[i % len(cycle)] if dice.random() < 0.82 else dice.choice(ROWS)
        i += 1
        if out and out[-1][1] == stage:
            continue
        out.append((at, stage))
        at += dice.randint(*(int(2 * n) for n in chosen["lengths"][stage])) / 2
    return out, LENGTH


DRAW = r"""
(() => {
  const given = %s;
  const canvas = document.createElement('canvas');
  canvas.width = given.width; canvas.height = given.height;
  const c = canvas.getContext('2d');
  const at = m => given.left + (m - given.from) / (given.to - given.from) * (given.right - given.left);
  const row = s => given.rows[s];
  const spans = given.spans.map(s => ({a: at(Math.max(s[0], given.from)), b: at(Math.min(s[1], given.to)), stage: s[2]}));
  c.fillStyle = given.page; c.fillRect(0, 0, canvas.width, canvas.height);
  c.fillStyle = given.card; c.fillRect(20, 60, canvas.width - 40, canvas.height - 80);
  c.font = '24px sans-serif'; c.fillStyle = given.ink; c.fillText('Invented night', 40, 44);
  given.ticks.forEach(t => {
    c.strokeStyle = given.grid; c.lineWidth = 1;
    c.beginPath(); c.moveTo(Math.floor(at(t[0])) + .5, 80); c.lineTo(Math.floor(at(t[0])) + .5, given.height - 70); c.stroke();
    c.fillStyle = given.ink; c.textAlign = 'center'; c.fillText(t[1], at(t[0]), given.height - 36);
  });
  if (given.style === 'stairs' || given.style === 'steps') {
    Object.values(given.rows).forEach(y => { c.strokeStyle = given.grid; c.beginPath(); c.moveTo(given.left, y + 30.5); c.lineTo(given.right, y + 30.5); c.stroke(); });
    c.lineWidth = given.stroke; c.strokeStyle = given.stair; c.lineJoin = given.style === 'stairs' ? 'miter' : 'round';
    c.beginPath();
    spans.forEach((s, i) => { c[i ? 'lineTo' : 'moveTo'](s.a, row(s.stage)); c.lineTo(s.b, row(s.stage)); });
    c.stroke();
  }
  if (given.style === 'dark') {
    c.lineWidth = 2; c.strokeStyle = '#5a6070'; c.beginPath();
    spans.forEach((s, i) => { if (i) { c.moveTo(s.a, row(spans[i - 1].stage)); c.lineTo(s.a, row(s.stage)); } });
    c.stroke();
    spans.forEach(s => { c.fillStyle = given.colours[s.stage]; c.fillRect(s.a, row(s.stage) - 3, s.b - s.a, 6); });
  }
  if (given.style === 'bars') {
    spans.forEach(s => { c.fillStyle = given.colours[s.stage]; c.beginPath(); c.roundRect(s.a, row(s.stage) - 26, s.b - s.a, 52, 3); c.fill(); });
  }
  if (given.style === 'ribbon') {
    const top = {wake: 150, rem: 230, light: 310, deep: 390};
    spans.forEach(s => { c.fillStyle = given.colours[s.stage]; c.fillRect(s.a, top[s.stage], s.b - s.a, 470 - top[s.stage]); });
  }
  return canvas.toDataURL(given.kind, 0.45);
})()
"""

PLAIN = {"page": "#f2f2f5", "card": "#ffffff", "grid": "#dcdce2", "ink": "#444444", "kind": "image/png"}
NIGHT = {"page": "#0c0d12", "card": "#171a22", "grid": "#262b36", "ink": "#9aa0ac", "kind": "image/png"}
FOUR = {"wake": "#f07a4a", "rem": "#b06fd8", "light": "#6fb8e8", "deep": "#2a4fa0"}
ON_ROWS = {"wake": 150, "rem": 240, "light": 330, "deep": 420}

# Width and height, where the plot begins and ends, and how it is drawn.
STYLES = {
    "stairs": dict(PLAIN, style="stairs", width=1080, height=560, left=70, right=1040, rows=ON_ROWS, stair="#33508a", stroke=4),
    "coloured bars": dict(PLAIN, style="bars", width=1170, height=560, left=60, right=1130, rows=ON_ROWS, colours=FOUR),
    "stacked ribbon": dict(PLAIN, style="ribbon", width=1080, height=560, left=50, right=1050, rows={s: 460 for s in ROWS}, colours=FOUR),
    "dark": dict(NIGHT, style="dark", width=1080, height=560, left=70, right=1040, rows=ON_ROWS,
                 colours={"wake": "#ffb27a", "rem": "#d79bf0", "light": "#8fd0ff", "deep": "#5f86ff"}),
    "compressed JPEG": dict(PLAIN, style="bars", width=828, height=560, left=50, right=800, rows=ON_ROWS, colours=FOUR, kind="image/jpeg"),
    "compressed JPEG of stairs": dict(NIGHT, style="steps", width=828, height=560, left=50, right=800, rows=ON_ROWS,
                                      stair="#e8e2d0", stroke=5, kind="image/jpeg"),
    "tall phone screen": dict(NIGHT, style="bars", width=1170, height=2532, left=90, right=1100, colours=FOUR,
                              rows={"wake": 1300, "rem": 1390, "light": 1480, "deep": 1570}),
    "scrolled in two parts": dict(PLAIN, style="bars", width=750, height=560, left=40, right=720, rows=ON_ROWS, colours=FOUR),
}


def parts(name):
    """Returns which minutes each picture of a style shows."""
    return [(-10, 260), (200, LENGTH + 14)] if name == "scrolled in two parts" else [(-8, LENGTH + 8)]


def draw(browser, name, without=None):
    """Draws a style; returns for each of its pictures the bytes, their kind, and where things stand in it.

    `without` is a stretch of minutes in which nothing is drawn.
    """
    changes, end = night()
    spans = [(at, changes[i + 1][0] if i + 1 < len(changes) else end, stage) for i, (at, stage) in enumerate(changes)]
    if without:
        spans = [(a, b, s) for a, b, s in spans if b <= without[0] or a >= without[1]]
    out = []
    for start, stop in parts(name):
        given = dict(STYLES[name], **{"from": start, "to": stop})
        given["spans"] = [s for s in spans if s[1] > start and s[0] < stop]
        hours = [h for h in range(23 * 60, 33 * 60, 60) if start + START < h < stop + START]
        given["ticks"] = [(h - START, f"{h // 60 % 24:02}:00") for h in hours]
        url = browser.value(DRAW % json.dumps(given))
        out.append((base64.b64decode(url.split(",")[1]), url[11:15].rstrip(";"), Where(given)))
    return out


class Where:
    """Where a careful reader would point in a picture."""

    def __init__(self, given):
        self.given = given

    def x(self, minute):
        g = self.given
        return g["left"] + (minute - g["from"]) / (g["to"] - g["from"]) * (g["right"] - g["left"])

    def ticks(self):
        """Returns the first and the last time that the axis shows: column and text."""
        shown = self.given["ticks"]
        return [(int(self.x(at)), text) for at, text in (shown[0], shown[-1])]

    def look(self, stage):
        """Returns the middle of the longest stretch of a stage, on its row; None when it is not in the picture."""
        g = self.given
        of = [(min(b, g["to"]) - max(a, g["from"]), (max(a, g["from"]) + min(b, g["to"])) / 2) for a, b, s in g["spans"] if s == stage]
        return (int(self.x(max(of)[1])), g["rows"][stage]) if of else None
