"""Workings as a person reads them: terminals, wires, cases by their names, not their ids; mm²."""

from __future__ import annotations

import re
from dataclasses import replace

from layout_engine import Finding
from layout_engine.joining import end_name, printed_name
from layout_engine.joining.terminal_names import split_end
from layout_engine.model.job import Job
from layout_engine.supply.case_words import PACKS as PACK_NAMES
from layout_engine.supply.case_words import case_and_pack, case_words
from layout_engine.supply.cases import PACKS, case_ids
from layout_engine.working import Given, Working
from webapp.forms.values import as_written, unit_words

_DOTTED = re.compile(r"[a-z][a-z0-9_]*\.[a-z0-9_]+(?:>[a-z0-9_]+)?(?:#\d+)?")
_WIRE = re.compile(r"(^wire |^|, )([a-z][a-z0-9_]*)(?=$|: |, )")


def what_name(job: Job, what: str) -> str:
    """A wire as "wire 7" or a contact by its printed name."""
    if "." not in what:  # no wire's id has one
        number = next((n for n, c in enumerate(job.connections, 1) if c.id == what), None)
        if number is not None:
            return f"wire {number}"
    part_id, terminal = split_end(what)
    if part_id in job.parts_by_id and any(
        t.id == terminal for t in job.type_of(part_id).terminals
    ):
        return end_name(job, what)
    return job.part(part_id).title if part_id in job.parts_by_id else what


def branch_name(job: Job, branch_id: str) -> str:
    """A wire as "wire 7", a path by its part and its printed ends, an element by its part."""
    part_id, terminal = split_end(branch_id)
    if part_id not in job.parts_by_id or "." not in branch_id:
        return what_name(job, branch_id)
    kind = job.type_of(part_id)
    known = {t.id for t in kind.terminals}
    if terminal in known:
        return end_name(job, branch_id)
    ends = branch_id.partition(".")[2].partition("#")[0].split(">")
    if len(ends) != 2 or not known.issuperset(ends):
        return job.part(part_id).title
    names = [printed_name(kind, end) for end in ends]
    return f"{job.part(part_id).title} {names[0]} to {names[1]}"


class Names:
    """The names of one job's wires, terminals and cases in workings."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.wires = {wire.id: f"wire {n}" for n, wire in enumerate(job.connections, 1)}
        self.cases = {case: case_words(job, case) for case in case_ids(job)}
        said = [f"{case}, {pack} pack" for case in self.cases for pack in PACKS]
        self.packs = {case: case_and_pack(job, case) for case in said}

    def working(self, found: Working) -> Working:
        """A working with names in place of ids."""
        return replace(
            found, formula=self._formula(found.formula), unit=unit_words(found.unit),
            given=tuple(replace(g, what=self._words(g.what), source=self._words(g.source),
                                symbol=self._symbol(g), unit=unit_words(g.unit))
                        for g in found.given),
        )  # fmt: skip

    def finding(self, found: Finding) -> Finding:
        """A finding in words, whose working has names in place of ids."""
        return replace(
            found, message=as_written(found.message), remedy=as_written(found.remedy),
            unit=unit_words(found.unit),
            working=found.working and self.working(found.working),
        )  # fmt: skip

    def remark(self, text: str) -> str:
        """A sentence that ends in a list of wires or branches, by their names."""
        head, colon, rest = text.rpartition(": ")
        listed = rest.removesuffix(".").split(", ")
        if not colon or not all(one in self.wires or self._dotted(one) != one for one in listed):
            return text
        if set(listed) == set(self.wires) and len(listed) > 1:
            return f"{head}: all wires."
        return f"{head}: {', '.join(branch_name(self.job, one) for one in listed)}."

    def _symbol(self, given: Given) -> str:
        head, _, rest = given.symbol.partition(" ")
        if rest in self.cases:
            return f"{head} {self.cases[rest]}"
        return f"{head} {branch_name(self.job, rest)}" if head in ("dV", "L") else given.symbol

    def _formula(self, text: str) -> str:
        """The case in brackets, and the branch that is open, by their names."""
        for said, words in self.packs.items():
            text = text.replace(f"({said})", f"({words})")
        head, comma, last = text.rpartition(", ")
        if comma and last.endswith(" open"):
            return f"{head}, {branch_name(self.job, last.removesuffix(' open'))} open"
        return text

    def _words(self, text: str) -> str:
        """Ends, paths, wires (first, or behind a comma), cases with a pack, by their names."""
        text = _WIRE.sub(self._wire, text)
        text = _DOTTED.sub(lambda found: self._dotted(found[0]), text)
        for said, words in self.packs.items():
            if text == said or text.endswith(f", {said}"):
                text = f"{text.removesuffix(said)}{words}"
                break
        for said, called in PACK_NAMES.items():
            text = text.replace(said, called)
        return as_written(text)

    def _wire(self, found: re.Match[str]) -> str:
        name = self.wires.get(found[2])
        return found[0] if name is None else found[1].removesuffix("wire ") + name

    def _dotted(self, name: str) -> str:
        part_id, _, rest = name.partition(".")
        if part_id not in self.job.parts_by_id:
            return name
        known = {terminal.id for terminal in self.job.type_of(part_id).terminals}
        ends = rest.partition("#")[0].split(">")
        return branch_name(self.job, name) if known.issuperset(ends) else name
