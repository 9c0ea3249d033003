"""Tests of Platewright; `python -m tests` runs them all."""
