"""Reading what the study of decision quality wrote."""

from pathlib import Path

import pandas as pd

from golfphys.sheets import Column, Kind
from golfphys.sheets.table import read_own

STUDY = Kind(
    name="study",
    columns=(
        Column(name="plan", quantity="plan", type="string", required=True),
        *(
            Column(name=name, quantity=name, required=name != "same_club")  # a habit picks no club to compare
            for name in ("loss", "se", "loss_95", "same_club", "cases")
        ),
    ),
    needs=(("plan",), ("loss",), ("se",), ("loss_95",), ("same_club",), ("cases",)),
)
"""What the study of decision quality writes."""


def read_study(path: "str | Path") -> pd.DataFrame:
    r"""Read the result of the study of decision quality.

    Parameters
    ----------
    path : str or Path
        The CSV that ``tests/studies/decision_quality.py`` wrote.

    Returns
    -------
    DataFrame
        A row for each way of deciding, least loss first: ``plan``, ``loss`` and ``se`` (strokes a chip over knowing the
        truth, and its standard error), ``loss_95`` (19 cases in 20 lose less), ``same_club`` (share of cases with the
        club that the truth would pick), ``cases``.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "study.csv"
    ...     _ = path.write_text("plan,loss,se,loss_95,same_club,cases\nhandbook,0.2,0.02,0.5,0.4,240\n")
    ...     float(read_study(path)["loss"].iloc[0])
    0.2
    """
    return read_own(path, STUDY).frame[list(STUDY.quantities)].sort_values("loss").reset_index(drop=True)
