"""Every reader: what it accepts, what it refuses, and whether its answer names the place and says what to do."""

import math
import re

import numpy as np
import pandas as pd
import pytest

from golfphys.sheets import read_rollouts, read_sheet

HEAD = "spot,heading_deg,release_speed_m_s,distance_m,side_m,note"
GOOD = f"""# reference line: along the west edge
{HEAD}
low,0,1.83,3.05,-0.10,
low,90,1.83,2.95,,a "quoted" word
low,180,1.83,3.10,0.05,
low,270,1.83,3.00,,
"""
ROLLS = "spot,heading_deg,distance_m\n"
FEET = "spot,heading_deg,distance_ft\n"
TIMED = "spot,heading_deg,distance_m,measured_at\n"
RAMPS = "spot,heading_deg,release_speed_m_s,ramp_run_in,distance_m\n"
FILMS = "roll,spot,heading_deg,kind,time_s,distance_m\n"
DROPS = "spot,drop_height_m,rebound_height_m,first_flight_s,second_flight_s\n"
CENTIMETRES = "spot,drop_height_cm,rebound_height_cm,first_flight_ms,second_flight_ms\n"
CHIPS = "club,lie,target_carry_m,carry_m,hang_time_s,first_hop_m,rest_m,side_m,strike\n"
HOPS = "club,lie,carry_m,first_hop_m,rest_m\n"
USUAL = "".join(f"sand wedge,fairway,{carry},,{carry * 1.8:.1f}\n" for carry in (5.8, 6.0, 6.3, 6.4))
TURNS = (0, 90, 180, 270)


def test_a_good_sheet_becomes_si_and_radians(sheet):
    read = read_rollouts(sheet(GOOD))
    assert read.frame["row"].tolist() == [3, 4, 5, 6]
    np.testing.assert_allclose(read.frame["heading"], [0, math.pi / 2, math.pi, 3 * math.pi / 2])
    assert read.frame["release_speed"].tolist() == [1.83] * 4
    assert read.frame["distance"].tolist() == [3.05, 2.95, 3.10, 3.00]
    np.testing.assert_array_equal(read.frame["side"], [-0.10, np.nan, 0.05, np.nan])
    assert read.frame["measured_at"].isna().all()
    assert read.frame["note"][1] == 'a "quoted" word'
    assert read.reference_line == "along the west edge"


SAVED = {
    "utf-8 mark": (lambda text: b"\xef\xbb\xbf" + text.encode(), ""),
    "utf-16": (lambda text: text.encode("utf-16"), ""),
    "utf-16 be": (lambda text: b"\xfe\xff" + text.encode("utf-16-be"), ""),
    "utf-16 unmarked": (lambda text: text.encode("utf-16-le"), "UTF-16"),
    "utf-32": (lambda text: text.encode("utf-32"), ""),
    "windows": (lambda text: text.replace("\n", "\r\n").encode(), ""),
    "old mac": (lambda text: text.replace("\n", "\r").encode(), ""),
    "mixed ends": (lambda text: text.replace("\n", "\r\n", 2).encode(), "line ends"),
    "cp1252": (lambda text: text.replace("low", "trou n\xb0 9").encode("cp1252"), "Western"),
    "semicolons": (lambda text: text.replace(",", ";").encode(), ""),
    "decimal commas": (lambda text: text.replace(",", ";").replace(".", ",").encode(), "decimal signs"),
    "tabs": (lambda text: text.replace(",", "\t").replace(".", ",").encode(), "tabs"),
    "sep line": (lambda text: b"sep=;\n" + text.replace(",", ";").encode(), ""),
    "trailing commas": (lambda text: text.replace("\n", ",,\n").encode(), ""),
    "blank lines": (lambda text: text.replace("\n", "\n\n,,,,,\n").encode(), ""),
    "no last line end": (lambda text: text.rstrip("\n").encode(), ""),
    "capitals": (lambda text: text.upper().replace("# REFERENCE LINE: ALONG THE WEST EDGE", "# a").encode(), ""),
    "minus sign": (lambda text: text.replace("-0.10", "\N{MINUS SIGN}0.10").encode(), ""),
    "spaced heading": (lambda text: text.replace("heading_deg", " Heading deg ").encode(), ""),
}


@pytest.mark.parametrize("program", SAVED)
def test_whatever_program_saved_it_the_numbers_are_the_same(sheet, program):
    encode, mention = SAVED[program]
    columns = ["heading", "release_speed", "distance", "side"]
    expected, read = read_rollouts(sheet(GOOD)).frame, read_rollouts(sheet(encode(GOOD)))
    pd.testing.assert_frame_equal(read.frame[columns], expected[columns])
    assert not mention or any(mention in note for note in read.notes), read.notes


def cases(table, **blocks):
    """Return a parameter for each line of a table: kind of sheet with what else is said above it, cells, the sheet."""
    found, kind = [], ""
    for line in re.sub(r"\n +", " ", table.strip()).splitlines():
        if line.startswith("["):
            kind = line.strip("[]")
        else:
            name, *cells, text = map(str.strip, line.split("|"))
            sheet = text.replace(r"\n ", "\n").replace(r"\n", "\n").format(**globals() | blocks)
            found.append(pytest.param(kind, *cells, sheet, id=name))
    return found


# by kind: name | columns as read | words of a note | the sheet
READ = r"""
[rollouts]
centimetres | distance = 3.05, 2.9; side = -0.12, nan | |
    spot,heading_deg,distance (cm),side_cm\nlow,-90,305,-12\nlow,0,290,\n
feet, inches and ramp | distance = 3.048, 0.762; side = -0.1524, nan; release_speed = 1.83, 0.915 | ramp |
    spot,heading_deg,ramp_run_in,distance_in,side_in\nlow,-90,30,120,-6\nlow,360,7.5,30,\n
no release speed | release_speed = 1.83, 1.83 | 1.83 m/s | {ROLLS}low,0,3\nlow,180,3.1\n
speed or ramp | release_speed = 1.83, 1.83 | | {RAMPS}low,0,1.83,,3\nlow,180,,30,3.1\n
unknown columns | weather = sun, rain; row (as written) = 7, 8 | weather | spot,heading_deg,distance_m,weather,row\n
    low,0,3,sun,7\nlow,90,3,rain,8\n
identical rows | distance = 3.05, 2.95, 3.1, 3, 3 | rows 6 and 7 | {GOOD}low,270,1.83,3.00,,\n
comments among rows | row = 3, 4, 5, 6, 8 | row 7 | {GOOD}# a gust\nlow,0,1.83,3.01,,\n
a comment with a comma | row = 4, 5, 6, 7 | | "# one, two",,,,,\n{GOOD}
cells missing | side = nan, 0.1 | row 2 | {HEAD}\nlow,0,1.83,3.05\nlow,180,1.83,3.0,0.1,x\n
day numbers | measured_at = 2025-05-06 09:36 | Day numbers | {TIMED}low,0,3,45783.4\n
zoned | measured_at = 2025-05-06 09:10:30 | univ | {TIMED}low,0,3,2025-05-06T09:10:30+02:00\n
2025-05-16T09:10 | measured_at = 2025-05-16 09:10; date = 2025-05-16 | | {TIMED}low,0,3,2025-05-16T09:10\n
2025-05-16 09:10:00 | measured_at = 2025-05-16 09:10; date = 2025-05-16 | | {TIMED}low,0,3,2025-05-16 09:10:00\n
16.5.2025 9:10 | measured_at = 2025-05-16 09:10; date = 2025-05-16 | | {TIMED}low,0,3,16.5.2025 9:10\n
16/05/2025 09:10 | measured_at = 2025-05-16 09:10; date = 2025-05-16 | | {TIMED}low,0,3,16/05/2025 09:10\n
5/16/2025 9:10 AM | measured_at = 2025-05-16 09:10; date = 2025-05-16 | | {TIMED}low,0,3,5/16/2025 9:10 AM\n
16 May 2025 09:10 | measured_at = 2025-05-16 09:10; date = 2025-05-16 | | {TIMED}low,0,3,16 May 2025 09:10\n
order of dates | date = 2025-05-06, 2025-05-16 | | spot,heading_deg,distance_m,date\nlow,0,3,06/05/2025\n
    low,180,3,16/05/2025\n
numbered rows | spot = low, low | | #,{ROLLS}1,low,0,3\n2,low,90,3\n
title | row = 4 | above the headings | Tuesday, windy\n\n{ROLLS}low,0,3.05\n
one roll that stopped as short as metres under feet would | row = 2, 3, 4, 5, 6 |
    Please look at row 6, column distance_ft: found '2.9' | {FEET}low,0,9.5\nlow,0,9.7\nlow,180,9.4\nlow,180,9.6\n
    low,0,2.9\n
one roll that one other alone speaks against | row = 2, 3, 4, 5 |
    Please look at row 3, column distance_m: found '6.6' | {ROLLS}low,0,2.1\nlow,0,6.6\nlow,180,2\nlow,180,2.1\n
names one letter apart | spot = hole 1, hole 1, hole 1, hole 1, hole 2, hole 2, hole 2, hole 2 | | {ROLLS}hole 1,0,3\n
    hole 1,90,3\nhole 1,180,3\nhole 1,270,3\nhole 2,0,3\nhole 2,90,3\nhole 2,180,3\nhole 2,270,3\n
[chips]
clubs in any case | club = sand wedge, 8-iron, my hybrid; lie = fairway, rough, x | | club,lie,rest_m\n
    Sand Wedge,Fairway,11\n8 iron,ROUGH,12\nmy hybrid,x,9\n
clubs as they are stamped | club = pitching wedge, sand wedge, 9-iron | | club,lie,rest_m\nPW,x,11\nsw,x,9\n9i,x,12\n
wedges by their loft | club = 52-degree wedge, 56-degree wedge, 7-iron | |
    club,lie,rest_m\n52°,x,11\n56 deg,x,9\n7 iron,x,12\n
chips with gaps | rest = 11, 9, nan; strike = clean, , thin; carry = 6.3, nan, 4 | |
    {CHIPS}SW,clean,6,6.3,0.9,7.5,11,-0.4,Clean\n8i,grass,,,,,9,,\n8i,grass,,4,,,,,thin\n
chips beyond the usual | rest = 17.6, 8, 12 | | {HOPS}lob wedge,fairway,18,18.5,17.6\nsand wedge,rough,6,7.2,8\n
    8-iron,fairway,3,6,12\n
one ball that ran as far as feet beside metres would | rest = 10.4, 10.8, 11.3, 11.5, 30 |
    Was it thin? Then write thin in the column strike. | {HOPS}{USUAL}sand wedge,fairway,5,,30\n
one ball that flew and ran so | carry = 5.1, 16.5 | Was it thin? | {CHIPS}lob wedge,fairway,5,5.1,,,11,,\n
    lob wedge,fairway,5,16.5,,,60,,\n
a second landing spotted before the first | first_hop = 5.1 | so far the eye may err |
    {HOPS}lob wedge,fairway,5.2,5.1,9\n
option, slope and time of the hop | option = Hands Level; player = Ann; hop_time = 0.4; lie_slope = -0.05235987756 | |
    club,lie,option,lie_slope_deg,rest_m,hop_time_s,player\nsand wedge,rough,Hands Level,-3,9,0.4,Ann\n
[films]
films | kind = putt, putt, putt, ramp; distance = 0, 0.2, 0.39, 0 | at least three | {FILMS}a,low,90,putt,0,0\n
    a,low,90,putt,0.1,0.2\na,low,90,putt,0.2,0.39\nb,low,0,Ramp,0,0\n
[drops]
drops | drop_height = 1.5, 1.5, nan; first_flight = nan, 0.5, 0.5 | | {CENTIMETRES}low,150,31,,\nlow,150,,500,210\n
    low,,,500,210\n
units as people write them | drop_height = 1.5; rebound_height = 0.31; first_flight = 0.5 | |
    Spot,Drop height (cm),rebound-height [cm]:,First flight in seconds\nlow,150,31,0.5\n
ground around the green | spot = collar, low | | spot,drop_height_m,rebound_height_m\ncollar,1.5,0.2\nlow,1.5,0.31\n
[putts]
putts | tries = 1, 1; distance = 3.048, 6.096 | | distance_ft,made\n10,1\n20,0\n
[targets]
columns of one's own with names of other kinds | hits = 2; heading = north; measured_at = ? | heading, measured_at |
    club,lie,distance_m,target_size_m,tries,hits,heading,measured_at\n8-iron,x,9,1,10,2,north,?\n
"""


@pytest.mark.parametrize(("kind", "columns", "note", "text"), cases(READ))
def test_what_is_right_is_read(sheet, kind, columns, note, text):
    read = read_sheet(sheet(text), kind)
    for name, cells in (column.split(" = ") for column in columns.split("; ")):
        values, expected = read.frame[name], cells.split(", ")
        if values.dtype.kind in "fi":
            np.testing.assert_allclose(values, np.array(expected, float), rtol=1e-9)
        else:
            assert [value[: len(want)] for value, want in zip(values.astype(str), expected, strict=True)] == expected
    assert any(note in said for said in [*read.notes, ""]), read.notes


LOOK_ALIKE = [
    *(("home-left", "Home-left"), ("caf\u00e9", "cafe\u0301"), ("home-left", "home\u200b-left")),
    *(("home-left", "home\u2011left"), ("home-left", "home\u2013left"), ("greg's", "greg\u2019s")),
    *(("low", "\uff4c\uff4f\uff57"), ("low green", "low\u00a0 green"), ("low", "l\u00adow")),
]


@pytest.mark.parametrize(("first", "second"), LOOK_ALIKE)
def test_names_that_look_the_same_are_the_same_with_one_note(sheet, first, second):
    read = read_rollouts(sheet(f"{ROLLS}{first},0,3.05\n{second},90,3.0\nother,90,3.0\n"))
    assert read.frame["spot"].nunique() == 2
    assert sum("same name" in note for note in read.notes) == 1
