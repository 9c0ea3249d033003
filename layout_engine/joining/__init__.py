"""Joining: which terminals want which others, what is still open, and suggestions with reasons."""

from layout_engine.joining.advice import GROUP_WORDS, Advice, Lacking, Suggestion
from layout_engine.joining.open_terminals import OpenTerminal, open_terminals, wires_at
from layout_engine.joining.partners import all_ends, doubts, free_places, partners
from layout_engine.joining.suggest import suggest
from layout_engine.joining.terminal_names import end_name, printed_name

__all__ = [
    "GROUP_WORDS", "Advice", "Lacking", "OpenTerminal", "Suggestion", "all_ends", "doubts",
    "end_name", "free_places", "open_terminals", "partners", "printed_name", "suggest",
    "wires_at",
]
