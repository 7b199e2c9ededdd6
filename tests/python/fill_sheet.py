"""Checks the drop-downs, rules, notes and frozen rows of a sheet of stages, and fills it in when a second name is given."""

import datetime
import sys

import openpyxl

CHANGES = [("22:10", "wake"), ("22.30", "light"), ("2350", "deep"), (datetime.time(0, 40), "rem"), ("6:05 am", "end")]


def rules(sheet, kind):
    return {str(r.sqref): r for r in sheet.data_validations.dataValidation if r.type == kind}


book = openpyxl.load_workbook(sys.argv[1])
head, changes = book["Head"], book["Changes"]
assert head["A1"].value == "line" and changes["A3"].value == "clock"
stages = [r.formula1 for r in rules(changes, "list").values()]
assert len(stages) == 1 and stages[0].startswith('"wake,light,deep,rem,'), stages
assert any(where.startswith("B4:B") for where in rules(changes, "list")), "the drop-down stands at each row"
assert any(where.startswith("A4:A") for where in rules(changes, "custom")), "times are looked at"
assert all(changes[cell].comment for cell in ("A3", "B3", "C3")), "each column has a note"
assert changes["A4"].number_format == "@", "a typed time stays as it was typed"
if len(sys.argv) > 2:
    # A program without a window saves no view, and what is frozen is part of it.
    assert (head.freeze_panes, changes.freeze_panes) == ("A2", "A4")
    for row, (clock, stage) in enumerate(CHANGES, start=4):
        changes.cell(row, 1).value = clock
        changes.cell(row, 2).value = stage
    book.save(sys.argv[2])
