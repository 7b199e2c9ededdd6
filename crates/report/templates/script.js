(function () {
  'use strict';

  /* The colours: as the system, light, dark. */
  var root = document.documentElement;
  var button = document.querySelector('.theme');
  var looks = ['', 'light', 'dark'];
  var names = ['as the system', 'light', 'dark'];
  button.hidden = false;
  button.addEventListener('click', function () {
    var next = (looks.indexOf(root.dataset.look || '') + 1) % looks.length;
    if (looks[next]) { root.dataset.look = looks[next]; } else { delete root.dataset.look; }
    button.textContent = 'Colours: ' + names[next];
  });

  /* On paper everything is open. */
  window.addEventListener('beforeprint', function () {
    document.querySelectorAll('details').forEach(function (d) { d.open = true; });
  });
  function reveal() {
    var target = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
    if (!target) { return; }
    var folded = false;
    var inner = target.tagName === 'SECTION' ? target.querySelector('details.fold') : null;
    for (var e = inner || target; e; e = e.parentElement) {
      if (e.tagName === 'DETAILS' && !e.open) { e.open = true; folded = true; }
    }
    if (folded) { target.scrollIntoView(); }
  }
  window.addEventListener('hashchange', reveal);
  /* The same link once more makes no new hash, and its night may have been folded since. */
  document.querySelectorAll('nav a').forEach(function (a) {
    a.addEventListener('click', function () { setTimeout(reveal, 0); });
  });
  reveal();

  function two(n) { return (n < 10 ? '0' : '') + n; }

  /* Local time by arithmetic on the offsets of the night's zone: the zone of this browser plays no part. */
  function clock(data, epoch) {
    var at = data.start + epoch * data.epoch;
    var offset = 0;
    data.offsets.forEach(function (o) { if (o[0] <= at) { offset = o[1]; } });
    var day = (((Math.floor(at / 1000) + offset) % 86400) + 86400) % 86400;
    var minutes = Math.floor(Math.abs(offset) / 60);
    var zone = (offset < 0 ? '\u2212' : '+') + two(Math.floor(minutes / 60)) + ':' + two(minutes % 60);
    return two(Math.floor(day / 3600)) + ':' + two(Math.floor(day / 60) % 60) + ':' + two(day % 60) + ' (UTC' + zone + ')';
  }

  /* Some browsers forget that a table is one while its rows are shown as blocks. */
  [['table', 'table'], ['tr', 'row'], ['thead th', 'columnheader'], ['tbody th', 'rowheader'], ['td', 'cell']].forEach(function (part) {
    document.querySelectorAll('.stacked ' + part[0]).forEach(function (e) { e.setAttribute('role', part[1]); });
  });

  document.querySelectorAll('.sheet').forEach(function (sheet) {
    var data = JSON.parse(document.getElementById(sheet.dataset.from).textContent);
    /* A row is written in runs: `57W 203 L` is wake 57 times, N3 20 times, light once. */
    var rows = data.rows.map(function (row) {
      return row.split(' ').map(function (run) { return run.slice(-1).repeat(Number(run.slice(0, -1)) || 1); }).join('');
    });
    var last = Number(sheet.dataset.last);
    var pointing = sheet.querySelector('.pointing');
    var readout = sheet.querySelector('.readout');
    var said = sheet.querySelector('.said');
    var hint = sheet.querySelector('.hint');
    var values = sheet.querySelectorAll('dd');
    var current = -1;
    if (!data.n) { return; }

    readout.hidden = false;
    pointing.tabIndex = 0;
    pointing.setAttribute('role', 'slider');
    pointing.setAttribute('aria-label', 'Moment of the night. ' + sheet.dataset.name);
    pointing.setAttribute('aria-valuemin', '0');
    pointing.setAttribute('aria-valuemax', String(last));
    pointing.setAttribute('aria-valuenow', '0');
    pointing.setAttribute('aria-valuetext', 'no moment chosen');

    function show(epoch) {
      current = Math.max(0, Math.min(last, epoch));
      sheet.querySelectorAll('.side').forEach(function (side) {
        var d = side.dataset;
        var x = Number(d.x0) + (current + 0.5) / data.n * (Number(d.x1) - Number(d.x0));
        var hair = side.querySelector('.hair');
        hair.style.left = (x / Number(d.width) * 100) + '%';
        hair.hidden = false;
      });
      var when = clock(data, current);
      pointing.setAttribute('aria-valuenow', String(current));
      pointing.setAttribute('aria-valuetext', when);
      sheet.querySelector('.when').textContent = when + ', epoch ' + (current + 1) + ' of ' + data.n;
      rows.forEach(function (row, i) {
        values[i].textContent = data.words[row.charAt(current)];
        values[i].dataset.cell = row.charAt(current);
      });
      hint.hidden = true;
      said.hidden = false;
    }

    function clear() {
      current = -1;
      sheet.querySelectorAll('.hair').forEach(function (hair) { hair.hidden = true; });
      pointing.setAttribute('aria-valuetext', 'no moment chosen');
      hint.hidden = false;
      said.hidden = true;
    }

    function point(event) {
      var sides = Array.prototype.filter.call(sheet.querySelectorAll('.side'), function (s) { return s.offsetParent; });
      if (!sides.length) { return; }
      var d = sides[0].dataset;
      var box = sides[0].getBoundingClientRect();
      var x = (event.clientX - box.left) / box.width * Number(d.width);
      show(Math.floor((x - Number(d.x0)) / (Number(d.x1) - Number(d.x0)) * data.n));
    }

    pointing.addEventListener('pointermove', point);
    pointing.addEventListener('pointerdown', point);
    pointing.addEventListener('keydown', function (event) {
      var steps = { ArrowLeft: -1, ArrowRight: 1, ArrowDown: -10, ArrowUp: 10, PageDown: -60, PageUp: 60 };
      if (event.altKey || event.ctrlKey || event.metaKey) { return; }
      if (event.key === 'Escape') { clear(); return; }
      if (event.key === 'Home') { show(0); }
      else if (event.key === 'End') { show(last); }
      else if (event.key in steps) { show(current < 0 ? 0 : current + steps[event.key]); }
      else { return; }
      event.preventDefault();
    });
  });
}());
