"""Interactive panels and entry forms for the notebooks: ipywidgets over the library, without any physics.

Panels answer questions (`roll`, `bounce`, `shot`, `chip`, `clubs`, `plan`, ...); forms fill in, bring in and hand out
sheets of the course that `CoursePanel` chose. All are shown by writing them as the last line of a cell;
``panel.figure()`` is the same picture for readers without a kernel.
"""

from golfphys.panels.course import Chosen, CoursePanel, chosen
from golfphys.panels.exchange import ExportForm, ImportForm
from golfphys.panels.forms import EntryForm, any_form
from golfphys.panels.panel import Control, Panel, Subject
from golfphys.panels.phone import FilmingForm, ListeningForm
from golfphys.panels.physics import bounce, landing_spots, roll, shot
from golfphys.panels.planning import chip, clubs, measuring, plan, week
from golfphys.panels.printing import BlankSheets, CarryForm, KeptPlans
