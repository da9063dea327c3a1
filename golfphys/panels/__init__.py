"""Interactive panels and entry forms for the notebooks: ipywidgets over the library, without any physics.

Panels answer questions (`ChipPanel`, `RollPanel`, ...); forms fill in, import and hand out sheets. All are shown by
writing them as the last line of a cell; ``panel.figure()`` is the same picture for readers without a kernel.
"""

from golfphys.panels.base import Panel
from golfphys.panels.bouncing import BouncePanel
from golfphys.panels.chip import ChipPanel, ClubsPanel, MeasuredChipPanel
from golfphys.panels.controls import Control
from golfphys.panels.drawing import png
from golfphys.panels.entry import EntryForm
from golfphys.panels.exporting import ExportForm, Progress
from golfphys.panels.fields import columns_in_words
from golfphys.panels.green_speed import GreenSpeedPanel
from golfphys.panels.importing import ImportForm
from golfphys.panels.measuring import MeasuringPanel
from golfphys.panels.rolling import RollPanel
from golfphys.panels.settings import own_sheets
from golfphys.panels.units_switch import UnitsSwitch
from golfphys.panels.whole_shot import ShotPanel

__all__ = [
    "BouncePanel",
    "ChipPanel",
    "ClubsPanel",
    "Control",
    "EntryForm",
    "ExportForm",
    "GreenSpeedPanel",
    "ImportForm",
    "MeasuredChipPanel",
    "MeasuringPanel",
    "Panel",
    "Progress",
    "RollPanel",
    "ShotPanel",
    "UnitsSwitch",
    "columns_in_words",
    "own_sheets",
    "png",
]
