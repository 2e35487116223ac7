"""The figures of a result and of a plan: each a drawing with its numbers as a table beside it."""

from panel.publishing.figures.detection import detection_chart
from panel.publishing.figures.figure import Figure
from panel.publishing.figures.finding import finding_chart
from panel.publishing.figures.flow import flow_chart
from panel.publishing.figures.forest import forest_chart
from panel.publishing.figures.foretaste import foretaste_chart
from panel.publishing.figures.guessing import guessing_chart
from panel.publishing.figures.power import Marked, power_chart
from panel.publishing.figures.ranking import ranking_chart

__all__ = [
    "Figure",
    "Marked",
    "detection_chart",
    "finding_chart",
    "flow_chart",
    "forest_chart",
    "foretaste_chart",
    "guessing_chart",
    "power_chart",
    "ranking_chart",
]
