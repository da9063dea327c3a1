"""Which priors decide the answer: each halved and doubled, with the demonstration's log and without a chip of it.

    python tests/studies/prior_weight.py  # a minute

The result goes to ``prior_weight.csv`` beside this file: for each sheet and position the answer, and of every prior
that moves it how many strokes the answer gives up, and how many chance would make of it.
"""

from pathlib import Path

import pandas as pd
from tally import demo_sheets

import golfphys
from golfphys.planning.deciding import prior_weight
from golfphys.planning.plan import plan_chip
from golfphys.planning.position import Position

POSITIONS = {
    "3 m to the edge, 14 m to the pin, fairway": Position(to_edge=3.0, to_pin=14.0),
    "6 m to the edge, 11 m to the pin, light rough": Position(to_edge=6.0, to_pin=11.0, lie="light rough"),
    "2 m to the edge, 22 m to the pin, fairway": Position(to_edge=2.0, to_pin=22.0),
    "8 m to the edge, 13 m to the pin, rough": Position(to_edge=8.0, to_pin=13.0, lie="rough"),
}


if __name__ == "__main__":
    rolls, drops, chips = demo_sheets()
    rows = []
    for measured, sheets in {"rolls, drops, chips": (rolls, drops, chips), "rolls, drops": (rolls, drops)}.items():
        fit = golfphys.fit(*sheets)
        for where, position in POSITIONS.items():
            chip = plan_chip(fit.draws(fit.spots[0]), position=position)
            found = prior_weight(fit, fit.spots[0], chip)
            moved = found.table[found.table["given_up"] > 0].reset_index(names="prior")
            part = moved.assign(measured=measured, position=where, pick=found.pick, landing_m=found.landing)
            rows.append(part.assign(decides=(moved["given_up"] > moved["by_chance"].clip(lower=0.005))))
            print(f"{measured}; {where}: {found.pick}; {found.cautions}", flush=True)
    table = pd.concat(rows, ignore_index=True)
    first = ["measured", "position", "pick", "landing_m", "prior", "decides"]
    table[[*first, *(name for name in table if name not in first)]].round(4).to_csv(
        Path(__file__).with_suffix(".csv"), index=False
    )
