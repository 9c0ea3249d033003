"""The four respects in which a layout is told and offers are compared: one measure for any job."""

from layout_engine.arranging.respects.respect import Figure, Name, Respect, Respects
from layout_engine.arranging.respects.telling import respects_of

__all__ = ["Figure", "Name", "Respect", "Respects", "respects_of"]
