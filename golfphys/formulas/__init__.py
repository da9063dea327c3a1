"""Closed forms as plain scalar Python on `math`, generated from `golfphys.derivations`; never edited by hand."""
