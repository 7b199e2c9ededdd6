//! The page that lies beside the raw files.

/// Returns the text of `README.txt`.
pub(crate) fn text(seed: u64) -> String {
    format!(
        "EVERYTHING IN THIS FOLDER IS INVENTED.

No person slept these nights, no laboratory recorded them, and none of these devices exists. The
files were made by a small model of sleep and of the mistakes of devices (seed {seed}), so that
`counterpane demo` has something to work on. Do not cite a number that comes from them.

Two participants, P01 and P02; three nights each, named after the date of the evening; time zone
Australia/Lord_Howe. In the night of 2026-04-04 the clocks went back by half an hour: at 02:00 on
2026-04-05 it was 01:30 again. Unit ...-1 of each device was worn by P01, unit ...-2 by P02.

psg/       the scored polysomnogram: EDF+ with annotations only, a stage for every 30 s
ring-a/    a good ring: JSON, one file for each account, times with their offset
ring-b/    a poor ring, four minutes late: JSON, a letter for every two minutes
ring-c/    a fairly good ring: the XML dump of a whole phone, of which nearly nothing is sleep; two
           tellers speak of rest, the ring and the phone, which guesses from lying still
watch-a/   a fair watch: a sheet with semicolons, times of day and lengths
band-a/    a middling band that shows a picture only: typed from its screen, one row for each change
band-b/    a rather poor band: a ZIP archive with a JSON file for each day, and an index of them
mat-a/     a mattress sensor: totals of the night and nothing else
patch-a/   a good patch, three minutes early: a workbook, local times as day numbers, lengths in days
patch-z/   a patch that tells sleep from wake and no more: JSON Lines, one change in each line

In watch-a/, band-a/ and patch-a/, in the night of the change, a row may be followed by one of the same
stage just before the clock goes back: so the order of rows says which half hour is meant.

Put there to be found:
- ring-a/P01.json, evening 2026-04-05: one piece runs six minutes into the next one.
- ring-b/P02.json, evening 2026-04-05: an hour of `-`, because the ring had slipped off.
- ring-c/P01.xml, evening 2026-04-03: nothing is said for an hour.
- watch-a/P02_2026-04-03.csv: nothing is said for 25 minutes in the middle of the night.
- watch-a/P02_2026-04-05.csv: a few rows say `Drowsy`, a word that the watch uses nowhere else.
- psg/: one epoch of each night is `Sleep stage ?`.
- patch-a/: the three minutes by which its clock is slow, and its times early.
- ring-b/: the four minutes by which its clock is late, though in one night too little else agrees to tell.

Decided in the study, as a reviewer would, and shown in the report with the numbers both ways:
- patch-a, evening 2026-04-03 of P01: its clock was seen three minutes slow and is corrected for that night alone.
- watch-a, the same night: 02:50 to 03:30 is left out, because the watch lay on its charger.
- P01 was out of bed from 02:06 to 02:12, which is noted.

Put there, and not found by the program yet:
- band-b/P02.zip: the index lists the day 2026-04-04, and its file is not there. `nights` and the
  report show a night without band-b, and no finding says why.
"
    )
}
