"""Decisions as tables that read like prose; as in `golfphys.show.tables`."""

import pandas as pd

from golfphys.planning.carry_sheet import CarrySheet
from golfphys.planning.habits import HabitPrices
from golfphys.planning.wedge_gaps import WedgeGaps
from golfphys.show.style import LengthUnit


def regret(table: pd.DataFrame) -> pd.DataFrame:
    """Return what keeping a plan costs, change by change.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.what_if` returned.

    Returns
    -------
    DataFrame
        Index: what turns out otherwise. The best club had one known, and for each club the strokes lost by it.
    """
    changes, clubs = list(dict.fromkeys(table["change"])), list(dict.fromkeys(table["club"]))
    field = table.pivot(index="change", columns="club", values="regret").loc[changes, clubs].round(2)
    field.insert(0, "best club had one known", table.groupby("change")["best_club"].first().loc[changes])
    return field.rename_axis(index="strokes lost when", columns=None)


def habits(prices: HabitPrices) -> pd.DataFrame:
    """Return what each habit costs.

    Parameters
    ----------
    prices : HabitPrices
        What `golfphys.price_habits` returned.

    Returns
    -------
    DataFrame
        Index: the habit.
    """
    rows = prices.table
    intervals = [f"{row.cost_low:+.3f} to {row.cost_high:+.3f}" for row in rows.itertuples()]
    sure = [f"{100 * share:.0f} %" if share == share else "" for share in rows["sure"]]
    columns = {
        "strokes to hole out": rows["strokes"].round(3).to_list(),
        "costs (strokes a chip)": (rows["cost"].round(3) + 0.0).to_list(),  # no zero with a minus
        "90 % interval": intervals,
        "choosing is better in": sure,
    }
    return pd.DataFrame(columns, index=pd.Index(rows["habit"], name="habit"))


def rule(table: pd.DataFrame) -> pd.DataFrame:
    """Return the rule of 12 beside the model.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.rule_of_twelve` returned.

    Returns
    -------
    DataFrame
        Index: club.
    """
    return pd.DataFrame(
        {
            "run by the rule": table["rule"].map("{:.0f}".format),
            "run by the model": table["model"].map("{:.1f}".format),
            "model over rule": table["model over rule"].map("{:.2f}".format),
            "the rule holds at (ft)": table["speed_for_rule_ft"].map("{:.1f}".format),
        }
    )


def runs(table: pd.DataFrame, *, firmness: str = "middling", grade: float = 0.0) -> pd.DataFrame:
    """Return run over carry by club and green speed.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.carry_and_roll` returned.
    firmness : str
        Which firmness.
    grade : float
        Which slope.

    Returns
    -------
    DataFrame
        Index: club; a column for each green speed.
    """
    rows = table[(table["firmness"] == firmness) & (table["grade"] == grade)]
    field = rows.pivot(index="club", columns="stimp_ft", values="roll_per_carry").round(1)
    field = field.loc[list(dict.fromkeys(rows["club"]))]
    return field.set_axis([f"{speed:g} ft" for speed in field.columns], axis=1)


def slopes(table: pd.DataFrame, *, stimp_ft: float = 10.0, firmness: str = "middling") -> pd.DataFrame:
    """Return run over carry by club and slope, at one green speed.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.carry_and_roll` returned.
    stimp_ft : float
        Which green speed, ft.
    firmness : str
        Which firmness.

    Returns
    -------
    DataFrame
        Index: club; a column for each slope.
    """
    rows = table[(table["firmness"] == firmness) & (table["stimp_ft"] == stimp_ft)]
    field = rows.pivot(index="club", columns="grade", values="roll_per_carry").round(1)
    field = field.loc[list(dict.fromkeys(rows["club"]))]
    return field.set_axis([slope_words(float(grade)) for grade in field.columns.to_numpy()], axis=1)


def slope_words(grade: float) -> str:
    """Return a slope along the line of play in words.

    Examples
    --------
    >>> slope_words(0.02), slope_words(-0.015), slope_words(0.0)
    ('2 % up', '1.5 % down', 'level')
    """
    return f"{abs(100 * grade):g} % {'up' if grade > 0 else 'down'}" if grade else "level"


def landing_moves(table: pd.DataFrame, *, stimp_ft: float = 10.0, grade: float = 0.0) -> pd.DataFrame:
    """Return feet that the landing spot moves for each foot of green speed.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.landing_shift` returned.
    stimp_ft : float
        At which green speed, ft.
    grade : float
        Which slope.

    Returns
    -------
    DataFrame
        Index: club; a column for each pin.
    """
    rows = table[(table["stimp_ft"] == stimp_ft) & (table["grade"] == grade)]
    field = rows.pivot(index="club", columns="to_pin_m", values="shift_ft_per_ft").round(1)
    field = field.loc[list(dict.fromkeys(rows["club"]))]
    return field.set_axis([f"pin at {pin:g} m" for pin in field.columns], axis=1)


def sensitivities(table: pd.DataFrame) -> pd.DataFrame:
    """Return what moves the rest distance, largest first.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.sensitivities` returned.

    Returns
    -------
    DataFrame
        Index: the parameter.
    """
    per = [f"{row.derivative:+.3g} m per {row.unit}".replace(" per 1", " per unit") for row in table.itertuples()]
    columns = {
        "belongs to": table["of"].to_list(),
        "rest distance changes by": per,
        "found by": table["method"].to_list(),
        "usual doubt": [f"{row.doubt:.3g} {row.unit}".removesuffix(" 1") for row in table.itertuples()],
        "which moves the ball by (m)": table["effect_m"].round(2).to_list(),
    }
    return pd.DataFrame(columns, index=pd.Index(table["parameter"], name="parameter"))


def carry(sheet: CarrySheet) -> pd.DataFrame:
    """Return a sheet to carry as a table: landing / run.

    Parameters
    ----------
    sheet : CarrySheet
        What `golfphys.make_carry_sheet` returned.

    Returns
    -------
    DataFrame
        Index: ball to pin, in the sheet's unit; a column for each club.
    """
    columns = {}
    for club in sheet.clubs:
        rows = sheet.table[club]
        columns[club] = [
            f"{land:.1f} / {run:.1f}" + (f" ±{give:.1f}" if give == give else "")
            for land, run, give in zip(rows["land"], rows["run"], rows["give"], strict=True)
        ]
    distances = [f"{distance:g}" for distance in sheet.table.index]
    return pd.DataFrame(columns, index=pd.Index(distances, name=f"ball to pin ({sheet.unit})"))


def wedges(gaps: WedgeGaps, *, unit: str = "m") -> pd.DataFrame:
    """Return measured wedge distances, shortest first.

    Parameters
    ----------
    gaps : WedgeGaps
        What `golfphys.find_wedge_gaps` returned.
    unit : str
        Unit of length.

    Returns
    -------
    DataFrame
        Index: club and swing.
    """
    rows, length = gaps.table, LengthUnit(unit)
    columns = {
        length.label("carry"): length.show(rows["carry_m"]).round(0).astype(int).to_list(),
        length.label("scatter"): length.show(rows["sd_m"]).round(1).to_list(),
        "shots": rows["shots"].to_list(),
        "head speed by the model (m/s)": rows["head_speed"].round(1).to_list(),
        length.label("to the next"): [*length.show(gaps.gaps["gap_m"]).round(0).map("{:.0f}".format), ""],
        "which is": [*gaps.gaps["kind"].replace("fine", ""), ""],
    }
    return pd.DataFrame(columns, index=pd.MultiIndex.from_frame(rows[["club", "swing"]]))


def filled(table: pd.DataFrame, *, unit: str = "m") -> pd.DataFrame:
    """Return what another wedge would do.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.what_it_would_fill` returned.
    unit : str
        Unit of length.

    Returns
    -------
    DataFrame
        Index: swing.
    """
    length = LengthUnit(unit)

    def lengths(name: str) -> list[str]:
        return [f"{value:.0f}" for value in length.show(table[name])]

    columns = {
        length.label("carry"): lengths("carry_m"),
        "90 % interval": [" to ".join(pair) for pair in zip(lengths("low_m"), lengths("high_m"), strict=True)],
        "where that falls": table["fills"].to_list(),
        length.label("widest gap before"): lengths("widest_before_m"),
        length.label("widest gap after"): lengths("widest_after_m"),
    }
    return pd.DataFrame(columns, index=pd.Index(table["swing"], name="swing"))


def decisions(summary: pd.DataFrame) -> pd.DataFrame:
    """Return what each way of deciding loses.

    Parameters
    ----------
    summary : DataFrame
        What the study of decision quality wrote.

    Returns
    -------
    DataFrame
        Index: way of deciding.
    """
    columns = {
        "strokes lost a chip": summary["loss"].round(3).to_list(),
        "standard error": summary["se"].round(3).to_list(),
        "19 cases in 20 lose less than": summary["loss_95"].round(2).to_list(),
    }
    return pd.DataFrame(columns, index=pd.Index(summary["plan"], name="way of deciding"))
