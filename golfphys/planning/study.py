"""Reading what the study of decision quality wrote."""

from pathlib import Path

import numpy as np
import pandas as pd

STUDY = ("plan", "loss", "se", "loss_95", "same_club", "cases")


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

    Raises
    ------
    ValueError
        If the file cannot be read, a column is missing, or a number is none.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "study.csv"
    ...     _ = path.write_text("plan,loss,se,loss_95,same_club,cases\nhandbook,0.2,0.02,0.5,0.4,240\n")
    ...     float(read_study(path)["loss"].iloc[0])
    0.2
    """
    try:
        table = pd.read_csv(path)
    except (OSError, ValueError) as error:  # no such file, no text, no table
        raise ValueError(
            f"{path} is no table that can be read: {str(error).strip() or type(error).__name__}"
        ) from error
    missing = [name for name in STUDY if name not in table.columns]
    if not missing and not isinstance(table.index, pd.RangeIndex):
        raise ValueError(f"{path} has rows with more cells than headings; expected a cell for each")
    if missing:
        raise ValueError(f"{path} has no column {', '.join(missing)}; expected what decision_quality.py writes")
    given = table.copy()
    for name in STUDY[1:]:
        table[name] = pd.to_numeric(table[name], errors="coerce")
        # a habit picks no club, so there is none to compare
        blank = given[name].isna() if name == "same_club" else np.zeros(len(table), dtype=bool)
        wrong = np.flatnonzero(~np.isfinite(table[name].to_numpy(dtype=float)) & ~blank)
        if wrong.size:
            row = int(wrong[0]) + 2
            raise ValueError(f"{path}, row {row}, {name}: no number; expected what decision_quality.py writes")
    return table.sort_values("loss").reset_index(drop=True)
