"""Reads the views of a study's store with Python's own sqlite3 and with pandas, and prints what they say as JSON.

Usage: views.py STUDY.DB
"""

import json
import sqlite3
import sys
from pathlib import Path

import pandas

VIEWS = ["epoch_local", "night_summary", "open_finding"]


def main(path):
    db = sqlite3.connect(f"{Path(path).resolve().as_uri()}?mode=ro", uri=True)
    plain = {view: db.execute(f"SELECT count(*) FROM {view}").fetchone()[0] for view in VIEWS}
    frames = {view: pandas.read_sql_query(f"SELECT * FROM {view}", db) for view in VIEWS}
    epochs = frames["epoch_local"]
    # Local times and offsets as text must read back to the instant that stands beside them.
    read_back = pandas.to_datetime(epochs.local_start + epochs.utc_offset, format="%Y-%m-%d %H:%M:%S%z", utc=True)
    wrong = int((read_back != pandas.to_datetime(epochs.start_ms // 1000, unit="s", utc=True)).sum())
    stages = epochs.groupby(["recording", "stage"]).size()
    print(
        json.dumps(
            {
                "sqlite": sqlite3.sqlite_version,
                "plain": plain,
                "pandas": {view: len(frame) for view, frame in frames.items()},
                "columns": {view: list(frame.columns) for view, frame in frames.items()},
                "times_wrong": wrong,
                "epochs": {f"{recording} {stage}": int(n) for (recording, stage), n in stages.items()},
            }
        )
    )


main(sys.argv[1])
